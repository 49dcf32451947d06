"""Speed from crossings of several markers: by segment, over all, and whether it was constant.

Constant speed means t_i = t_0 + x_i / v. With weights from both the crossing times and the
marker positions, chi-square of the best line has n - 2 degrees of freedom; its probability is
that of a misfit at least this large if the speed was constant. Errors between frames are
rectangular, not normal, so that probability is good to a few hundredths (checked by
simulation). With three or more markers the same data give the acceleration in
x = x_0 + v s + a s^2/2, s = t - t_mean.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import chdtrc

from wayside.errors import InputError
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]
DOUBTED_BELOW = 0.05
COARSE_SHARE = 0.2


@dataclass(frozen=True)
class Segment:
    """The stretch between two neighbouring markers.

    Parameters
    ----------
    distance : Quantity
        Length (m).
    duration : Quantity
        Time taken (s).
    speed : Quantity
        Mean speed (m/s).
    """

    distance: Quantity
    duration: Quantity
    speed: Quantity


@dataclass(frozen=True)
class ConstancyCheck:
    """Whether the crossings fit one constant speed.

    Parameters
    ----------
    chi_square : float
    degrees_of_freedom : int
    probability : float
        Chance of a misfit at least this large if the speed was constant.
    acceleration : Quantity
        Best-fitting constant acceleration (m/s^2), negative when slowing.
    sentence : str
        The verdict in words.
    """

    chi_square: float
    degrees_of_freedom: int
    probability: float
    acceleration: Quantity
    sentence: str


@dataclass(frozen=True)
class SpeedResult:
    """Speeds from crossings.

    Parameters
    ----------
    speed : Quantity
        Over all markers (m/s), from the best line for three or more.
    segments : tuple of Segment
    constancy : ConstancyCheck or None
        None for two markers: they cannot tell.
    notes : tuple of str
    """

    speed: Quantity
    segments: tuple[Segment, ...]
    constancy: ConstancyCheck | None
    notes: tuple[str, ...] = ()


def speeds(
    times_s: list[Quantity],
    positions_m: list[Quantity],
    *,
    scale_relative_u: float = 0.0,
) -> SpeedResult:
    """Work out speeds from crossing times and marker positions.

    Parameters
    ----------
    times_s : list of Quantity
        True crossing times (s), independent of each other.
    positions_m : list of Quantity
        Marker positions along the track from the first marker (m), independent of each other;
        the first is usually exactly 0.
    scale_relative_u : float
        Relative standard uncertainty shared by all distances and times (a stretched tape, a
        frame clock); it does not affect constancy.

    Raises
    ------
    InputError
        Fewer than two markers, lists of different length, or an order that is impossible.
    """
    t, u_t, x, u_x = _arrays(times_s, positions_m)
    segments = tuple(_segment(i, t, u_t, x, u_x, scale_relative_u) for i in range(len(t) - 1))
    notes = _notes(segments)
    if len(t) == 2:
        return SpeedResult(segments[0].speed, segments, None, notes)
    speed, chi_square = _line(t, u_t, x, u_x)
    speed = _with_scale(speed, scale_relative_u)
    check = _constancy(chi_square, len(t) - 2, _acceleration(t, u_t, x, u_x, speed.value))
    return SpeedResult(speed, segments, check, notes)


def _arrays(
    times_s: list[Quantity], positions_m: list[Quantity]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    if len(times_s) != len(positions_m):
        raise InputError(
            f"{len(times_s)} crossings do not match {len(positions_m)} marker positions; give one "
            f"position for each marker."
        )
    if len(times_s) < 2:
        raise InputError("One crossing gives no speed; mark at least two.")
    pairs = sorted(zip(times_s, positions_m, strict=True), key=lambda pair: pair[0].value)
    t = np.array([p[0].value for p in pairs])
    x = np.array([p[1].value for p in pairs])
    if x[-1] < x[0]:
        x = -x
    if not (np.isfinite(t).all() and np.isfinite(x).all()):
        raise InputError("Every crossing needs a time and every marker a position.")
    if (np.diff(t) <= 0).any() or (np.diff(x) <= 0).any():
        raise InputError(
            "The crossings are not in the order of the markers; check which crossing belongs to "
            "which marker."
        )
    u_t = np.array([p[0].u for p in pairs])
    u_x = np.array([p[1].u for p in pairs])
    return t, u_t, x, u_x


def _segment(
    i: int, t: FloatArray, u_t: FloatArray, x: FloatArray, u_x: FloatArray, scale_u: float
) -> Segment:
    distance = Quantity(float(x[i + 1] - x[i]), math.hypot(u_x[i], u_x[i + 1]), "m")
    duration = Quantity(float(t[i + 1] - t[i]), math.hypot(u_t[i], u_t[i + 1]), "s")
    value = distance.value / duration.value
    relative = math.hypot(distance.relative_u, duration.relative_u, scale_u)
    return Segment(distance, duration, Quantity(value, value * relative, "m/s"))


def _with_scale(speed: Quantity, scale_u: float) -> Quantity:
    return Quantity(speed.value, math.hypot(speed.u, speed.value * scale_u), speed.unit)


def _line(t: FloatArray, u_t: FloatArray, x: FloatArray, u_x: FloatArray) -> tuple[Quantity, float]:
    """Fit t = t0 + x/v with errors in both; returns (v, chi-square)."""
    slowness = float((t[-1] - t[0]) / (x[-1] - x[0]))
    chi_square = u_slowness = 0.0
    for _ in range(5):
        sigma = np.hypot(u_t, slowness * u_x)
        # Exact inputs would make infinite weights.
        sigma = np.maximum(sigma, 1e-9 + 1e-9 * float(sigma.max()))
        weights = sigma**-2
        mean_x = float((weights * x).sum() / weights.sum())
        mean_t = float((weights * t).sum() / weights.sum())
        spread = float((weights * (x - mean_x) ** 2).sum())
        slowness = float((weights * (x - mean_x) * (t - mean_t)).sum()) / spread
        u_slowness = spread**-0.5
        misfit = (t - mean_t - slowness * (x - mean_x)) / sigma
        chi_square = float((misfit**2).sum())
    return Quantity(1 / slowness, u_slowness / slowness**2, "m/s"), chi_square


def _acceleration(
    t: FloatArray, u_t: FloatArray, x: FloatArray, u_x: FloatArray, speed: float
) -> Quantity:
    """Fit x = x0 + v s + a s^2/2 with errors in both; returns a."""
    s = t - t.mean()
    sigma = np.maximum(np.hypot(u_x, speed * u_t), 1e-9)
    design = np.stack([np.ones_like(s), s, 0.5 * s**2], axis=1) / sigma[:, None]
    covariance = np.linalg.pinv(design.T @ design)
    best = covariance @ design.T @ (x / sigma)
    return Quantity(float(best[2]), math.sqrt(float(covariance[2, 2])), "m/s²")


def _constancy(chi_square: float, dof: int, acceleration: Quantity) -> ConstancyCheck:
    probability = float(chdtrc(dof, chi_square))
    if probability >= DOUBTED_BELOW:
        sentence = (
            f"The crossings fit one constant speed (chance of a larger misfit {probability:.0%})."
        )
    else:
        sense = "slowing" if acceleration.value < 0 else "gathering speed"
        sentence = (
            f"The crossings do not fit one constant speed (chance of such a misfit "
            f"{probability:.2g}): the source was {sense}, or a marker or crossing is off."
        )
    return ConstancyCheck(chi_square, dof, probability, acceleration, sentence)


def _notes(segments: tuple[Segment, ...]) -> tuple[str, ...]:
    coarse = [n for n, s in enumerate(segments, 1) if s.duration.relative_u > COARSE_SHARE]
    notes = []
    for n in coarse:
        notes.append(
            f"Between markers {n} and {n + 1} only a few frames pass: set markers farther apart, "
            f"or mark positions for interpolation."
        )
    for a, b in itertools.pairwise(segments):
        if not (a.speed.value > 0 and b.speed.value > 0):
            notes.append("A segment has no positive speed; check the order of the crossings.")
    return tuple(notes)
