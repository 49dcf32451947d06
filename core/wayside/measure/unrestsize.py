"""Which unrest of its phase a source shows, and how much: by restricted likelihood.

Components are let in one by one, the one that buys most likelihood first. The logarithms of their
sizes and times are then adjusted by a quasi-Newton climb within bounds (L-BFGS-B; Byrd, Lu, Nocedal
and Zhu 1995, *SIAM J. Sci. Comput.* 16, 1190).
"""

from __future__ import annotations

import itertools
from contextlib import suppress
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError
from scipy.optimize import minimize

from wayside.jobs import QUIET as IDLE
from wayside.jobs import Job
from wayside.measure.unrest import MOST_BOUNDED, QUIET, LinearData, Unrest, least_squares
from wayside.measure.unrestslopes import likelihood_and_slopes

FloatArray = npt.NDArray[np.float64]

# a component must buy this many nats of likelihood
PRICE = 4.0
WORST = 1e12
# adjusting a component has been seen to gain a few nats over its best rough guess
HOPE = 6.0
# sizes of a ride, and times (s, spans), that the data do not decide are held near these, to a
# factor's logarithm
USUAL = {
    "waver": (0.004, 1.0),
    "weave_m": (0.03, 1.0),
    "wobble_s": (0.5, 0.8),
    "waver_s": (1.0, 0.6),
    "weave_s": (0.5, 0.5),
    "sway_s": (0.15, 0.8),
    "echo_span": (0.3, 0.8),
}
SIZE_OF = {
    "wobble_s": "wobble_hz",
    "waver_s": "waver",
    "weave_s": "weave_m",
    "sway_s": "sway",
    "echo_span": "echo",
}
# what is ridden or carried keeps neither its speed nor its line
RIDE = ("waver", "weave_m")
A_RIDE = Unrest(**{name: USUAL[name][0] for name in (*RIDE, "waver_s", "weave_s")})
# nobody who rides along a line strays from it by more (common practice, no source)
MOST_WEAVE_M = 0.3
# what is faster is a walk by another name; no vehicle changes its speed faster
LEAST = {"wobble_s": 0.15, "waver_s": 0.3, "weave_s": 0.15}
MOST = {"weave_m": MOST_WEAVE_M, "sway": MOST_BOUNDED, "echo": MOST_BOUNDED}
# natural logarithms of anything else
ANY = (-25.0, 8.0)
# the climb ends where a change by a factor e would buy less (nats), or after so many looks
FLAT, MOST_LOOKS = 0.05, 30


def estimate(data: LinearData, start: Unrest | None = None, job: Job = IDLE) -> Unrest:
    """Return the unrest the data ask for, components let in one by one.

    With `start`, its components are only adjusted. The waver of a wheel stays as it is there:
    one pass rarely shows it (see `wayside.measure.doubt`).
    """
    if start is not None:
        return _adjusted(data, start, job) if _names(data, start) else start
    best = QUIET
    value = _value(data, best)
    options = _openings(data)
    for _ in range(2):
        trials = []
        for kind, guesses in options.items():
            if _on(best, kind):
                continue
            values = [_value(data, replace(best, **guess)) for guess in guesses]
            price = _price(kind, data.ridden and best is QUIET)
            if max(values) < value + price - HOPE:
                continue
            trial = _adjusted(data, replace(best, **guesses[int(np.argmax(values))]), job)
            trials.append((_value(data, trial) - price, trial))
        if not trials:
            break
        top = max(trials, key=lambda item: item[0])
        if top[0] <= value:
            break
        value, best = top
    return best


def _price(kind: str, rides: bool) -> float:
    """Return what a component must buy (nats); all riders ride, more or less well."""
    if kind == "waver" and rides:
        return 0.0
    return PRICE if kind in ("walk", "jitter") else PRICE + 2.0


def _openings(data: LinearData) -> dict[str, list[dict[str, float]]]:
    walk = [{"walk": 10.0**e} for e in (-7, -5, -4, -3, -2, -1, 0)]
    if data.tied:
        # a pattern's frequency is its speed; beside its walk nothing bounded can be told
        return {"walk": walk}
    quiet = float(np.median(data.noise))
    gap = data.gap_s
    return {
        "walk": walk,
        "wobble": [
            {"wobble_hz": 10.0**e, "wobble_s": tau}
            for e, tau in itertools.product((-2, -1, 0), (0.25, 1.0))
        ],
        "sway": [
            {"sway": s, "sway_s": tau}
            for s, tau in itertools.product((np.sqrt(quiet), 0.003, 0.03), (0.05, 0.25))
        ],
        "jitter": [{"jitter": s * quiet * gap} for s in (0.3, 3.0, 30.0, 300.0)],
        "echo": [
            {"echo": s, "echo_span": span}
            for s, span in itertools.product((0.01, 0.05), (0.15, 0.5))
        ],
        "waver": _rides() if data.ridden else _wavers(),
    }


def _wavers() -> list[dict[str, float]]:
    return [
        {"waver": w, "waver_s": tau}
        for w, tau in itertools.product((0.001, 0.004, 0.012), (0.4, 1.5))
    ]


def _rides() -> list[dict[str, float]]:
    """Return rides: who does not keep the speed does not keep the line either."""
    return [
        {"waver": w, "waver_s": 0.8, "weave_m": m, "weave_s": 0.5}
        for w, m in itertools.product((0.0015, 0.006, 0.024), (0.007, 0.03, 0.12))
    ]


def _on(unrest: Unrest, kind: str) -> bool:
    return float(getattr(unrest, SIZE_OF.get(f"{kind}_s", kind))) > 0


def _value(data: LinearData, unrest: Unrest) -> float:
    try:
        return least_squares(data, unrest).loglik - cost_of(unrest)
    except LinAlgError:
        return -WORST


def cost_of(unrest: Unrest) -> float:
    """Return what sizes and times cost that are not the usual ones (nats)."""
    return sum(0.5 * _off_usual(unrest, name) ** 2 for name in _held(unrest))


def _held(unrest: Unrest) -> list[str]:
    """Return which sizes and times are held near the usual: the sizes of a ride, all times."""
    return [*(RIDE if unrest.weave_m > 0 and unrest.waver > 0 else ()), *_times(unrest)]


def _times(unrest: Unrest) -> list[str]:
    """Return the correlation times of the components that are on."""
    return [name for name, size in SIZE_OF.items() if getattr(unrest, size) > 0]


def _off_usual(unrest: Unrest, name: str) -> float:
    usual, spread = USUAL[name]
    return float(np.log(getattr(unrest, name) / usual)) / spread


def _names(data: LinearData, start: Unrest) -> list[str]:
    names = [name for name in ("walk", "jitter") if getattr(start, name) > 0]
    for name in _times(start):
        if name != "waver_s" or not data.tied:
            names += [SIZE_OF[name], name]
    return names


def _adjusted(data: LinearData, start: Unrest, job: Job = IDLE) -> Unrest:
    """Return the unrest of the highest likelihood near a start, the same components on."""
    names = _names(data, start)
    bounds = [
        (
            float(np.log(LEAST[n])) if n in LEAST else ANY[0],
            float(np.log(MOST[n])) if n in MOST else ANY[1],
        )
        for n in names
    ]
    best, highest = start, -np.inf

    def cost(h: FloatArray) -> tuple[float, FloatArray]:
        nonlocal best, highest
        job.check()
        sizes = np.exp(h).tolist()
        unrest = replace(start, **dict(zip(names, sizes, strict=True)))
        value, slopes = likelihood_and_slopes(data, unrest, names)
        value -= cost_of(unrest)
        held = _held(unrest)
        for i, name in enumerate(names):
            if name in held:
                slopes[i] -= _off_usual(unrest, name) / USUAL[name][1]
        if value > highest:
            best, highest = unrest, value
        return -value, -slopes

    first = np.clip(np.log([getattr(start, n) for n in names]), *np.array(bounds).T)
    with suppress(LinAlgError):
        # past a size that no likelihood can be worked out for, the best so far stands
        minimize(
            cost,
            first,
            jac=True,
            method="L-BFGS-B",
            bounds=bounds,
            options={"maxfun": MOST_LOOKS, "gtol": FLAT, "ftol": 1e-9},
        )
    return best
