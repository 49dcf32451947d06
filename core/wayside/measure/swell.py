"""Whether a sound as a whole rises and falls as that of a passing source does.

A tyre's hum beats, and its lines come and go; the sound of the whole bicycle, hum, hiss and all,
still is as loud as its distance makes it. Voices, melodies and engines at standstill do not rise
and fall evenly to either side of the moment at which their pitch falls fastest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
from scipy import fft

from wayside.measure.refine import Refined, Sound

FloatArray = npt.NDArray[np.float64]

FRAME_S = 0.05
# lines looked at: from below the lowest to somewhat above the highest or the so-manieth
BELOW, ABOVE, LINES = 0.6, 1.3, 4
# crossing times that are tried (s), passings so far from that of the pitch (s), to so many
# crossing times either side
CROSSINGS_S = tuple(np.geomspace(0.15, 3.0, 10))
EARLIER_S, STEPS, REACH = 1.0, 5, 4.0
# and how often the steps are halved about the best of them
HALVINGS = 2
LEAST_FRAMES, TURNS = 12, 5
# a swell follows distance so closely, is so high and strays by no more (dB, or of its height)
LEAST_CORRELATION, LEAST_RANGE_DB, MOST_STRAY_DB, MOST_STRAY_SHARE = 0.85, 6.0, 2.2, 0.28
# by so much it rises before and falls after, more than so many crossing times from the passing
LEAST_RISE_DB, AWAY = 3.0, 1.2
# one that may do so rises by so much less, and follows so closely
MAY, MAY_CORRELATION = 2.0 / 3.0, 0.7


@dataclass(frozen=True)
class Swell:
    """How the level of a sound follows that of a passing source.

    Parameters
    ----------
    correlation : float
        Of its logarithm with that of 1/r^2 and a background.
    range_db, stray_db : float
        By how much that rises and falls, and how far the level strays from it, RMS.
    before_db, after_db : float
        By how much the level at the passing is above that before and after.
    """

    correlation: float
    range_db: float
    stray_db: float
    before_db: float
    after_db: float

    @property
    def passes(self) -> bool:
        """Whether it speaks for a passing source."""
        return (
            self.correlation > LEAST_CORRELATION
            and self._rises(1.0)
            and self.stray_db < max(MOST_STRAY_DB, MOST_STRAY_SHARE * self.range_db)
        )

    @property
    def may_pass(self) -> bool:
        """Whether it does not speak against one."""
        return self.correlation > MAY_CORRELATION and self._rises(MAY)

    def _rises(self, share: float) -> bool:
        """Whether it is so high, and higher than to either side, by a share of what is asked."""
        sides = min(self.before_db, self.after_db)
        return self.range_db > share * LEAST_RANGE_DB and sides > share * LEAST_RISE_DB


def swell_of(sound: Sound, refined: Refined) -> Swell | None:
    """Return how the level follows a passing; None where too little of one is heard.

    Parameters
    ----------
    sound : Sound
    refined : Refined
        Tells which lines, and about when.
    """
    p = refined.passby
    times, power = _levels(sound, p.source_hz, refined.harmonics)
    passings = p.heard_passing_s + np.linspace(-EARLIER_S, EARLIER_S, 2 * STEPS + 1)
    best = _best(times, power, passings, CROSSINGS_S)
    half_s, ratio = EARLIER_S / STEPS, CROSSINGS_S[1] / CROSSINGS_S[0]
    for _ in range(HALVINGS):
        if best is None:
            return None
        half_s, ratio = half_s / 2.0, math.sqrt(ratio)
        # the best so far is among them
        _, passing, crossing = best
        around = [c for c in crossing * ratio ** np.arange(-1, 2) if c <= CROSSINGS_S[-1]]
        best = _best(times, power, passing + half_s * np.arange(-1, 2), around)
    return None if best is None else best[0]


def _best(
    times: FloatArray, power: FloatArray, passings: Iterable[float], crossings: Iterable[float]
) -> tuple[Swell, float, float] | None:
    """Return the swell that follows best, its passing (s) and crossing time (s)."""
    best: tuple[Swell, float, float] | None = None
    for passing, crossing in product(passings, crossings):
        use = np.abs(times - passing) < REACH * crossing
        if np.count_nonzero(use) < LEAST_FRAMES:
            continue
        one = _fitted(times[use], power[use], passing, crossing)
        if one is not None and (best is None or one.correlation > best[0].correlation):
            best = one, passing, crossing
    return best


def _levels(
    sound: Sound, pitch_hz: float, harmonics: tuple[int, ...]
) -> tuple[FloatArray, FloatArray]:
    """Return frames' times (s) and their power between the lines, shape (n_frames,) each."""
    n = int(FRAME_S * sound.rate_hz)
    frames = sound.samples[: sound.samples.size // n * n].reshape(-1, n)
    spectrum = np.abs(fft.rfft(frames * np.hanning(n).astype(np.float32), axis=1)) ** 2
    f = fft.rfftfreq(n, 1.0 / sound.rate_hz)
    high = ABOVE * max(LINES, *harmonics) * pitch_hz
    band = (f > BELOW * min(harmonics) * pitch_hz) & (f < high)
    power = np.sum(spectrum[:, band], axis=1, dtype=np.float64)
    times = sound.start_s + (np.arange(power.size) + 0.5) * n / sound.rate_hz
    return np.asarray(times), np.asarray(power)


def _fitted(times: FloatArray, power: FloatArray, passing: float, crossing: float) -> Swell | None:
    """Return the swell about a passing, None for a level that cannot be told."""
    at = (times - passing) / crossing
    near, far = np.abs(at) < 0.5, np.abs(at) > AWAY
    sides = (far & (at < 0), far & (at > 0))
    if min(np.count_nonzero(near), *map(np.count_nonzero, sides)) < 2 or power.min() <= 0.0:
        return None
    design = np.column_stack([1.0 / (1.0 + at * at), np.ones(at.size)])
    model = np.full(at.size, power.mean())
    for _ in range(TURNS):
        # errors are shares of the level
        size = np.linalg.lstsq(design / model[:, None], power / model, rcond=None)[0]
        model = design @ np.maximum(size, (1e-9 * power.max(), 1e-3 * power.min()))
    stray = np.log(power / model)
    if np.std(model) < 1e-6 * model.mean():
        return None
    db = 10.0 / math.log(10.0)
    here, before, after = (float(np.median(np.log(power[s]))) * db for s in (near, *sides))
    return Swell(
        float(np.corrcoef(np.log(power), np.log(model))[0, 1]),
        db * float(np.log(model.max() / model.min())),
        db * float(np.std(stray)),
        here - before,
        here - after,
    )
