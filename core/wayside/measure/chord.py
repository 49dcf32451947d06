"""Many tones that pass together: one Doppler factor moves them all.

Where the notes of a chord and their harmonics lie close together, a curve that follows one line
is drawn onto the next. But all of them are raised and lowered by the same factor at the same
time, so on a logarithmic scale of pitch the whole spectrum slides as one piece. Shifted back by
the right curve, its lines stand still, and the mean over time is most uneven: the curve is
chosen for which the sum of squares of that mean is largest.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy import ndimage, signal

from wayside.jobs import Job
from wayside.measure.planes import Plane
from wayside.measure.search import FINE_POINTS, Candidate, candidate_of, drop, scores, single

FloatArray = npt.NDArray[np.float64]

# a glide is loud enough to be drawn to another's line, in nats
LOUD = 500.0
# curves of one source agree on its Mach number within this factor
AGREE = 1.3
WINDOW_S = 0.1
STEP = 0.003
LOWEST_HZ, HIGHEST_HZ = 150.0, 5000.0
REACH_S = 6.0
MACHS = np.geomspace(0.01, 0.16, 8)
WIDTHS_S = np.geomspace(0.05, 3.0, 8)
AROUND_S = np.linspace(-1.2, 1.2, 9)
IMPROVED = ((0.3, 60), (0.15, 60), (0.07, 60))
# the straightened spectrum must be clearer than the spectrum as it is
CLEARER = 1.03
# fewer frames, and a narrower range of pitches, show no curve
LEAST_FRAMES, LEAST_HIGHEST_HZ = 16, 300.0
LINES, HIGHEST_LINE_HZ = 3, 2500.0


def is_crowded(found: Sequence[Candidate]) -> bool:
    """Return True where loud glides heard at one time disagree about the speed."""
    loud = [one for one in found if one.evidence > LOUD]
    return any(
        abs(a.tc - b.tc) < a.s + b.s and max(a.mach, b.mach) > AGREE * min(a.mach, b.mach)
        for i, a in enumerate(loud)
        for b in loud[:i]
    )


def together(found: Sequence[Candidate], planes: tuple[Plane, ...], job: Job) -> list[Candidate]:
    """Return glides along the curve that straightens the whole spectrum, loudest line first.

    Parameters
    ----------
    found : sequence of Candidate
        What single lines showed; the loudest says about when to look.
    planes : tuple of Plane
    job : Job
    """
    number = int(np.argmin([abs(np.log(plane.window_s / WINDOW_S)) for plane in planes]))
    plane = planes[number]
    if _highest_hz(plane) < LEAST_HIGHEST_HZ:
        return []
    about = max(found, key=lambda one: one.evidence).tc
    straight = _Spectra(plane, about)
    if straight.times_s.size < LEAST_FRAMES:
        return []
    best = _straightest(straight, about, job)
    if straight.clearness(*best) < CLEARER * straight.clearness(0.0, 1.0, about):
        return []
    curves = [single(alpha, *best) for alpha in straight.lines(*best)]
    glides = [
        candidate_of(curve, float(scores(curve, plane, FINE_POINTS)[0]), plane, number)
        for curve in curves
    ]
    return [one for one in glides if one.evidence > 0.0]


def _straightest(straight: _Spectra, about: float, job: Job) -> tuple[float, float, float]:
    """Return the Mach number, width (s) and time (s) that straighten the spectra best."""

    def clearer(trial: tuple[float, float, float]) -> float:
        job.check()
        return straight.clearness(*trial)

    grid = itertools.product(MACHS.tolist(), WIDTHS_S.tolist(), (about + AROUND_S).tolist())
    best = max([(0.0, 1.0, about), *grid], key=clearer)
    value = clearer(best)
    rng = np.random.default_rng(5)
    for width, tries in IMPROVED:
        for step in width * rng.standard_normal((tries, 3)):
            mach, s, tc = best
            trial = (mach * np.exp(step[0]), s * np.exp(step[1]), tc + step[2] * s)
            if (clear := clearer(trial)) > value:
                best, value = trial, clear
    return best


def _highest_hz(plane: Plane) -> float:
    return float(min(HIGHEST_HZ, 0.9 * plane.bin_hz * plane.power.shape[1]))


class _Spectra:
    """Spectra on a logarithmic scale of pitch, about one time."""

    def __init__(self, plane: Plane, about_s: float) -> None:
        times = plane.first_s + plane.hop_s * np.arange(plane.power.shape[0])
        near = np.abs(times - about_s) < REACH_S
        self.times_s: FloatArray = times[near]
        self.margin = round(0.25 / STEP)
        count = round(np.log(_highest_hz(plane) / LOWEST_HZ) / STEP)
        self.pitch_hz: FloatArray = LOWEST_HZ * np.exp(STEP * np.arange(count))
        cells = self.pitch_hz / plane.bin_hz
        low = np.floor(cells).astype(np.intp)
        part = cells - low
        level = np.log1p(plane.power[near])
        self.level = (1.0 - part) * level[:, low] + part * level[:, low + 1]
        # each frame says where its lines are, not how loud it is
        self.level -= self.level.mean(axis=1, keepdims=True)
        self.middle = np.arange(self.margin, count - self.margin)

    def straightened(self, mach: float, s: float, tc: float) -> FloatArray:
        """Return the mean spectrum in the pitch heard at the middle of the fall."""
        u = (self.times_s - tc) / s
        shift = np.rint(np.log1p(-drop(mach, u)) / STEP).astype(np.intp)
        # a slice a frame: several times as fast as picking cell by cell
        total = np.zeros(self.middle.size)
        for row, first in zip(self.level, (self.margin + shift).tolist(), strict=True):
            total += row[first : first + total.size]
        return total / self.times_s.size

    def clearness(self, mach: float, s: float, tc: float) -> float:
        """Return how uneven the straightened spectrum is."""
        if not 0.0 <= mach < 0.2:
            return 0.0
        return float(np.sum(self.straightened(mach, s, tc) ** 2))

    def lines(self, mach: float, s: float, tc: float) -> list[float]:
        """Return the pitches of the strongest lines (Hz), strongest first."""
        spectrum = self.straightened(mach, s, tc)
        spectrum = spectrum - ndimage.median_filter(spectrum, size=31, mode="nearest")
        peaks, _ = signal.find_peaks(spectrum, distance=10)
        # the lower a line, the less an error of the curve turns its phase
        low = peaks[self.pitch_hz[self.middle[peaks]] < HIGHEST_LINE_HZ]
        peaks = low if low.size else peaks
        order = peaks[np.argsort(-spectrum[peaks])][:LINES]
        return [float(self.pitch_hz[self.middle[i]]) for i in order]
