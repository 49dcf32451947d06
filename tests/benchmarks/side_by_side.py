"""Three ways on the same recordings: two windows, a pitch tracker with a curve fit, and ours.

Writes side-by-side.csv and side-by-side.md. The pitch tracker (librosa's pyin) lives in an
environment of its own, made by ``--make-tracker FOLDER`` and given by ``--tracker FOLDER``.
It runs twice: over all pitches of the grid, as a user who knows nothing must, and once more
told the octave the pitch lies in. The two windows are told the octave, as a person reading a
spectrogram would see it; ours is told nothing.
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
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from tests.benchmarks.cells import Cell, some_cells
from tests.benchmarks.curve_fit import fit_track, two_windows
from tests.benchmarks.harness import Kept, Row, machine, markdown, parser, say
from tests.benchmarks.one_run import EXACT_SOUND_SPEED, measure_recording
from tests.benchmarks.scenarios import drawn, record, truth

from wayside.measure.options import MeasureOptions
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.sound.recording import Recording

METHODS = ("two windows", "tracker and fit", "told tracker and fit", "ours")
RIVALS = METHODS[:3]
ALL_PITCHES_HZ = (60.0, 4000.0)
CONDITIONS_SHOWN = ("tone, phone", "hum, plain", "hum, phone", "hum, distance taped")
COLUMNS = (
    "case: method",
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


@dataclass(frozen=True)
class Case:
    """What is run: a cell of the grid, or a condition of the coverage benchmark."""

    name: str
    cell: Cell | None = None

    def make(self, seed: int) -> tuple[Recording, MeasureOptions, PassBy]:
        """Return recording, what the measurement is told, and truth of one run."""
        if self.cell is None:
            run = drawn(self.name, seed)
            return record(run, seed), run.options, truth(run, seed)
        scene = self.cell.scene(seed)
        options = MeasureOptions(sound_speed=EXACT_SOUND_SPEED, source_kind="tone")
        recording = Recording.from_array(render(scene, seed), scene.rate_hz)
        return recording, options, scene.sources[0].passby


def run_case(case: Case, runs: int, tracker: Tracker | None) -> list[Row]:
    """Run one case with each method on the same recordings."""
    answers: dict[str, list[tuple[Answer, PassBy, float]]] = {m: [] for m in METHODS}
    for seed in range(runs):
        recording, options, true = case.make(seed)
        sound, rate_hz, c = recording.mono(), recording.rate_hz, options.sound_speed.value
        octave = (true.source_hz / math.sqrt(2), true.source_hz * math.sqrt(2))
        read = partial(two_windows, sound.astype(float), rate_hz, octave, c)
        answer, seconds = _timed(read)
        answers[METHODS[0]].append((answer, true, seconds))
        if tracker is not None:
            for method, told in ((METHODS[1], ALL_PITCHES_HZ), (METHODS[2], octave)):
                times, pitch, seconds = tracker.track(sound, rate_hz, told)
                answer, more = _timed(partial(fit_track, times, pitch, c))
                answers[method].append((answer, true, seconds + more))
        ours = measure_recording(recording, options, true)
        found: Answer = None
        if ours.found:
            found = (
                true.speed_mps + ours.errors["speed_mps"],
                true.source_hz + ours.errors["source_hz"],
            )
        answers[METHODS[3]].append((found, true, ours.seconds))
    return [_row(case.name, method, given) for method, given in answers.items() if given]


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    begin = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - begin


def _row(name: str, method: str, given: list[tuple[Answer, PassBy, float]]) -> Row:
    good = []
    for answer, true, _ in given:
        if answer is None:
            continue
        errors = answer[0] / true.speed_mps - 1, answer[1] / true.source_hz - 1
        # a two-window reading is coarse by nature: a failure is an error beyond one half
        if all(math.isfinite(e) and abs(e) <= 0.5 for e in errors):
            good.append(errors)

    def rms(place: int) -> float:
        if not good:
            return math.nan
        return 100 * math.sqrt(sum(e[place] ** 2 for e in good) / len(good))

    return {
        "case: method": f"{name}: {method}",
        "runs": len(given),
        "v: RMS error (%)": rms(0),
        "f0: RMS error (%)": rms(1),
        "failures (%)": 100 * (1 - len(good) / len(given)),
        "seconds a run": sum(seconds for _, _, seconds in given) / len(given),
    }


def summary(rows: list[Row]) -> str:
    """Say in how many cases ours is ahead, and by how much."""
    by_name = {str(r["case: method"]): r for r in rows}
    cases = dict.fromkeys(n.rsplit(": ", 1)[0] for n in by_name)
    lines = []
    for rival in RIVALS:
        ahead = tenfold = faster = compared = 0
        for case in cases:
            ours, theirs = (by_name.get(f"{case}: {m}") for m in ("ours", rival))
            if ours is None or theirs is None:
                continue
            compared += 1
            mine, other = (_error(r) for r in (ours, theirs))
            ahead += mine < other
            tenfold += 10 * mine <= other
            faster += ours["seconds a run"] <= theirs["seconds a run"]
        lines.append(
            f"Against {rival}: ahead in {ahead} of {compared} cases, at least tenfold in "
            f"{tenfold}, no slower in {faster}."
        )
    return "\n\n".join(lines)


def _error(row: Row) -> float:
    """Return the error of the speed; a way that fails as often as not has none."""
    error = row["v: RMS error (%)"]
    if row["failures (%)"] >= 50.0:
        return math.inf
    return math.inf if error is None or math.isnan(error) else float(error)


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "side_by_side")
    options.add_argument("--cells", type=int, default=30)
    options.add_argument(
        "--conditions", type=int, default=len(CONDITIONS_SHOWN), help="how many other conditions"
    )
    options.add_argument("--runs", type=int, default=10, help="runs a case")
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
    cases = [Case(c.name, c) for c in some_cells(args.cells, args.tnr)]
    cases += [Case(name) for name in CONDITIONS_SHOWN[: args.conditions]]
    try:
        for index, case in enumerate(cases, start=1):
            if kept.has(f"{case.name}: ours", args.runs) and not args.again:
                continue
            for row in run_case(case, args.runs, tracker):
                kept.keep(row)
            say(f"{index}/{len(cases)} {case.name}")
    finally:
        if tracker is not None:
            tracker.close()
    rows = list(kept.rows.values())
    text = f"{summary(rows)}\n\n{markdown(COLUMNS, rows)}"
    (args.out / "side-by-side.md").write_text(
        "# Side by side\n\nThe same recordings by three ways: the peaks of two far windows, "
        "librosa's pyin with a fit of the exact curve (over all pitches, and told the octave), "
        "and ours. A failure is no answer, or speed or pitch wrong by more than half. The error is "
        "that of the answers which are no failures; where half or more fail, what the few others "
        "happen to hit does not count as being ahead. The two "
        f"windows are told the octave; ours is told nothing.\n\n{text}\n"
        f"Made by `python -m tests.benchmarks.side_by_side`. {machine()}\n",
        encoding="utf-8",
    )
    print(text)


if __name__ == "__main__":
    main()
