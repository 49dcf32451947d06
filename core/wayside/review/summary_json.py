"""A summary of many runs as JSON values; see docs/json-output.md."""

from __future__ import annotations

import math
from typing import Any

from wayside.review.outliers import OddRuns
from wayside.review.summary import Pair, Summary
from wayside.review.together import Together


def summary_as_json(s: Summary) -> dict[str, Any]:
    """Return the documented JSON values of a summary."""
    return {
        "counts": {"measured": s.measured, "refused": s.refused, "failed": s.failed},
        "means": {t.name: _together(t) for t in s.means},
        "differences": {t.name: _together(t) for t in s.differences},
        "odd_runs": {t.name: _odd(o) for t, o in zip(s.means, s.odd, strict=True)},
        "wind_pairs": [_pair(p) for p in s.pairs],
    }


def _together(t: Together) -> dict[str, Any]:
    p = t.pooled
    return {
        "runs": list(t.names),
        "mean": p.mean.as_json(),
        "low": p.low,
        "high": p.high,
        "dof": _number(p.dof),
        "weighted_mean": p.weighted.as_json(),
        "external_u": _number(p.external_u),
        "chi_square": _number(p.chi_square),
        "p_value": _number(p.p_value),
        "birge_ratio": _number(p.birge),
        "scatter": p.scatter,
        "scatter_high": _number(p.scatter_high),
        "shared_u": p.shared_u,
        "shared": dict(p.shared),
        "weights": list(p.weights),
        "consistent": p.consistent,
        "sentence": t.sentence,
    }


def _odd(o: OddRuns) -> dict[str, Any]:
    return {
        "flags": [
            {
                "run": f.name,
                "distance": f.distance.as_json(),
                "ratio": f.ratio,
                "limit": f.limit,
                "sentence": f.sentence,
            }
            for f in o.flags
        ],
        "sentence": o.sentence,
    }


def _pair(p: Pair) -> dict[str, Any]:
    out: dict[str, Any] = {"out": p.out, "back": p.back, "sentence": p.sentence}
    names = ("wind_mps", "source_hz", "speed_out_mps", "speed_back_mps")
    out |= {name: getattr(p.wind, name).as_json() if p.wind else None for name in names}
    out["steady"] = p.wind.steady if p.wind else None
    return out


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
