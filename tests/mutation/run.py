"""Puts faults into a copy of the program one by one and runs the tests that should notice.

``python -m tests.mutation.run [FILE …] [--most 60] [--again]``. The work tree is never touched.
Results are kept in a CSV file, so that a stopped run goes on where it was; a fault whose
expression no longer stands in the file is forgotten.
"""

from __future__ import annotations

import argparse
import csv
import importlib
import os
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

from tests.mutation.areas import AREAS
from tests.mutation.equivalent import reason
from tests.mutation.mutants import Mutant, mutants_of, some_of

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "docs" / "validation" / "mutation.csv"
COLUMNS = ("file", "line", "key", "outcome", "seconds")
PATIENCE = 5.0
_LIBRARIES = (
    "hypothesis.extra.numpy", "numpy", "pytest", "scipy.interpolate", "scipy.linalg",
    "scipy.optimize", "scipy.signal", "scipy.stats", "soundfile", "uncertainties",
)  # fmt: skip
KILLED, SURVIVED, HUNG = "noticed", "survived", "noticed (hung)"


def main() -> int:
    """Run what has not been run yet."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", help="only files whose path holds one of these words")
    parser.add_argument("--most", type=int, default=60, help="faults a file at most")
    parser.add_argument("--again", action="store_true", help="run survivors anew")
    parser.add_argument("--csv", type=Path, default=KEPT)
    args = parser.parse_args()
    os.nice(15)
    _preload()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        _copy(copy)
        for name, tests in AREAS.items():
            if not args.files or any(word in name for word in args.files):
                _one_file(copy, name, tests, args)
    return 0


def _copy(copy: Path) -> None:
    copy.mkdir()
    for name in ("core", "app", "tests", "sample_media"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", copy)


def _preload() -> None:
    """Import what every run needs but no fault is put into; children inherit it."""
    for name in _LIBRARIES:
        importlib.import_module(name)
    if any(name.split(".")[0] == "wayside" for name in sys.modules):
        raise SystemExit("the program itself must not be loaded before a fault is in it")


def _one_file(copy: Path, name: str, tests: tuple[str, ...], args: argparse.Namespace) -> None:
    source = (copy / name).read_text(encoding="utf-8")
    everything = mutants_of(source)
    kept = {r["key"]: r["outcome"] for r in _rows(args.csv) if r["file"] == name}
    chosen = {m.key for m in some_of(everything, args.most, seed=len(source.split("def ")))}
    wanted = {key for key in chosen if key not in kept}
    if args.again:
        wanted |= {key for key, outcome in kept.items() if outcome == SURVIVED}
        wanted = {key for key in wanted if not reason(name, key)}
    todo = [m for m in everything if m.key in wanted]
    _forget(args.csv, name, {m.key for m in everything}, {m.key for m in todo})
    if not todo:
        return
    began = time.monotonic()
    if _tests_pass(copy, tests, 900.0) != SURVIVED:
        raise SystemExit(f"The tests of {name} fail without any fault; put that right first.")
    allowed = max(20.0, PATIENCE * (time.monotonic() - began))
    for number, mutant in enumerate(todo, 1):
        (copy / name).write_text(mutant.source, encoding="utf-8")
        began = time.monotonic()
        outcome = _tests_pass(copy, tests, allowed)
        seconds = time.monotonic() - began
        _keep(args.csv, name, mutant, outcome, seconds)
        print(f"{name}:{mutant.line} {number}/{len(todo)} {outcome}: {mutant.key}", flush=True)
    (copy / name).write_text(source, encoding="utf-8")


def _tests_pass(copy: Path, tests: tuple[str, ...], allowed_s: float) -> str:
    child = os.fork()
    if child == 0:
        _run_tests(copy, tests)
    deadline = time.monotonic() + allowed_s
    while time.monotonic() < deadline:
        pid, status = os.waitpid(child, os.WNOHANG)
        if pid:
            return SURVIVED if status == 0 else KILLED
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return HUNG


def _run_tests(copy: Path, tests: tuple[str, ...]) -> None:
    os.setsid()
    os.chdir(copy)
    sys.path[:] = [str(copy), str(copy / "core"), str(copy / "app")] + [
        p for p in sys.path if p and Path(p).resolve() != ROOT
    ]
    sys.meta_path[:] = [f for f in sys.meta_path if "editable" not in repr(f).lower()]
    for module in [m for m in sys.modules if m.split(".")[0] == "tests"]:
        del sys.modules[module]
    sys.dont_write_bytecode = True
    os.environ["PYTHONPATH"] = os.pathsep.join((str(copy), str(copy / "core"), str(copy / "app")))
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    if not os.environ.get("SHOW_TESTS"):
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
    import pytest

    code = 1
    try:
        options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:pytest-qt"]
        # some libraries are loaded before the tests start, to save their time
        options += ["-W", "ignore::pytest.PytestAssertRewriteWarning", "--hypothesis-seed=0"]
        code = int(pytest.main([*options, *tests]))
    except BaseException as error:
        print(repr(error))
    finally:
        sys.stdout.flush()
        os._exit(code)


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.exists():
        return []
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _write(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def _forget(path: Path, name: str, existing: set[str], to_run: set[str]) -> None:
    rows = _rows(path)
    _write(
        path,
        [r for r in rows if r["file"] != name or (r["key"] in existing and r["key"] not in to_run)],
    )


def _keep(path: Path, name: str, mutant: Mutant, outcome: str, seconds: float) -> None:
    with path.open("a", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerow(
            [name, mutant.line, mutant.key, outcome, f"{seconds:.1f}"]
        )


if __name__ == "__main__":
    sys.exit(main())
