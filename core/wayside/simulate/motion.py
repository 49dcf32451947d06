"""The source's true motion, with a slow random wobble of its speed and of its line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wayside.physics.passby import FloatArray, PassBy

_WOBBLE_PARTS = 3


@dataclass(frozen=True)
class Weave:
    """Place across the track: a few slow swings, together none at the passing.

    Parameters
    ----------
    size_m : float
        Standard deviation of the place (m).
    rates_hz, phases : tuple of float
    """

    size_m: float
    rates_hz: tuple[float, ...]
    phases: tuple[float, ...]

    def place(self, since_s: FloatArray) -> FloatArray:
        """Return how much farther away it is at times since the passing (m), same shape."""
        return _swung(np.zeros_like(since_s), since_s, self.rates_hz, self.phases, self._speeds)

    def speed(self, since_s: FloatArray) -> FloatArray:
        """Return how fast it moves away then (m/s), same shape."""
        still = np.zeros_like(since_s)
        return _swinging(still, since_s, self.rates_hz, self.phases, self._speeds)

    @property
    def _speeds(self) -> list[float]:
        each = self.size_m * math.sqrt(2.0 / len(self.rates_hz))
        return [each * 2 * math.pi * rate for rate in self.rates_hz]


@dataclass(frozen=True)
class Motion:
    """Position along the track as a function of emission time.

    The wobble adds ``v w sqrt(2/K) sum cos(2 pi f_k tau' + phi_k)`` to the speed, with
    tau' the time since the passing moment; the source is at the closest point at the
    pass-by's passing time with or without it.

    Parameters
    ----------
    passby : PassBy
        The motion without wobble.
    direction : int
        +1 or -1, the sign of the position.
    rates_hz, phases : tuple of float
        f_k and phi_k; empty for no wobble.
    depth : float
        w, the standard deviation of the speed as a fraction of it.
    weave : Weave or None
        Of the line; None for a straight one.
    """

    passby: PassBy
    direction: int = 1
    rates_hz: tuple[float, ...] = ()
    phases: tuple[float, ...] = ()
    depth: float = 0.0
    weave: Weave | None = None

    @property
    def plain(self) -> bool:
        """True when the motion is exactly that of the pass-by."""
        return not self.rates_hz and self.weave is None

    def lateral(self, tau_s: FloatArray, least_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return how far the line of travel is, and how fast that grows, at emission times.

        Parameters
        ----------
        tau_s : ndarray
        least_m : ndarray
            That distance at the passing, by way of the ground or not (m).

        Returns
        -------
        lateral_m, growth_mps : ndarray
        """
        if self.weave is None:
            return least_m, np.zeros(())
        since = tau_s - self.passby.passing_time_s
        aside = self.weave.place(since)
        # what the way has in height stays
        lateral = np.sqrt(least_m**2 + aside * (2.0 * self.passby.closest_m + aside))
        growth = (self.passby.closest_m + aside) / lateral * self.weave.speed(since)
        return lateral, growth

    def travelled(self, tau_s: FloatArray) -> FloatArray:
        """Return the distance travelled since the closest point (m), same shape."""
        x = self.passby.position(tau_s)
        since = tau_s - self.passby.passing_time_s
        return _swung(x, since, self.rates_hz, self.phases, self._speeds)

    def speed(self, tau_s: FloatArray) -> FloatArray:
        """Return the speed along the direction of travel (m/s), same shape."""
        v = self.passby.velocity(tau_s)
        since = tau_s - self.passby.passing_time_s
        return _swinging(v, since, self.rates_hz, self.phases, self._speeds)

    def cycles(self, tau_s: FloatArray) -> FloatArray:
        """Return cycles of the fundamental emitted since the passing moment, same shape."""
        if self.passby.speed_tied:
            return self.passby.source_hz / self.passby.speed_mps * self.travelled(tau_s)
        return self.passby.source_phase(tau_s)

    @property
    def _speeds(self) -> list[float]:
        count = len(self.rates_hz)
        each = self.passby.speed_mps * self.depth * math.sqrt(2.0 / max(1, count))
        return [each] * count


def _swung(
    x: FloatArray,
    since_s: FloatArray,
    rates_hz: Sequence[float],
    phases: Sequence[float],
    speeds_mps: Sequence[float],
) -> FloatArray:
    """Return a place with that added which swings of such speeds have led to since the passing."""
    for rate, phase, speed in zip(rates_hz, phases, speeds_mps, strict=True):
        w = 2 * math.pi * rate
        x = x + speed / w * (np.sin(w * since_s + phase) - math.sin(phase))
    return x


def _swinging(
    v: FloatArray,
    since_s: FloatArray,
    rates_hz: Sequence[float],
    phases: Sequence[float],
    speeds_mps: Sequence[float],
) -> FloatArray:
    """Return a speed with those of the swings added."""
    for rate, phase, speed in zip(rates_hz, phases, speeds_mps, strict=True):
        v = v + speed * np.cos(2 * math.pi * rate * since_s + phase)
    return v


def _drawn(period_s: float, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Draw the rates (Hz) and phases of swings with periods about `period_s`."""
    rates = rng.uniform(0.6, 1.6, _WOBBLE_PARTS) / period_s
    return rates, rng.uniform(0, 2 * math.pi, _WOBBLE_PARTS)


def weaving(motion: Motion, size_m: float, period_s: float, rng: np.random.Generator) -> Motion:
    """Draw the same motion on a line that weaves by `size_m` with periods about `period_s`."""
    if not size_m:
        return motion
    rates, phases = _drawn(period_s, rng)
    return replace(motion, weave=Weave(size_m, tuple(rates.tolist()), tuple(phases.tolist())))


def wobbling(
    passby: PassBy,
    direction: int,
    depth: float,
    period_s: float,
    rng: np.random.Generator,
    since_s: float | None = None,
) -> Motion:
    """Draw a motion whose speed wobbles by `depth` with periods about `period_s`.

    The phases that are drawn are those at the time `since_s` (s), the passing time if None.
    """
    if not depth:
        return Motion(passby, direction)
    rates, phases = _drawn(period_s, rng)
    if since_s is not None:
        phases = phases + 2 * math.pi * rates * (passby.passing_time_s - since_s)
    return Motion(passby, direction, tuple(rates.tolist()), tuple(phases.tolist()), depth)
