"""A glide refined in a recording of two channels, brought together where that pays.

The lag between the channels is read along the glide that was seen, the glide refined in their
sum, and the lag read anew along what came of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.measure.hunt import Sighting, sound_between
from wayside.measure.midway import Midway
from wayside.measure.motion import from_curve
from wayside.measure.refine import Refined, Sound, blocks_of, near_of, refine
from wayside.measure.swing import Swing, direction_of, swing_of
from wayside.physics.passby import PassBy
from wayside.sound.recording import CANCELLED, Recording

ComplexArray = npt.NDArray[np.complex128]

Pair = tuple[Sound, Sound]

SAME_SHARE = 1e-4
MOST_BLOCK_S = 0.03
# two channels are brought together where that explains so much more than their mean does (nats),
# and this share of it
LEAST_NATS, LEAST_SHARE = 10.0, 0.02
# two channels that add up explain all that each does
ADDED_UP = 0.95
# what was refined in a poorer sum is refined again in one that explains so many times as much
BETTER = 1.05


def channels_between(recording: Recording, start_s: float, stop_s: float) -> Pair | None:
    """Return the first two channels between two times; None where they hold one sound."""
    if recording.n_channels < 2:
        return None
    first, last = (
        max(0, round((t - recording.start_s) * recording.rate_hz)) for t in (start_s, stop_s)
    )
    block = np.nan_to_num(recording.read(first, last))
    if not differ(block[:, 0], block[:, 1]):
        return None
    start = recording.start_s + first / recording.rate_hz
    left, right = (
        Sound(np.ascontiguousarray(block[:, i]), recording.rate_hz, start) for i in (0, 1)
    )
    return left, right


def differ(left: npt.NDArray[np.float32], right: npt.NDArray[np.float32]) -> bool:
    """Return False where two channels hold the same sound, or one of them none."""
    both = [float(np.mean(x.astype(np.float64) ** 2)) for x in (left, right)]
    apart = float(np.mean((left - right).astype(np.float64) ** 2))
    return min(both) > SAME_SHARE * max(both) and apart > SAME_SHARE * max(both)


def swing_along(sounds: Pair, p: PassBy, harmonics: tuple[int, ...], job: Job) -> Swing:
    """Return the swing of the lead along a passing."""
    heard = _Heard.along(sounds, p, harmonics, job)
    return swing_of(heard.left, heard.right, p, job)


def refined_in(
    recording: Recording,
    sighting: Sighting,
    ends_s: tuple[float, float],
    c: float,
    job: Job,
    tone: bool,
) -> tuple[Refined, Sound]:
    """Return a glide refined, and the sound about it that it was refined in.

    Parameters
    ----------
    recording : Recording
    sighting : Sighting
    ends_s : tuple of float
        The stretch to keep to (s).
    c : float
        Speed of sound (m/s).
    job : Job
    tone : bool
        Whether it is known to be a tone.

    Raises
    ------
    LostError
        If it leads nowhere.
    """
    seen, comb = sighting.candidate, sighting.comb
    span = float(np.clip(16.0 * seen.s, 4.0, 45.0))
    start, stop = max(ends_s[0], seen.tc - span), min(ends_s[1], seen.tc + span)
    sounds = channels_between(recording, start, stop)
    midway = None
    if sounds is not None:
        p = from_curve(seen.alpha_hz / comb.number, seen.mach, seen.s, seen.tc, c)
        midway = _Heard.along(sounds, p, comb.harmonics, job).midway(job)
    sound = sound_between(recording, start, stop, midway, job)
    refined = refine(sound, seen, comb, c, job, tone)
    if sounds is None:
        return refined, sound
    heard = _Heard.along(sounds, refined.passby, refined.harmonics, job)
    closer = heard.midway(job)
    if closer is None:
        return refined, sound
    sound = sound_between(recording, start, stop, closer, job)
    if heard.explained(closer) > BETTER * heard.explained(midway):
        refined = refine(sound, seen, comb, c, job, tone)
    return refined, sound


@dataclass(frozen=True)
class _Heard:
    """The envelopes in two channels along a passing."""

    p: PassBy
    left: Blocks
    right: Blocks

    @classmethod
    def along(cls, sounds: Pair, p: PassBy, harmonics: tuple[int, ...], job: Job) -> _Heard:
        """Return them in blocks within which the lag stands still."""
        block = float(np.clip(p.closest_m / p.speed_mps / 12.0, 2.5 / p.source_hz, MOST_BLOCK_S))
        each = []
        for sound in sounds:
            job.check()
            each.append(blocks_of(near_of(sound, p), p, harmonics, block))
        return cls(p, *each)

    def midway(self, job: Job) -> Midway | None:
        """Return how they are brought together; None where that does not pay.

        Channels that do not add up may be of opposite sign, as with wires changed over.
        """
        job.check()
        best = self._brought_together(1.0, job)
        if self.explained(best) < ADDED_UP * (self._sum(1.0, 0.0) + self._sum(0.0, 1.0)):
            best = max(best, self._brought_together(-1.0, job), key=self.explained)
        as_heard = self.explained(None)
        pays = self.explained(best) - as_heard > max(LEAST_NATS, LEAST_SHARE * as_heard)
        return best if best.swing.seen and pays else None

    def explained(self, midway: Midway | None) -> float:
        """Return what the sum of both explains (nats), or what is heard without bringing them."""
        if midway is None:
            if self._cancels:
                return max(self._sum(1.0, 0.0), self._sum(0.0, 1.0))
            return self._sum(0.5, 0.5)
        times = self.left.times_s
        lag = midway.swing.lag_s(direction_of(midway.passby, times))
        return self._sum(*midway.weights, np.exp(1j * np.pi * self.p.pitch(times) * lag))

    def _brought_together(self, sign: float, job: Job) -> Midway:
        one, other = self._weights()
        swing = swing_of(self.left, replace(self.right, z=sign * self.right.z), self.p, job)
        return Midway(self.p, swing, (one, sign * other))

    @property
    def _cancels(self) -> bool:
        """Whether the mean of both is that faint that the stronger is heard instead of it."""
        left, right = self.left.z, self.right.z
        mean, *each = (float(np.sum(np.abs(z) ** 2)) for z in (0.5 * (left + right), left, right))
        return mean < CANCELLED * max(each)

    def _sum(self, one: float, other: float, turn: ComplexArray | None = None) -> float:
        """Return what so much of each explains, turned against each other by `turn`, (n,)."""
        left, right = self.left.z, self.right.z
        if turn is not None:
            turned = turn ** self.left.harmonics[:, None]
            left, right = left * turned, right * turned.conj()
        noise = one**2 * self.left.noise + other**2 * self.right.noise
        return float(np.sum(np.abs(one * left + other * right) ** 2 / noise[:, None]))

    def _weights(self) -> tuple[float, float]:
        """Return the shares that make the clearest harmonic stand out best."""
        power = [np.mean(np.abs(b.z) ** 2, axis=1) for b in (self.left, self.right)]
        noise = [b.noise for b in (self.left, self.right)]
        clearest = int(np.argmax(power[0] / noise[0] + power[1] / noise[1]))
        best = [
            float(np.sqrt(max(p[clearest] - n[clearest], 0.0)) / n[clearest])
            for p, n in zip(power, noise, strict=True)
        ]
        total = sum(best)
        return (best[0] / total, best[1] / total) if total > 0 else (0.5, 0.5)
