"""Two channels brought together as they would be heard midway between the microphones.

A sound that reaches one microphone before the other adds up in the mean of both to more or less,
and its phase jumps where it cancels: at 3 kHz and a hand's breadth apart twice in a passing. Read
half the lag later in one channel and half the lag earlier in the other, both hear the source as
from midway. An error in the lag then turns the two against each other, and leaves the phase of
their sum alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.swing import Swing, direction_of
from wayside.physics.passby import PassBy
from wayside.sound.interpolate import read_at
from wayside.sound.recording import Recording

F32 = npt.NDArray[np.float32]

# samples between two looks at whether to go on
AT_ONCE = 1 << 16


@dataclass(frozen=True)
class Midway:
    """How two channels are brought together.

    Parameters
    ----------
    passby : PassBy
        The passing that the lag goes with.
    swing : Swing
        The lag between the channels.
    weights : tuple of float
        Share of each channel in the sum, negative for one of opposite sign.
    """

    passby: PassBy
    swing: Swing
    weights: tuple[float, float]

    def mono(self, recording: Recording, first: int, last: int, job: Job = QUIET) -> F32:
        """Return samples `first` to `last` of the sum of the first two channels, shape (n,).

        Raises
        ------
        Cancelled
            If the job was stopped.
        """
        out = np.empty(max(0, last - first), np.float32)
        for low in range(first, last, AT_ONCE):
            job.check()
            high = min(last, low + AT_ONCE)
            out[low - first : high - first] = self._part(recording, low, high)
        return out

    def _part(self, recording: Recording, first: int, last: int) -> F32:
        times = recording.start_s + np.arange(first, last) / recording.rate_hz
        p = self.passby
        direction = direction_of(p, times)
        half = 0.5 * self.swing.lag_s(direction)
        sound_s = p.distance(p.emission_time(times)) / p.sound_speed_mps
        later = times + self.swing.later_s(direction, sound_s)
        out = np.zeros(times.size, np.float32)
        for channel, (sign, weight) in enumerate(zip((1.0, -1.0), self.weights, strict=True)):
            # what is added changes by far less than a sample from one to the next: times rise
            heard = read_at(recording, later + sign * half, channels=(channel,))
            out += np.float32(weight) * heard[:, 0]
        return out
