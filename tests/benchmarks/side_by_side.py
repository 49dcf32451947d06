"""Three ways on the same recordings: two windows, a pitch tracker with a curve fit, and ours.

Writes side-by-side.csv and side-by-side.md. The pitch tracker (librosa's pyin) lives in an
environment of its own, made by ``--make-tracker FOLDER`` and given by ``--tracker FOLDER``.
The two rivals are told the band in which the pitch lies (half an octave to either side of the
truth); ours is told nothing.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
import time
import venv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from tests.benchmarks.cells import Cell, some_cells
from tests.benchmarks.curve_fit import fit_track, two_windows
from tests.benchmarks.harness import Kept, Row, machine, markdown, parser, say
from tests.benchmarks.one_run import EXACT_SOUND_SPEED, measure_once

from wayside.measure.options import MeasureOptions
from wayside.simulate.render import render

METHODS = ("two windows", "tracker and fit", "ours")
COLUMNS = (
    "cell: method",
    "runs",
    "v: RMS error (%)",
    "f0: RMS error (%)",
    "failures (%)",
    "seconds a run",
)
TRACKER_PACKAGES = ("librosa>=0.10", "numpy", "numba")
Answer = tuple[float, float] | None


class Tracker:
    """The pitch tracker in its own process and environment."""

    def __init__(self, folder: Path) -> None:
        python = folder / "bin" / "python"
        worker = Path(__file__).with_name("pyin_worker.py")
        self.process = subprocess.Popen(
            [str(python), str(worker)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        if self._answer() != "ready":
            raise SystemExit(f"The tracker in {folder} does not start; make it anew.")
        self.work = tempfile.TemporaryDirectory()

    def track(
        self, sound: np.ndarray, rate_hz: float, band_hz: tuple[float, float]
    ) -> tuple[np.ndarray, np.ndarray, float]:
        """Return times (s), pitch (Hz, NaN where unvoiced) and seconds taken."""
        source, target = (Path(self.work.name) / name for name in ("in.npy", "out.npz"))
        np.save(source, sound)
        job = {"in": str(source), "out": str(target), "rate": rate_hz}
        job |= {"low": band_hz[0], "high": band_hz[1]}
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(job) + "\n")
        self.process.stdin.flush()
        seconds = json.loads(self._answer())["seconds"]
        with np.load(target) as made:
            return made["times"], made["pitch"], seconds

    def close(self) -> None:
        """Stop the process."""
        assert self.process.stdin is not None
        self.process.stdin.close()
        self.process.wait(timeout=30)
        self.work.cleanup()

    def _answer(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()


def make_tracker(folder: Path) -> None:
    """Make the tracker's environment."""
    venv.create(folder, with_pip=True)
    python = folder / "bin" / "python"
    subprocess.run([str(python), "-m", "pip", "install", "--quiet", *TRACKER_PACKAGES], check=True)


def run_cell(cell: Cell, runs: int, tracker: Tracker | None) -> list[Row]:
    """Run one cell with each method on the same recordings."""
    answers: dict[str, list[tuple[Answer, float]]] = {m: [] for m in METHODS}
    band = (cell.source_hz / math.sqrt(2), cell.source_hz * math.sqrt(2))
    c = EXACT_SOUND_SPEED.value
    for seed in range(runs):
        scene = cell.scene(seed)
        sound = render(scene, seed)
        mono = sound[:, 0].astype(float)

        def by_windows(mono: np.ndarray = mono, rate: float = scene.rate_hz) -> Answer:
            return two_windows(mono, rate, band, c)

        answers["two windows"].append(_timed(by_windows))
        if tracker is not None:
            times, pitch, seconds = tracker.track(sound[:, 0], scene.rate_hz, band)
            answer, more = _timed(lambda t=times, f=pitch: fit_track(t, f, c))
            answers["tracker and fit"].append((answer, seconds + more))
        options = MeasureOptions(sound_speed=EXACT_SOUND_SPEED, source_kind="tone")
        truth = scene.sources[0].passby
        ours = measure_once(sound, scene.rate_hz, options, truth)
        found: Answer = None
        if ours.found:
            found = (
                truth.speed_mps + ours.errors["speed_mps"],
                truth.source_hz + ours.errors["source_hz"],
            )
        answers["ours"].append((found, ours.seconds))
    return [_row(cell, method, given) for method, given in answers.items() if given]


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    begin = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - begin


def _row(cell: Cell, method: str, given: list[tuple[Answer, float]]) -> Row:
    good = []
    for answer, _ in given:
        if answer is None:
            continue
        errors = answer[0] / cell.speed_mps - 1, answer[1] / cell.source_hz - 1
        # a two-window reading is coarse by nature: a failure is an error beyond one half
        if all(math.isfinite(e) and abs(e) <= 0.5 for e in errors):
            good.append(errors)

    def rms(place: int) -> float:
        if not good:
            return math.nan
        return 100 * math.sqrt(sum(e[place] ** 2 for e in good) / len(good))

    return {
        "cell: method": f"{cell.name}: {method}",
        "runs": len(given),
        "v: RMS error (%)": rms(0),
        "f0: RMS error (%)": rms(1),
        "failures (%)": 100 * (1 - len(good) / len(given)),
        "seconds a run": sum(seconds for _, seconds in given) / len(given),
    }


def summary(rows: list[Row]) -> str:
    """Say in how many cells ours is ahead, and by how much."""
    by_name = {str(r["cell: method"]): r for r in rows}
    cells = dict.fromkeys(n.split(": ")[0] for n in by_name)
    lines = []
    for rival in METHODS[:2]:
        ahead = tenfold = faster = compared = 0
        for cell in cells:
            ours, theirs = (by_name.get(f"{cell}: {m}") for m in ("ours", rival))
            if ours is None or theirs is None:
                continue
            compared += 1
            mine, other = (_error(r) for r in (ours, theirs))
            ahead += mine < other
            tenfold += 10 * mine <= other
            faster += ours["seconds a run"] <= theirs["seconds a run"]
        lines.append(
            f"Against {rival}: ahead in {ahead} of {compared} cells, at least tenfold in "
            f"{tenfold}, no slower in {faster}."
        )
    return "\n\n".join(lines)


def _error(row: Row) -> float:
    error = row["v: RMS error (%)"]
    return math.inf if error is None or math.isnan(error) else float(error)


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "side_by_side")
    options.add_argument("--cells", type=int, default=30)
    options.add_argument("--runs", type=int, default=10, help="runs a cell")
    options.add_argument("--tnr", type=float, help="only cells of this tone-to-noise ratio (dB)")
    options.add_argument("--tracker", type=Path, help="environment of the pitch tracker")
    options.add_argument("--make-tracker", type=Path, help="make that environment and stop")
    args = options.parse_args()
    if args.make_tracker:
        make_tracker(args.make_tracker)
        return
    kept = Kept(args.out / "side-by-side.csv", COLUMNS)
    tracker = Tracker(args.tracker) if args.tracker else None
    if tracker is None:
        print("No --tracker: the pitch tracker is left out.", file=sys.stderr)
    cells = some_cells(args.cells, args.tnr)
    try:
        for index, cell in enumerate(cells, start=1):
            if kept.has(f"{cell.name}: ours", args.runs) and not args.again:
                continue
            for row in run_cell(cell, args.runs, tracker):
                kept.keep(row)
            say(f"{index}/{len(cells)} {cell.name}")
    finally:
        if tracker is not None:
            tracker.close()
    rows = list(kept.rows.values())
    text = f"{summary(rows)}\n\n{markdown(COLUMNS, rows)}"
    (args.out / "side-by-side.md").write_text(
        "# Side by side\n\nThe same recordings by three ways: the peaks of two far windows, "
        "librosa's pyin with a fit of the exact curve, and ours. A failure is no answer, or speed "
        "or pitch wrong by more than half. The first two are told the octave the pitch lies in; "
        f"ours is told nothing.\n\n{text}\n"
        f"Made by `python -m tests.benchmarks.side_by_side`. {machine()}\n",
        encoding="utf-8",
    )
    print(text)


if __name__ == "__main__":
    main()
