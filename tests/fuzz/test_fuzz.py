"""1,900 damaged files a run, the same every time; many more by hand, see DEVELOPERS.md."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.fuzz.mutate import damaged_bytes, damaged_text
from tests.fuzz.run import text_case
from tests.fuzz.seeds import media_seeds, session_seeds, setup_seeds

ROOT = Path(__file__).resolve().parents[2]
RANDOM = st.randoms(use_true_random=False)
SAME_EVERY_TIME = settings(
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
Reader = Callable[[str, bytes], dict[str, object]]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("damaged")


@pytest.fixture(scope="module")
def seeds(folder: Path) -> dict[str, list[bytes]]:
    """Sound files and films that are whole."""
    kinds = {"sound": False, "film": True}
    return {k: [p.read_bytes() for p in media_seeds(folder, films=f)] for k, f in kinds.items()}


@pytest.fixture(scope="module")
def reader(folder: Path) -> Iterator[Reader]:
    """Runs a media file through a target, in a process of its own."""
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.fuzz.media_server"],
        cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert server.stdin is not None
    assert server.stdout is not None
    assert server.stdout.readline() == "ready\n"
    path = folder / "case.bin"

    def run(target: str, data: bytes) -> dict[str, object]:
        path.write_bytes(data)
        server.stdin.write(f"{target} {path}\n")
        server.stdin.flush()
        answer: dict[str, object] = json.loads(server.stdout.readline())
        return answer

    yield run
    server.stdin.close()
    server.wait(timeout=30)
    server.stdout.close()


@settings(SAME_EVERY_TIME, max_examples=900)
@given(rng=RANDOM)
def test_a_damaged_setup_ends_as_a_prediction_or_a_sentence(rng: Random, folder: Path) -> None:
    case = text_case("setup", damaged_text(rng.choice(setup_seeds()), rng), folder)
    assert case.is_good, case.detail


@settings(SAME_EVERY_TIME, max_examples=800)
@given(rng=RANDOM)
def test_a_damaged_session_ends_as_a_session_or_a_sentence(rng: Random, folder: Path) -> None:
    case = text_case("session", damaged_text(rng.choice(session_seeds()), rng), folder)
    assert case.is_good, case.detail


@pytest.mark.parametrize("target", ["sound", "film"])
def test_whole_media_are_read(target: str, seeds: dict[str, list[bytes]], reader: Reader) -> None:
    outcomes = [reader(target, data)["outcome"] for data in seeds[target]]
    assert outcomes == ["read"] * len(seeds[target])


@pytest.mark.parametrize("target", ["sound", "film"])
def test_damaged_media_end_as_a_recording_or_a_sentence(
    target: str, seeds: dict[str, list[bytes]], reader: Reader
) -> None:
    for number in range(100):
        rng = Random(number)
        answer = reader(target, damaged_bytes(rng.choice(seeds[target]), rng))
        assert answer["outcome"] in ("read", "refused"), (number, answer)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            (ROOT / "tests" / "core" / "hand" / "version1" / "everything.json")
            .read_text(encoding="utf-8")
            .replace('"tools": {"tape": {', '"tools": {"tape": {"tool": "x", ')
            .replace('"tape": {\n', '"tape": {"tool": "x",\n'),
            "cannot share the scale of an instrument",
        ),
        ('{"format": "wayside-setup", "version": 1, "title": "\\ud800"}', "half of a character"),
        ('{"format": "wayside-setup", "version": 1, "a\\nb": 1}', "a\ufffdb is not known"),
    ],
)
def test_what_cannot_be_shown_is_told_in_one_line(text: str, words: str, tmp_path: Path) -> None:
    from wayside.errors import SetupError
    from wayside.hand.setup_file import read_setup

    (tmp_path / "a.json").write_text(text)
    with pytest.raises(SetupError, match=words):
        read_setup(tmp_path / "a.json")
