"""Many damaged files, by hand: ``python -m tests.fuzz.run [TARGET …] [--cases N] [--start N]``.

Case number N of a target is always the same file. Each case runs in a process of its own (media)
or is timed in this one (text). Bad ends are kept with their file in ``--keep``; the count goes on
where it was when ``--csv`` already holds some.
"""

from __future__ import annotations

import argparse
import csv
import os
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random

from tests.fuzz.forked import LONGEST_S, MOST_BYTES, Case, run_case
from tests.fuzz.mutate import damaged_bytes, damaged_text
from tests.fuzz.seeds import media_seeds, session_seeds, setup_seeds
from tests.fuzz.targets import REFUSED, TARGETS, TEXT_TARGETS

TEXT_SEEDS = {"setup": setup_seeds, "session": session_seeds}
REPORT_EVERY_S = 30.0
CHUNK = 500


def case_text(target: str, number: int) -> bytes:
    """Return the damaged text of a case."""
    rng = Random(f"{target} {number}")
    return damaged_text(rng.choice(TEXT_SEEDS[target]()), rng)


def case_media(seeds: list[bytes], target: str, number: int) -> bytes:
    """Return the damaged media file of a case."""
    rng = Random(f"{target} {number}")
    return damaged_bytes(rng.choice(seeds), rng)


def text_case(target: str, data: bytes, folder: Path) -> Case:
    """Run one text through its reader, in this process."""
    path = folder / "case.json"
    path.write_bytes(data)
    began = time.monotonic()
    signal.signal(signal.SIGALRM, _too_long)
    signal.setitimer(signal.ITIMER_REAL, LONGEST_S)
    detail = ""
    try:
        outcome = TARGETS[target](path)
    except Exception:
        outcome, detail = "fault", traceback.format_exc()
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    if memory * 1e6 > MOST_BYTES:
        outcome = "took too much memory"
    return Case(outcome, detail, time.monotonic() - began, memory)


def _too_long(*_: object) -> None:
    raise TimeoutError("took too long")


def media_case(target: str, data: bytes, folder: Path) -> Case:
    """Run one media file through its reader, in a process of its own."""
    path = folder / "case.bin"
    path.write_bytes(data)
    return run_case(target, path)


def main() -> int:
    """Run the cases asked for, tell and keep what ended badly."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=f"of {', '.join(TARGETS)}")
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "fuzz")
    parser.add_argument("--csv", type=Path, help="count of every ending")
    args = parser.parse_args()
    os.nice(15)
    args.keep.mkdir(parents=True, exist_ok=True)
    bad = 0
    for target in args.targets or list(TARGETS):
        bad += _run(target, args)
    return 1 if bad else 0


def _run(target: str, args: argparse.Namespace) -> int:
    shm = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=shm if shm.is_dir() else None) as name:
        folder = Path(name)
        is_text = target in TEXT_TARGETS
        paths = [] if is_text else media_seeds(folder, bundled=True, films=target == "film")
        seeds = [path.read_bytes() for path in paths]
        counts: Counter[str] = Counter()
        slowest = largest = 0.0
        began = told = time.monotonic()
        for number in range(args.start, args.start + args.cases):
            if is_text:
                data = case_text(target, number)
                case = text_case(target, data, folder)
            else:
                data = case_media(seeds, target, number)
                case = media_case(target, data, folder)
            counts[case.outcome] += 1
            slowest, largest = max(slowest, case.seconds), max(largest, case.memory_mb)
            if not case.is_good:
                (args.keep / f"{target}-{number}.bin").write_bytes(data)
                (args.keep / f"{target}-{number}.txt").write_text(
                    f"{case.outcome}\n{case.detail}", encoding="utf-8", errors="backslashreplace"
                )
                print(f"{target} {number}: {case.outcome}\n{case.detail[-1500:]}", flush=True)
            done = number + 1 - args.start
            if time.monotonic() - told > REPORT_EVERY_S or done == args.cases:
                told = time.monotonic()
                print(f"{target}: {done} {dict(counts)} {told - began:.0f} s", flush=True)
            if args.csv and (done % CHUNK == 0 or done == args.cases):
                _keep(args, target, done, counts, slowest, largest)
    return sum(counts.values()) - counts["read"] - counts[REFUSED]


def _keep(
    args: argparse.Namespace, target: str, done: int, counts: Counter[str],
    slowest: float, largest: float,
) -> None:  # fmt: skip
    columns = ("target", "start", "cases", "read", "refused", "bad", "slowest_s", "largest_mb")
    rows = []
    if args.csv.exists():
        with args.csv.open(newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
    rows = [r for r in rows if (r["target"], r["start"]) != (target, str(args.start))]
    bad = done - counts["read"] - counts[REFUSED]
    values = (target, args.start, done, counts["read"], counts[REFUSED], bad,
              f"{slowest:.2f}", f"{largest:.0f}")  # fmt: skip
    rows.append(dict(zip(columns, map(str, values), strict=True)))
    with args.csv.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    sys.exit(main())
