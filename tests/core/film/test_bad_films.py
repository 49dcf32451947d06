"""Every unusable film ends in one sentence; damage and crashes cost nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import MediaError
from wayside.film import film as film_module
from wayside.film.film import open_film

Make = Callable[..., Path]


def _refused(path: Path, words: str) -> None:
    with pytest.raises(MediaError) as caught:
        open_film(path)
    sentence = str(caught.value)
    assert path.name in sentence
    assert words in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"frame;time\n1;2\n" * 30, "is a text file"),
        (np.random.default_rng(5).bytes(20_000), "not in a format"),
        (b"\x00\x00\x00\x18ftypmp42" + np.random.default_rng(2).bytes(20_000), "lost its index"),
        (b"\x1a\x45\xdf\xa3" + np.random.default_rng(3).bytes(20_000), "damaged"),
        (b"RIFF\xff\xff\xff\x00AVI " + np.random.default_rng(4).bytes(20_000), "a.mp4"),
    ],
)
def test_content_that_is_no_film(tmp_path: Path, content: bytes, words: str) -> None:
    (tmp_path / "a.mp4").write_bytes(content)
    _refused(tmp_path / "a.mp4", words)


def test_missing_and_folder(tmp_path: Path) -> None:
    _refused(tmp_path / "none.mp4", "does not exist")
    (tmp_path / "films").mkdir()
    _refused(tmp_path / "films", "is a folder")


def test_sound_alone(tmp_path: Path) -> None:
    tone = 0.1 * np.sin(np.arange(48_000) / 10)
    soundfile.write(tmp_path / "a.wav", tone, 48_000)
    _refused(tmp_path / "a.wav", "sound but no pictures")


def test_cut_short_without_index(tmp_path: Path, make_counting_film: Make, make_times) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant"))
    path.write_bytes(path.read_bytes()[:4_000])
    _refused(path, "lost its index")


def test_unknown_picture_codec(tmp_path: Path, make_counting_film: Make, make_times) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 0.5))
    path.write_bytes(path.read_bytes().replace(b"avc1", b"zzzz"))
    _refused(path, "cannot be decoded")


@pytest.mark.parametrize("seed", range(15))
def test_random_damage_never_crashes(
    tmp_path: Path, make_counting_film: Make, make_times, seed: int
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 1.0), sound=(0.0, 1.0))
    data = bytearray(path.read_bytes())
    rng = np.random.default_rng(seed)
    start = max(0, data.index(b"moov") - 4) if seed % 2 else 40
    for position in rng.integers(start, len(data), 25):
        data[position] = rng.integers(256)
    path.write_bytes(data)
    troubles = []
    try:
        with open_film(path) as film:
            assert (np.diff(film.times.seconds) > 0).all()
            for index in range(0, len(film.times), 7):
                try:
                    film.picture(index)
                except MediaError as error:
                    troubles.append(str(error))
    except MediaError as error:
        troubles.append(str(error))
    assert all("a.mp4" in trouble for trouble in troubles)


def test_a_crash_while_stepping_is_one_sentence(
    tmp_path: Path, make_counting_film: Make, make_times
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant"), key_every=5)
    with open_film(path, limit_bytes=1) as film:
        film.picture(3)
        film._server._link._child.kill()
        with pytest.raises(MediaError, match=r"a\.mp4.*library fail"):
            _ = [film.picture(index) for index in (60, 20, 40)]


def test_a_child_that_never_answers(
    tmp_path: Path, make_counting_film: Make, make_times, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 0.5))
    (tmp_path / "hang_child.py").write_text("import time\ntime.sleep(100)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(film_module, "CHILD", "hang_child")
    monkeypatch.setattr(film_module, "STALL_LIMIT_S", 0.3)
    _refused(path, "takes too long")
