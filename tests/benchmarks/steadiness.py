"""How true the constant-speed test is: its drift, acceleration and probability, counted.

Writes steadiness.csv and steadiness.md. Conditions are those of the coverage benchmark whose
speed is constant or changes evenly; a wobbling speed has no one drift to compare with.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks import harness
from tests.benchmarks.harness import Kept, Row, in_parallel, markdown, parser, say
from tests.benchmarks.scenarios import CONDITIONS, drawn, record, truth

from wayside.listen.steadiness import CENTS, UNLIKELY, constant_speed_test
from wayside.measure.pipeline import measure

COLUMNS = (
    "condition",
    "runs",
    "found (%)",
    "drift within u (%)",
    "within 1.96 u (%)",
    "bias / u",
    "median u (cents/s)",
    "acceleration within u (%)",
    "acceleration within 1.96 u (%)",
    "called not constant (%)",
)
# conditions some of whose sources waver in speed within the pass
WAVERING = {n for n in CONDITIONS if "wobble" in n} | {"hums, any recording"}
# drift and acceleration: error over u; drift's u in cents/s; called not constant
Outcome = tuple[float, float, float, bool] | None


def one(item: tuple[str, int]) -> Outcome:
    """Draw, render, measure and test one run."""
    condition, seed = item
    run = drawn(condition, seed)
    true = truth(run, seed)
    recording = record(run, seed)
    measurement = measure(recording, run.options)
    if not measurement.found:
        return None
    test = constant_speed_test(recording, measurement, run.options)
    own = CENTS * true.acceleration_mps2 / true.speed_mps if true.speed_tied else 0.0
    drift, a = test.drift_cents_per_s, test.acceleration_mps2
    return (
        (drift.value - own) / drift.u,
        (a.value - true.acceleration_mps2) / a.u,
        drift.u,
        test.probability < UNLIKELY,
    )


def row_of(condition: str, outcomes: Sequence[Outcome]) -> Row:
    """Sum up the outcomes of one condition."""
    found = [o for o in outcomes if o is not None]

    def share(index: int, limit: float) -> float:
        return 100 * sum(abs(o[index]) <= limit for o in found) / len(found)

    def median(index: int) -> float:
        return float(sorted(o[index] for o in found)[len(found) // 2])

    return {
        "condition": condition,
        "runs": len(outcomes),
        "found (%)": 100 * len(found) / len(outcomes),
        "drift within u (%)": share(0, 1.0),
        "within 1.96 u (%)": share(0, 1.96),
        "bias / u": median(0),
        "median u (cents/s)": median(2),
        "acceleration within u (%)": share(1, 1.0),
        "acceleration within 1.96 u (%)": share(1, 1.96),
        "called not constant (%)": 100 * sum(o[3] for o in found) / len(found),
    }


def write_page(path: Path, kept: Kept) -> None:
    """Write the table as a page."""
    harness.write_page(
        path,
        "The constant-speed test",
        "Simulated bicycle pass-bys (`tests/benchmarks/scenarios.py`): how often the true drift "
        "of the source's pitch and the true acceleration lie within one and 1.96 stated standard "
        "uncertainties (a true statement: 68 % and 95 %), and how often the speed is called not "
        f"constant. At constant speed that should be {100 * UNLIKELY:g} %; with slowing drawn "
        "from 0 to 0.15 m/s² it is the share that is noticed.",
        COLUMNS,
        list(kept.rows.values()),
        "steadiness",
        "A source whose speed wobbles within the pass is not in the table: its drift is not one "
        "number, and the test takes a surge for a drift.\n\n",
    )


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "steadiness")
    options.add_argument("--runs", type=int, default=300, help="runs a condition")
    options.add_argument("--only", default="", help="only conditions whose name holds this")
    args = options.parse_args()
    kept = Kept(args.out / "steadiness.csv", COLUMNS)
    names = [n for n in CONDITIONS if args.only in n and n not in WAVERING and "not told" not in n]
    for index, name in enumerate(names, start=1):
        if kept.has(name, args.runs) and not args.again:
            continue
        items = [(name, seed) for seed in range(args.runs)]
        outcomes = [o for _, o in in_parallel(one, items, args.processes)]
        if any(o is not None for o in outcomes):
            row = row_of(name, outcomes)
            kept.keep(row)
            write_page(args.out / "steadiness.md", kept)
            say(
                f"{index}/{len(names)} {name}: {row['drift within u (%)']:.0f}/"
                f"{row['within 1.96 u (%)']:.0f}, found {row['found (%)']:.0f} %"
            )
        else:
            say(f"{index}/{len(names)} {name}: nothing found")
    print(markdown(COLUMNS, list(kept.rows.values())))


if __name__ == "__main__":
    main()
