"""``wayside batch FOLDER``: measure every recording in a folder, one row each."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from wayside.errors import Cancelled, InputError
from wayside_app.commands.measuring import (
    add_knowledge_arguments,
    add_stretch_arguments,
    band_of,
    options_of,
)

MOST_WORKERS = 64


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.description = (
        "Measure every recording and film in a folder side by side and write runs.csv and "
        "runs.json. A set-up named like its recording (run.setup.json beside run.mp4) is compared "
        "with it. A batch that was stopped goes on where it was. Exit code 0: all done; 3: no "
        "recording holds a pass-by; 4: some could not be measured, their rows say why."
    )
    add = parser.add_argument
    add("folder", metavar="FOLDER", help="folder with recordings and films")
    add(
        "--setup",
        nargs="+",
        default=[],
        metavar="FILE",
        help="set-up files: by name for one recording, one with another name for all others",
    )
    add("--out", metavar="FOLDER", help="where to write (default: the same folder)")
    add("--recursive", action="store_true", help="folders within the folder as well")
    add("--workers", type=int, default=0, metavar="N", help="recordings at once (default: cores)")
    add("--harmonic", type=int, default=1, metavar="N", help="harmonic that was measured")
    add_stretch_arguments(parser)
    add_knowledge_arguments(parser)
    add("--json", action="store_true", help="print JSON (docs/json-output.md)")


def run(args: argparse.Namespace) -> int:
    """Measure, write, print; see the exit codes above."""
    # every process has a core of its own; sums then do not depend on how they are split either
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")

    from wayside.batch.folder import entries_in
    from wayside.batch.keep import prepare
    from wayside.batch.one import Task
    from wayside.batch.results import check_replaceable, json_text, write_runs
    from wayside.batch.run import run_batch
    from wayside.jobs import Job
    from wayside.review.summary import summary_of
    from wayside.review.summary_text import summary_as_text
    from wayside_app.cli import DONE, NO_PASS_BY, SOME_FAILED

    _check(args)
    options = options_of(args)
    folder = Path(args.folder)
    out = Path(args.out) if args.out is not None else folder
    entries = entries_in(folder, [Path(s) for s in args.setup], args.recursive)
    tasks = [Task(entry, options, args.harmonic) for entry in entries]
    prepare(out)
    check_replaceable(out)
    try:
        with _asked_to_stop() as stopping:
            rows = run_batch(tasks, out, args.workers, Job(report=_tell, cancelled=stopping))
    except (Cancelled, KeyboardInterrupt):
        print("What is finished is kept; the same command goes on from there.", file=sys.stderr)
        raise
    summary = summary_of(rows)
    values = write_runs(out, tasks, rows, summary)
    print(json_text(values) if args.json else summary_as_text(rows, summary))
    if summary.failed:
        return SOME_FAILED
    return DONE if summary.measured else NO_PASS_BY


@contextmanager
def _asked_to_stop() -> Iterator[Callable[[], bool]]:
    """Note Ctrl+C and a request of the system to end, which the work then heeds between steps.

    Raised at once, an interrupt could fall into the middle of handing a recording to another
    process and leave a lock taken that both wait for. A second one is raised.
    """
    asked = False

    def note(number: int, frame: FrameType | None) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True

    numbers = [signal.SIGTERM]
    if signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
        numbers.append(signal.SIGINT)
    before = {number: signal.signal(number, note) for number in numbers}
    try:
        yield lambda: asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _tell(fraction: float, message: str) -> None:
    print(message, file=sys.stderr, flush=True)


def _check(args: argparse.Namespace) -> None:
    from wayside.compare.compare import check_comparable
    from wayside.hand.setup_file import read_setup

    if not 0 <= args.workers <= MOST_WORKERS:
        raise InputError(f"--workers is {args.workers}; give a number from 1 to {MOST_WORKERS}.")
    if args.harmonic < 1:
        raise InputError(f"--harmonic is {args.harmonic}, but must be 1 or more.")
    band = band_of(args)
    if band is not None and not 0 <= band[0] < band[1]:
        raise InputError(f"--band {band[0]:g} {band[1]:g} is empty; give the lower pitch first.")
    for name in args.setup:
        # what is named on the command line is checked before hours of work, not after
        check_comparable(read_setup(name))
