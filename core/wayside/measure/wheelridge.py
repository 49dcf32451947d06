"""A rider who wavers, along the speed: a ridge of the likelihood instead of a summit.

A rider who wavers may be slower and nearer or faster and farther, and waver otherwise to match.
Along that way the likelihood is nearly level, but rough: narrow summits side by side, of which a
climb reaches one. So the posterior is multiplied by normal windows side by side along the
logarithm of the speed, as it is along the crossing time in `wayside.measure.breadth`, and each
product climbed from its neighbour's summit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.breadth import APART, FAINT, WINDOW
from wayside.measure.mixture import Part, mixed, steps_between
from wayside.measure.phasefit import ALL
from wayside.measure.twowheels import Hum
from wayside.measure.wheelclimb import Summit, climb_each

FloatArray = npt.NDArray[np.float64]

# width that the windows are cut for (log of the speed), how many to a side, and steps in each
ALONG, MOST, FEW = 0.08, 6, 8
# that many windows' heights lie one upon the other
UPON = math.log(math.sqrt(2.0 * math.pi) * WINDOW / APART)
SPEED = 1
# in steps: of the passing time, and of the logarithm of the crossing time
PASSING, CROSSING = np.array([0.0, 0.0, 0.0, 1.0, 0.0]), np.array([0.0, -1.0, 1.0, 0.0, 0.0])


def along_speed(hum: Hum, found: Sequence[Summit], share: float, job: Job) -> list[Part]:
    """Return the parts of the ridge through the highest summit, and of those beside it.

    Parameters
    ----------
    hum : Hum
        Of a rider who wavers.
    found : sequence of Summit
        The highest first; those that pass at other times or take longer are taken to be as broad.
    share : float
        Of the log-likelihood that counts.
    job : Job
    """
    top = found[0]
    if top.part().covariance[SPEED, SPEED] > ALONG**2:
        # as wide as a window and wider, it tells the ridge itself
        return [one.part() for one in found]
    ridge = _ridge(hum, found, share, job)
    parts = _filled([replace(one.part(), height=one.part().height - UPON) for one in ridge])
    whole = mixed(parts, ALL)
    broader = whole.height - top.part().height
    for one in found[1:]:
        if _beside(one, parts):
            height = one.part().height + broader
            parts.append(Part(one.bicycle.passby, whole.covariance, height))
    return parts


def _ridge(hum: Hum, found: Sequence[Summit], share: float, job: Job) -> list[Summit]:
    """Return the summits of the windows, by speed."""
    middle = found[0].bicycle.passby.speed_mps

    def window(number: int, near: Summit) -> Summit:
        at = middle * math.exp(number * APART * ALONG)
        held = replace(hum, priors=replace(hum.priors, speed_mps=(at, at * WINDOW * ALONG)))
        p = near.bicycle.passby
        by = at / p.speed_mps
        other = p.with_(speed_mps=at, closest_m=by * p.closest_m)
        starts = [hum.sounding_alike(near.bicycle, other) if number else near.bicycle]
        starts += [one.bicycle for one in found[1:] if _within(one, at)]
        tops = climb_each(held, starts, job, share, FEW)
        return max(tops, key=lambda top: top.value)

    windows = [window(0, found[0])]
    for side in (-1, 1):
        last = windows[0 if side < 0 else -1]
        for number in range(1, MOST + 1):
            last = window(side * number, last)
            windows.insert(0 if side < 0 else len(windows), last)
            heights = [one.part().height for one in windows]
            if last.part().height < max(heights) - FAINT:
                break
    return windows


def _within(one: Summit, at_mps: float) -> bool:
    return abs(math.log(one.bicycle.passby.speed_mps / at_mps)) < 0.5 * APART * ALONG


def _filled(parts: list[Part]) -> list[Part]:
    """Return parts that leave no gaps between them: summits in windows may be narrow."""
    if len(parts) == 1:
        return parts
    lead = parts[0].passby
    places = np.array([steps_between(lead, part.passby, ALL) for part in parts])
    out = []
    for part, way in zip(parts, np.gradient(places, axis=0), strict=True):
        missing = way[SPEED] ** 2 / 12.0 - part.covariance[SPEED, SPEED]
        share = max(0.0, missing) / max(way[SPEED] ** 2, 1e-12)
        out.append(replace(part, covariance=part.covariance + share * np.outer(way, way)))
    return out


def _beside(one: Summit, parts: Sequence[Part]) -> bool:
    """Whether a summit passes at another time than the ridge does at its speed, or takes longer."""
    p = one.bicycle.passby
    near = min(parts, key=lambda part: abs(math.log(part.passby.speed_mps / p.speed_mps)))
    step = steps_between(near.passby, p, ALL)
    return any(
        abs(way @ step) > math.sqrt(way @ near.covariance @ way) for way in (PASSING, CROSSING)
    )
