"""What maximum likelihood itself achieves where the estimator misses: started at the truth.

Writes from-truth.csv and from-truth.md. The Cramér-Rao bound is what no unbiased estimator can
beat; a brief or faint pass-by lies below the threshold where maximum likelihood reaches it (Van
Trees, *Detection, Estimation, and Modulation Theory, Part I*, 1968, 2.4; from memory). Here the
sum of squares over all samples is brought to the minimum that lies at the truth, by a
general-purpose solver (`scipy.optimize.least_squares`), with nothing of the program's own. No
search can do better than such a start; how much a cell misses the bound by here is not the
program's to mend.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.signal import decimate
from tests.benchmarks.cells import Cell, all_cells
from tests.benchmarks.crb import PARAMETERS, Tone, shape
from tests.benchmarks.harness import Kept, Row, in_parallel, markdown, parser, say, write_page
from tests.benchmarks.near_bound import rms
from tests.benchmarks.one_run import Outcome

from wayside.simulate.render import render

FloatArray = npt.NDArray[np.float64]
COLUMNS = (
    "cell",
    "runs",
    "v: RMS / bound, from the truth",
    "v: RMS / bound, ours",
    "f0: RMS / bound, from the truth",
    "f0: RMS / bound, ours",
    "gross (%), from the truth",
    "gross (%), ours",
    "evidence (nats)",
)
SAMPLES_A_CYCLE = 3.2


@dataclass(frozen=True)
class Found:
    """One fit's errors by parameter, and by how much it explains the sound better than noise."""

    outcome: Outcome
    evidence: float


def fit_from_truth(item: tuple[Cell, int]) -> Found:
    """Fit one seeded recording of a cell, beginning at its truth."""
    cell, seed = item
    scene = cell.scene(seed)
    p = scene.sources[0].passby
    samples = np.ravel(render(scene, seed)).astype(np.float64)
    fewer = int(scene.rate_hz / (SAMPLES_A_CYCLE * cell.n_harmonics * p.approach_hz))
    if fewer > 1:
        samples = decimate(samples, fewer, ftype="fir")
    t = np.arange(samples.size) * max(1, fewer) / scene.rate_hz
    truth = np.array([getattr(p, name) for name in PARAMETERS])
    unit = np.array([cell.bound()[name] for name in PARAMETERS])
    tone = Tone(*truth, p.sound_speed_mps, (), (), 1.0)

    def rest(step: FloatArray) -> FloatArray:
        source_hz, v, d, t0 = truth + unit * step
        gain, u = (part.real for part in shape(tone, t.astype(complex), v, d, t0))
        turn = 2 * np.pi * np.outer(np.arange(1, cell.n_harmonics + 1), source_hz * u)
        basis, _ = np.linalg.qr((gain * np.concatenate([np.cos(turn), np.sin(turn)])).T)
        return np.asarray(samples - basis @ (basis.T @ samples))

    step = least_squares(rest, np.zeros(4), method="lm", diff_step=1e-4).x
    left = rest(step)
    explained = float(samples @ samples - left @ left)
    variance = float(left @ left) / left.size
    errors = dict(zip(PARAMETERS, unit * step, strict=True))
    return Found(Outcome(True, errors, {}, math.nan), 0.5 * explained / variance)


def row_of(cell: Cell, found: list[Found], ours: dict[str, str]) -> Row:
    """Sum up the fits of one cell beside its row in the table of the program."""
    limit, truth = cell.bound(), cell.passby(0.0)
    good = [f.outcome for f in found if not f.outcome.gross(truth)]

    def number(column: str) -> float:
        return float(ours[column] or math.nan)

    return {
        "cell": cell.name,
        "runs": len(found),
        "v: RMS / bound, from the truth": rms(good, "speed_mps") / limit["speed_mps"],
        "v: RMS / bound, ours": number("v: RMS / bound"),
        "f0: RMS / bound, from the truth": rms(good, "source_hz") / limit["source_hz"],
        "f0: RMS / bound, ours": number("f0: RMS / bound"),
        "gross (%), from the truth": 100 * (1 - len(good) / len(found)),
        "gross (%), ours": number("gross (%)"),
        "evidence (nats)": float(np.median([f.evidence for f in found])),
    }


def main() -> None:
    """Run the benchmark from the command line."""
    over_missing(
        __doc__,
        "from_truth",
        "Maximum likelihood from the truth",
        "The cells near the bound that miss what is asked for, fitted anew by a general-purpose "
        "least-squares solver that begins at the truth (`tests/benchmarks/from_truth.py`). It "
        "need not search, so what it misses the bound by is beyond any program; what ours misses "
        "more is the search's. The evidence is what the fit explains beyond noise; the program "
        "claims a pass-by from 35 nats on, because noise alone offers nearly as much somewhere "
        "among all curves that are searched.",
        COLUMNS,
        fit_from_truth,
        row_of,
    )


def over_missing(
    doc: str | None,
    name: str,
    title: str,
    about: str,
    columns: tuple[str, ...],
    work: Callable[[tuple[Cell, int]], Any],
    row_of: Callable[[Cell, list[Any], dict[str, str]], Row],
) -> None:
    """Work on recordings of the cells that miss, from the command line, and write the table."""
    options = parser(doc, name)
    options.add_argument("--runs", type=int, default=200, help="runs a cell")
    options.add_argument("--only", help="cells whose name holds this, good ones too")
    args = options.parse_args()
    wanted = cells_to_ask(args.out, args.only)
    page = args.out / f"{name.replace('_', '-')}.md"
    kept = Kept(page.with_suffix(".csv"), columns)
    for cell_name in set(kept.rows) - {c.name for c, _ in wanted}:
        del kept.rows[cell_name]
    for cell, ours in wanted:
        if not args.again and kept.has(cell.name, args.runs):
            continue
        items = [(cell, seed) for seed in range(args.runs)]
        found = [one for _, one in in_parallel(work, items, args.processes)]
        kept.keep(row_of(cell, found, ours))
        rows = sorted(kept.rows.values(), key=lambda r: str(r["cell"]))
        write_page(page, title, about, columns, rows, name)
        say(f"{cell.name}: done")
    print(markdown(columns, list(kept.rows.values())))


def cells_to_ask(out: Path, only: str | None) -> list[tuple[Cell, dict[str, str]]]:
    """Return the cells of the table near the bound that miss, or are named, with their rows."""
    with (out / "near-bound.csv").open(newline="", encoding="utf-8") as stream:
        table = {row["cell"]: row for row in csv.DictReader(stream)}
    cells = [(c, table[c.name]) for c in all_cells() if c.name in table]
    if only:
        return [(c, row) for c, row in cells if only in c.name]
    return [(c, row) for c, row in cells if row["verdict"].startswith("misses")]


if __name__ == "__main__":
    main()
