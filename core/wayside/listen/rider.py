"""What the rider heard: a recording resampled into the source's own time.

Sound emitted at tau is recorded at ``t = tau + r(tau)/c``. Reading the recording at those
times, for tau at even steps, takes the Doppler shift out again; multiplying by r/d takes out
the spreading. At constant speed the pitch is then that of the source throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.sound.interpolate import F32, read_at
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture, PictureRequest, draw

MOST_GAIN_DB = 12.0
PEAK_DBFS = -1.0
MOST_MACH = 0.5
_SCAN_S = 5.0


@dataclass(frozen=True)
class RiderStore:
    """Samples in the source's own time, worked out as they are read.

    Parameters
    ----------
    recording : Recording
    passby : PassBy
        The motion that is taken out.
    rate_hz, start_s : float
        Sample rate (Hz) and emission time (s) of sample 0.
    most_gain : float
        Largest factor by which spreading is made good.
    cutoff : float
        See `wayside.sound.interpolate.kernel`.
    scale : float
        Factor on the whole.
    """

    recording: Recording
    passby: PassBy
    rate_hz: float
    start_s: float
    most_gain: float
    cutoff: float
    scale: float = 1.0

    def read(self, start: int, stop: int) -> F32:
        """Return samples `start` to `stop` as float32, shape (stop - start, n_channels)."""
        tau = self.start_s + np.arange(start, stop) / self.rate_hz
        distance = self.passby.distance(tau)
        heard = tau + distance / self.passby.sound_speed_mps
        gain = self.scale * np.minimum(distance / self.passby.closest_m, self.most_gain)
        sound = read_at(self.recording, heard, self.cutoff)
        sound *= gain.astype(np.float32)[:, None]
        return sound


@dataclass(frozen=True)
class RiderSound:
    """A recording in the source's own time.

    Parameters
    ----------
    sound : Recording
        Its clock is that of the source: `sound.start_s` is an emission time (s).
    passby : PassBy
        The motion that was taken out.
    most_gain_db : float
        Far sound is raised by 20 log10(r/d), at most this much (dB).
    turned_down_db : float
        By how much the whole was then turned down to keep its peak at `PEAK_DBFS` or less
        (dB, >= 0); NaN where the peak was not looked for.
    """

    sound: Recording
    passby: PassBy
    most_gain_db: float
    turned_down_db: float = math.nan

    @property
    def most_gain_m(self) -> float:
        """Distance (m) beyond which the spreading is no longer made good."""
        return self.passby.closest_m * float(10.0 ** (self.most_gain_db / 20.0))


def rider_sound(
    recording: Recording,
    passby: PassBy,
    start_s: float,
    stop_s: float,
    most_gain_db: float = MOST_GAIN_DB,
) -> RiderSound:
    """Return a stretch of a recording in the source's own time; nothing is computed yet.

    Parameters
    ----------
    recording : Recording
    passby : PassBy
        The motion to take out, for example ``measurement.fit.passby``.
    start_s, stop_s : float
        The stretch on the recording's clock (s), cut to the recording.
    most_gain_db : float
        Limit to making good the spreading, so that far noise is not blown up (dB).

    Returns
    -------
    RiderSound
        Its samples are worked out block by block when read; see `limited`.

    Raises
    ------
    InputError
        If the stretch lies outside the recording, or the motion runs away within it.
    """
    first = max(start_s, recording.start_s)
    last = min(stop_s, recording.start_s + recording.duration_s)
    if not last - first > 2.0 / recording.rate_hz:
        raise InputError(
            f"The stretch from {start_s:.3f} s to {stop_s:.3f} s holds no sound of "
            f"“{recording.name}”; choose one within the recording."
        )
    if not (math.isfinite(most_gain_db) and 0.0 <= most_gain_db <= 60.0):
        raise InputError(
            f"The limit to the gain is {most_gain_db:g} dB; give one between 0 and 60 dB."
        )
    ends = passby.emission_time(np.array([first, last]))
    fastest = float(np.max(np.abs(passby.velocity(ends)))) / passby.sound_speed_mps
    if not fastest < MOST_MACH:
        raise InputError(
            f"With its acceleration of {passby.acceleration_mps2:.2g} m/s² the source would move "
            f"at over half the speed of sound within {first:.1f} s to {last:.1f} s; choose a "
            "stretch nearer to the passing."
        )
    rate = round(recording.rate_hz)
    store = RiderStore(
        recording,
        passby,
        rate,
        float(ends[0]),
        float(10.0 ** (most_gain_db / 20.0)),
        recording.rate_hz / rate / (1.0 + fastest),
    )
    count = int((ends[1] - ends[0]) * rate)
    sound = Recording(
        recording.name, float(rate), count, recording.n_channels, store, store.start_s
    )
    return RiderSound(sound, passby, most_gain_db)


def rider_sound_of(
    recording: Recording, measurement: Measurement, most_gain_db: float = MOST_GAIN_DB
) -> RiderSound:
    """Return what the rider heard over the stretch that a measurement used.

    Raises
    ------
    InputError
        If no pass-by was found.
    """
    return rider_sound(
        recording, motion_of(measurement), measurement.start_s, measurement.stop_s, most_gain_db
    )


def motion_of(measurement: Measurement) -> PassBy:
    """Return the fitted motion, or raise `InputError` where no pass-by was found."""
    if measurement.fit is None:
        raise InputError(
            f"There is no pass-by whose motion could be taken out. {measurement.detection.reason}"
        )
    return measurement.fit.passby


def limited(rider: RiderSound, job: Job = QUIET) -> RiderSound:
    """Return the same turned down as a whole so that its peak is at most `PEAK_DBFS`.

    Quiet sound is left as it is. The peak is looked for block by block.

    Raises
    ------
    Cancelled
        If the job was stopped.
    """
    peak = 0.0
    block = int(_SCAN_S * rider.sound.rate_hz)
    for first in range(0, rider.sound.n_samples, block):
        job.step(first / rider.sound.n_samples, "Resampling into the source's own time")
        part = rider.sound.read(first, first + block)
        peak = max(peak, float(np.max(np.abs(part), initial=0.0)))
    most = 10.0 ** (PEAK_DBFS / 20.0)
    scale = min(1.0, most / peak) if peak > 0 else 1.0
    store = rider.sound.store
    assert isinstance(store, RiderStore)
    quieter = replace(store, scale=store.scale * scale)
    return replace(
        rider,
        sound=replace(rider.sound, store=quieter),
        turned_down_db=-20.0 * math.log10(scale),
    )


def straightened(rider: RiderSound, request: PictureRequest, job: Job = QUIET) -> Picture:
    """Draw the spectrogram of what the rider heard; times are in the source's own time.

    Parameters
    ----------
    rider : RiderSound
    request : PictureRequest
        As for `wayside.sound.spectrogram.draw`, with emission times for times.
    job : Job, optional
    """
    return draw(rider.sound, request, job)
