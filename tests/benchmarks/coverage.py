"""How often the true value lies in the stated interval; writes coverage.csv and coverage.md."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks import harness
from tests.benchmarks.harness import Kept, Row, in_parallel, markdown, parser, say, wilson
from tests.benchmarks.one_run import Outcome, measure_recording
from tests.benchmarks.scenarios import CONDITIONS, drawn, record, truth

COLUMNS = (
    "condition: quantity",
    "runs",
    "found (%)",
    "in 68 % interval (%)",
    "in 95 % interval (%)",
    "within u (%)",
    "within 1.96 u (%)",
    "bias / u",
    "median error",
    "median u",
    "seconds a run",
    "verdict",
)
BEYOND = "by more than chance"
COUNTED = ("speed_mps", "source_hz", "closest_m", "passing_time_s", "acceleration_mps2")


def one(item: tuple[str, int]) -> tuple[tuple[str, ...], Outcome]:
    """Draw, render and measure one run; return the groups it counts in, and what came of it."""
    condition, seed = item
    run = drawn(condition, seed)
    outcome = measure_recording(record(run, seed), run.options, lambda told: truth(run, seed, told))
    return (condition, *(f"{condition}, {tag}" for tag in run.tags)), outcome


def rows_of(condition: str, outcomes: Sequence[Outcome]) -> list[Row]:
    """Sum up the outcomes of one condition, a row a quantity."""
    found = [o for o in outcomes if o.found]
    rows = []
    for name in COUNTED:
        # a quantity held at a value is not claimed to be measured
        claimed = [o for o in found if o.us[name] > 0]
        pairs = [(o.errors[name], o.us[name]) for o in claimed]
        if 2 * len(pairs) < len(found) or not pairs:
            # reported where the sound asks for it; a few such runs are no sample of all
            continue
        n = len(pairs)
        first, second = (100 * sum(o.within[name][i] for o in claimed) / n for i in (0, 1))
        # a mean of error/u would be led by a few runs; the median is not
        bias = statistics.median(e / u for e, u in pairs)
        rows.append(
            {
                "condition: quantity": f"{condition}: {name}",
                "runs": len(outcomes),
                "found (%)": 100 * len(found) / len(outcomes),
                "in 68 % interval (%)": first,
                "in 95 % interval (%)": second,
                "within u (%)": 100 * sum(abs(e) <= u for e, u in pairs) / n,
                "within 1.96 u (%)": 100 * sum(abs(e) <= 1.96 * u for e, u in pairs) / n,
                "bias / u": bias,
                "median error": statistics.median(abs(e) for e, _ in pairs),
                "median u": statistics.median(u for _, u in pairs),
                "seconds a run": statistics.fmean(o.seconds for o in outcomes),
                "verdict": verdict(first, second, bias),
            }
        )
    return rows


# what is asked for of the shares (%) and of the bias
IN_68, IN_95, MOST_BIAS = (64.0, 72.0), (93.0, 97.0), 1 / 3
# the median of n normal numbers scatters by this over the root of n
MEDIAN = math.sqrt(math.pi / 2)


def verdict(first: float, second: float, bias: float) -> str:
    """Return ``good`` or what is missed: 64-72 %, 93-97 %, bias under a third of u."""
    missed = []
    if not IN_68[0] <= first <= IN_68[1]:
        missed.append("68 %")
    if not IN_95[0] <= second <= IN_95[1]:
        missed.append("95 %")
    if not abs(bias) < MOST_BIAS:
        missed.append("bias")
    return "misses " + ", ".join(missed) if missed else "good"


def beyond_chance(row: Row) -> str:
    """Return which misses of a row so few runs would not show by chance (one time in twenty)."""
    n = round(float(row["runs"] or 0) * float(row["found (%)"] or 0) / 100)
    missed = []
    for name, (least, most) in (("68 %", IN_68), ("95 %", IN_95)):
        share = float(row[f"in {name} interval (%)"] or 0) / 100
        low, high = wilson(round(share * n), n)
        if high < least / 100 or low > most / 100:
            missed.append(name)
    if abs(float(row["bias / u"] or 0)) > MOST_BIAS + 1.96 * MEDIAN / math.sqrt(max(n, 1)):
        missed.append("bias")
    return ", ".join(missed)


def write_page(path: Path, kept: Kept) -> None:
    """Write the table as a page."""
    rows = [row | {BEYOND: beyond_chance(row)} for row in kept.rows.values()]
    good = sum(r["verdict"] == "good" for r in rows)
    surely = sum(bool(r[BEYOND]) for r in rows)
    harness.write_page(
        path,
        "True uncertainties",
        "Simulated bicycle pass-bys (`tests/benchmarks/scenarios.py`): the share of runs whose "
        "true value lies in the stated 68 % and 95 % intervals, and within one and 1.96 stated "
        "standard uncertainties. Asked for: 64 to 72 % and 93 to 97 % in the intervals, and a "
        "bias (median of error over u) under a third. The first rows count whole conditions; "
        "in those of any recording one of the effects is drawn for each run, and of hums the "
        "coherence time and who wavers, and the rows after them count such runs apart, so that "
        "few runs stand behind each. The last column names the misses that so many runs of a "
        "program that does what is asked would show one time in twenty or less often (shares: "
        "Wilson, *J. Am. Stat. Assoc.* 22 (1927) 209; the median of n normal numbers scatters by "
        "the root of pi/2n).\n\n"
        f"{good} of {len(rows)} rows are good, {surely} miss by more than chance.",
        (*COLUMNS, BEYOND),
        rows,
        "coverage",
    )


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "coverage")
    options.add_argument("--runs", type=int, default=1000, help="runs a condition")
    options.add_argument("--only", default="", help="only conditions whose name holds this")
    args = options.parse_args()
    kept = Kept(args.out / "coverage.csv", COLUMNS)
    names = [n for n in CONDITIONS if args.only in n]
    shown = []
    for index, name in enumerate(names, start=1):
        if kept.has(f"{name}: speed_mps", args.runs) and not args.again:
            continue
        items = [(name, seed) for seed in range(args.runs)]
        groups: dict[str, list[Outcome]] = {name: []}
        for _, (members, outcome) in in_parallel(one, items, args.processes):
            for member in members:
                groups.setdefault(member, []).append(outcome)
        rows = rows_of(name, groups.pop(name))
        for row in rows:
            kept.keep(row)
        for group in sorted(groups):
            for row in rows_of(group, groups[group]):
                kept.keep(row)
        if rows:
            write_page(args.out / "coverage.md", kept)
        shown += rows
        parts = [f"{r['in 68 % interval (%)']:.0f}/{r['in 95 % interval (%)']:.0f}" for r in rows]
        say(f"{index}/{len(names)} {name}: {', '.join(parts) or 'nothing found'}")
    print(markdown(COLUMNS, shown))


if __name__ == "__main__":
    main()
