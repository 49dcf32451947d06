"""How often a recording without a pass-by is called one; writes refusal.csv and refusal.md."""

from __future__ import annotations

from collections import Counter

import numpy as np
from tests.benchmarks.harness import Kept, in_parallel, machine, markdown, parser, say, wilson

from wayside.simulate.negatives import NEGATIVES, negative

COLUMNS = ("kind", "runs", "called a pass-by", "named a mimic", "share (%)", "95 % interval (%)")
ASKED_PERCENT = 0.5


def items(runs: int, first: int = 0) -> list[tuple[str, int]]:
    """Return (kind, seed) of `runs` negatives, the kinds taking turns, seeds from `first` on."""
    kinds = list(NEGATIVES)
    return [(kinds[i % len(kinds)], first + i // len(kinds)) for i in range(runs)]


def called(item: tuple[str, int]) -> tuple[bool, str]:
    """Measure one negative: whether it is called a pass-by, and the reason given."""
    from wayside.measure.options import MeasureOptions
    from wayside.measure.pipeline import measure
    from wayside.sound.recording import Recording

    kind, seed = item
    rng = np.random.default_rng([seed, 5])
    rate_hz = float(rng.choice([22050, 44100, 48000]))
    samples = negative(kind, seed, float(rng.uniform(3.0, 12.0)), rate_hz)
    result = measure(Recording.from_array(samples, rate_hz, kind), MeasureOptions())
    return result.found, result.detection.reason


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "refusal")
    options.add_argument("--runs", type=int, default=2000, help="recordings in all")
    options.add_argument("--first", type=int, default=0, help="seed to begin with")
    options.add_argument("--kind", choices=list(NEGATIVES), help="only this kind")
    args = options.parse_args()
    todo = [i for i in items(args.runs, args.first) if args.kind in (None, i[0])]
    hits: Counter[str] = Counter()
    mimics: Counter[str] = Counter()
    total: Counter[str] = Counter()
    for done, (index, (found, reason)) in enumerate(
        in_parallel(called, todo, args.processes), start=1
    ):
        kind, seed = todo[index]
        total[kind] += 1
        hits[kind] += found
        mimics[kind] += "mimic" in reason.lower()
        if found:
            say(f"called a pass-by: {kind}, seed {seed}: {reason}")
        if done % 50 == 0:
            say(f"{done}/{len(todo)}, {sum(hits.values())} called a pass-by")
    folder = args.out if args.kind is None else args.out / "partial"
    kept = Kept(folder / "refusal.csv", COLUMNS)
    total["all"], hits["all"], mimics["all"] = (sum(c.values()) for c in (total, hits, mimics))
    for kind, n in total.items():
        low, high = wilson(hits[kind], n)
        kept.keep(
            {
                "kind": kind,
                "runs": n,
                "called a pass-by": hits[kind],
                "named a mimic": mimics[kind],
                "share (%)": 100 * hits[kind] / n,
                "95 % interval (%)": f"{100 * low:.2f} to {100 * high:.2f}",
            }
        )
    table = markdown(COLUMNS, list(kept.rows.values()))
    (folder / "refusal.md").write_text(
        "# Refusal\n\nSimulated recordings without a pass-by (`wayside.simulate.negatives`), "
        f"and how many are called one. Asked for: at most {ASKED_PERCENT} % of all.\n\n{table}\n"
        f"Seeds from {args.first} on. Made by `python -m tests.benchmarks.refusal`. {machine()}\n",
        encoding="utf-8",
    )
    print(table)


if __name__ == "__main__":
    main()
