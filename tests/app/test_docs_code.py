"""Every block of code and every command line in the documents is run, or listed with a reason."""

from __future__ import annotations

import argparse
import importlib
import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from wayside.hand.setup_json import draft_from_json, setup_from_json
from wayside_app.commands import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(
    [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "sample_media" / "README.md"]
    + [p for p in (ROOT / "docs").rglob("*.md") if "help" not in p.parts]
)
RUN = ("sh", "console", "python")
KNOWN = (*RUN, "bash", "text", "json")

NOT_RUN: dict[tuple[str, str], str] = {
    ("README.md", "as_root="): "installs packages of the system; test_packaging reads them",
    ("docs/guide/README.md", "wayside open"): "opens a window; tests/app/window does that",
    ("docs/guide/notebook.md", ""): "its blocks go on from each other; tests/core/test_api.py",
    ("docs/guide/report.md", "wayside report lab"): "a reader's session; test_commands_report.py",
    ("DEVELOPERS.md", "python -m pytest"): "runs these very tests",
    ("DEVELOPERS.md", "python -m tests."): "runs for minutes or hours, by hand",
    ("DEVELOPERS.md", "python tests/app/screenshots.py"): "opens window after window",
}
"""Page and beginning of a block that is not run, and why."""


@dataclass(frozen=True)
class Block:
    """A fenced block: its page, kind, text, and the text block that follows it, if any."""

    page: str
    kind: str
    text: str
    line: int
    answer: str | None

    @property
    def reason(self) -> str | None:
        """Why it is not run; None if it is."""
        for (page, start), reason in NOT_RUN.items():
            if page == self.page and self.text.startswith(start):
                return reason
        return None


def _blocks(page: Path) -> Iterator[Block]:
    text = page.read_text(encoding="utf-8")
    found = list(re.finditer(r"^( *)```(\S*)\n(.*?)^\1```$", text, flags=re.M | re.S))
    for i, m in enumerate(found):
        after = found[i + 1] if i + 1 < len(found) else None
        near = after is not None and not text[m.end() : after.start()].strip()
        answer = after[3] if after is not None and near and after[2] == "text" else None
        line = text[: m.start()].count("\n") + 1
        text_of = textwrap.dedent(m[3])
        yield Block(page.relative_to(ROOT).as_posix(), m[2], text_of, line, answer)


BLOCKS = [block for page in PAGES for block in _blocks(page)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the samples, and nothing of another block, and a name for each program."""
    work = tmp_path / "work"
    shutil.copytree(ROOT / "sample_media", work)
    programs = work.parent / "bin"
    programs.mkdir()
    for name, words in {"wayside": "-m wayside_app", "python": ""}.items():
        script = programs / name
        script.write_text(f'#!/bin/sh\nexec "{sys.executable}" {words} "$@"\n')
        script.chmod(0o755)
    return work


def _run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    paths = os.pathsep.join(str(ROOT / name) for name in ("core", "app"))
    environment = {**os.environ, "PYTHONPATH": paths, "COLUMNS": "80"}
    environment["PATH"] = f"{folder.parent / 'bin'}{os.pathsep}{os.environ['PATH']}"
    return subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120
    )


def _ids(block: Block) -> str:
    return f"{block.page}:{block.line}"


@pytest.mark.parametrize("block", [b for b in BLOCKS if b.kind == "sh" and not b.reason], ids=_ids)
def test_shell_blocks_run(block: Block, folder: Path) -> None:
    done = _run(["bash", "-euo", "pipefail", "-c", block.text], folder)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("block", [b for b in BLOCKS if b.kind == "console"], ids=_ids)
def test_shown_sessions_say_what_is_shown(block: Block, folder: Path) -> None:
    for part in re.split(r"^\$ ", block.text, flags=re.M)[1:]:
        command, _, shown = part.partition("\n")
        done = _run(["bash", "-c", command], folder)
        assert done.returncode in (0, 3), done.stderr
        _same(shown, done.stdout)


@pytest.mark.parametrize(
    "block", [b for b in BLOCKS if b.kind == "python" and not b.reason], ids=_ids
)
def test_python_blocks_run(block: Block, folder: Path) -> None:
    done = _run([sys.executable, "-W", "error", "-c", block.text], folder)
    assert done.returncode == 0, done.stderr
    if block.answer is not None:
        _same(block.answer, done.stdout)


@pytest.mark.parametrize("block", [b for b in BLOCKS if b.kind == "json"], ids=_ids)
def test_json_blocks_are_a_set_up_or_belong_in_one(block: Block) -> None:
    whole = json.loads(
        (ROOT / "sample_media" / "courtyard-tread.setup.json").read_text(encoding="utf-8")
    )
    text = block.text.strip()
    data = json.loads(text if text.startswith("{") else f"{{{text}}}")
    if "format" in data:
        assert setup_from_json(data).title
    else:
        assert draft_from_json(whole | data)


def test_nothing_is_left_out() -> None:
    odd = [f"{_ids(b)} is of kind “{b.kind}”" for b in BLOCKS if b.kind not in KNOWN]
    assert not odd
    assert not [b for b in BLOCKS if b.kind == "bash" and not b.reason]
    answers = {b.answer for b in BLOCKS if b.answer is not None}
    loose = [_ids(b) for b in BLOCKS if b.kind == "text" and b.text not in answers]
    assert not loose, "a text block that no code answers with is not checked"


def test_the_list_of_blocks_not_run_is_up_to_date() -> None:
    stale = [
        key
        for key in NOT_RUN
        if not any(b.page == key[0] and b.text.startswith(key[1]) for b in BLOCKS)
    ]
    assert not stale


INLINE = [
    (page.relative_to(ROOT).as_posix(), words)
    for page in PAGES
    for words in sorted(set(re.findall(r"`(wayside [a-z][^`]*)`", page.read_text("utf-8"))))
]


@pytest.mark.parametrize(("page", "words"), INLINE)
def test_commands_in_running_text_exist(page: str, words: str) -> None:
    name, *rest = words.split()[1:]
    if "." in words.split()[0] or name == "COMMAND":
        return
    assert name in COMMANDS, f"{page} names a command that does not exist: {words}"
    parser = argparse.ArgumentParser()
    importlib.import_module(f"wayside_app.commands.{name}").add_arguments(parser)
    known = set(parser._option_string_actions) | {"--help"}
    assert not [w for w in rest if w.startswith("--") and w.strip("[]") not in known]


MODULES = sorted(
    {
        module
        for page in PAGES
        for module in re.findall(r"python -m ((?:tests|wayside)[\w.]*\w)", page.read_text("utf-8"))
    }
)


@pytest.mark.parametrize("module", MODULES)
def test_modules_to_run_exist(module: str) -> None:
    roots = {"wayside": ROOT / "core", "wayside_app": ROOT / "app"}
    base = roots.get(module.split(".")[0], ROOT)
    path = base / module.replace(".", "/")
    assert path.with_suffix(".py").exists() or (path / "__main__.py").exists()


LINKS = [
    (page, target)
    for page in PAGES
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
    if "://" not in target
]


@pytest.mark.parametrize(
    ("page", "target"), LINKS, ids=[f"{p.relative_to(ROOT)}-{t}" for p, t in LINKS]
)
def test_links_and_pictures_lead_somewhere(page: Path, target: str) -> None:
    assert (page.parent / target).exists()


@pytest.mark.parametrize("root", ["core/wayside", "app/wayside_app/window"])
def test_the_layout_for_developers_names_every_folder(root: str) -> None:
    layout = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Layout")[1]
    names = {p.parent.name for p in (ROOT / root).glob("*/*.py")}
    assert not {name for name in names if f"{name}/" not in layout.split("## ")[0]}


def _same(shown: str, said: str) -> None:
    """Compare line by line: ``…`` alone stands for any lines, numbers may differ by a tenth."""
    lines = said.rstrip("\n").split("\n")
    at, skipping = 0, False
    for want in shown.rstrip("\n").split("\n"):
        if want == "…":
            skipping = True
            continue
        ends = range(at, len(lines)) if skipping else range(at, min(at + 1, len(lines)))
        hit = next((i for i in ends if _alike(want, lines[i])), None)
        assert hit is not None, f"not said: {want!r}, but:\n" + "\n".join(lines[at:])
        at, skipping = hit + 1, False
    assert skipping or at == len(lines), f"more is said: {lines[at:]}"


_NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def _alike(want: str, line: str) -> bool:
    words = [" ".join(_NUMBER.sub("#", text).split()) for text in (want, line)]
    if words[0] != words[1]:
        return False
    pairs = zip(_NUMBER.findall(want), _NUMBER.findall(line), strict=True)
    return all(_near(*(float(x.replace("−", "-")) for x in pair)) for pair in pairs)


def _near(a: float, b: float) -> bool:
    return abs(a - b) <= 0.1 * max(abs(a), abs(b)) + 1e-12
