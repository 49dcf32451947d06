"""Tones to set beside a recording: predicted pitches, turn about or together, and whole passes.

Every function returns float32 sound of shape (n,) that starts and ends softly and whose peak
stays at or below a stated level, -12 dB of full scale unless told otherwise.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.physics.passby import PassBy

F32 = npt.NDArray[np.float32]
Sound = npt.NDArray[np.float32] | npt.NDArray[np.float64]

PEAK_DBFS = -12.0
RAMP_S = 0.03
LONGEST_S = 120.0


def softened(sound: Sound, rate_hz: float, ramp_s: float = RAMP_S) -> F32:
    """Return the sound, shape (n,), with a raised-cosine ramp at both ends.

    Each ramp lasts `ramp_s` (s), or half the sound where that is shorter.
    """
    out = np.array(sound, dtype=np.float32)
    n = min(out.size // 2, max(1, round(ramp_s * rate_hz)))
    ramp = np.sin(0.5 * np.pi * np.arange(n) / max(n, 1)).astype(np.float32) ** 2
    out[:n] *= ramp
    out[out.size - n :] *= ramp[::-1]
    return out


def safe(sound: Sound, peak_dbfs: float = PEAK_DBFS) -> F32:
    """Return the sound turned down as a whole, never up, so that its peak is at most that.

    Raises
    ------
    InputError
        If `peak_dbfs` is above full scale.
    """
    if not peak_dbfs <= 0.0:
        raise InputError(f"A peak of {peak_dbfs:g} dB is above full scale; give 0 dB or less.")
    most = 10.0 ** (peak_dbfs / 20.0)
    peak = float(np.max(np.abs(sound), initial=0.0))
    # a hair below, so that rounding to float32 cannot pass the limit
    factor = most * (1.0 - 1e-6) / peak if peak > most else 1.0
    return np.asarray(sound * factor, dtype=np.float32)


def rms(sound: Sound) -> float:
    """Return the root mean square of a sound (0 for no samples)."""
    return float(np.sqrt(np.mean(np.square(sound, dtype=np.float64)))) if sound.size else 0.0


def tone(
    pitch_hz: float,
    duration_s: float,
    rate_hz: float,
    harmonics: tuple[float, ...] = (1.0,),
    level_rms: float = 0.05,
    peak_dbfs: float = PEAK_DBFS,
) -> F32:
    """Return a steady tone.

    Parameters
    ----------
    pitch_hz, duration_s, rate_hz : float
        Pitch of harmonic 1 (Hz), length (s), sample rate (Hz).
    harmonics : tuple of float
        Relative amplitudes of harmonic 1, 2, 3 …; those above half the sample rate are left
        out.
    level_rms : float
        Root mean square of the tone, ramps apart; less where the peak would pass the limit.
    peak_dbfs : float
        Highest peak (dB of full scale).

    Raises
    ------
    InputError
        If the pitch cannot be played at that rate or the length makes no sense.
    """
    _check_pitch(pitch_hz, rate_hz)
    n = _count(duration_s, rate_hz)
    cycles = np.arange(n, dtype=np.float64) * (pitch_hz / rate_hz)
    return _levelled(_voiced(cycles, pitch_hz, rate_hz, harmonics), rate_hz, level_rms, peak_dbfs)


def matched_tone(
    recorded: Sound,
    rate_hz: float,
    pitch_hz: float,
    harmonics: tuple[float, ...] = (1.0,),
    peak_dbfs: float = PEAK_DBFS,
) -> F32:
    """Return a tone as long as a stretch of recording, shape (n,), and as loud by its RMS."""
    duration = recorded.size / rate_hz
    return tone(pitch_hz, duration, rate_hz, harmonics, rms(recorded), peak_dbfs)


def alternate(
    recorded: Sound,
    predicted: Sound,
    rate_hz: float,
    turn_s: float = 0.8,
    pause_s: float = 0.08,
    peak_dbfs: float = PEAK_DBFS,
) -> F32:
    """Return recorded and predicted sound turn about, equally loud, each with soft ends.

    Parameters
    ----------
    recorded, predicted : ndarray, shape (n,)
        The same stretch of time; the longer one is cut.
    rate_hz : float
    turn_s, pause_s : float
        Length of a turn and of the silence after it (s). Every turn is heard first recorded,
        then predicted.
    peak_dbfs : float
        Highest peak (dB of full scale).
    """
    recorded, predicted = _matched(recorded, predicted)
    turn = max(1, round(turn_s * rate_hz))
    pause = np.zeros(max(0, round(pause_s * rate_hz)), dtype=np.float32)
    parts: list[F32] = []
    for first in range(0, recorded.size, turn):
        for sound in (recorded, predicted):
            parts += [softened(sound[first : first + turn], rate_hz), pause]
    return safe(np.concatenate(parts), peak_dbfs)


def together(
    recorded: Sound, predicted: Sound, rate_hz: float, peak_dbfs: float = PEAK_DBFS
) -> F32:
    """Return both at once, equally loud: pitches a few hertz apart beat at their difference."""
    recorded, predicted = _matched(recorded, predicted)
    return safe(softened(recorded + predicted, rate_hz), peak_dbfs)


def pass_sound(
    passby: PassBy,
    start_s: float,
    stop_s: float,
    rate_hz: float,
    harmonics: tuple[float, ...] = (1.0,),
    level_rms: float = 0.05,
    peak_dbfs: float = PEAK_DBFS,
) -> F32:
    """Return the sound of a predicted pass-by: gliding pitch, and level falling as d/r.

    Parameters
    ----------
    passby : PassBy
        Motion and pitch.
    start_s, stop_s : float
        Times on the pass-by's clock (s).
    rate_hz : float
        Sample rate (Hz).
    harmonics, level_rms, peak_dbfs
        As for `tone`; `level_rms` is over the whole stretch.
    """
    _check_pitch(passby.approach_hz, rate_hz)
    t = start_s + np.arange(_count(stop_s - start_s, rate_hz)) / rate_hz
    tau = passby.emission_time(t)
    highest = float(np.max(passby.pitch(np.linspace(t[0], t[-1], 200))))
    sound = _voiced(passby.source_phase(tau), highest, rate_hz, harmonics)
    sound *= passby.closest_m / passby.distance(tau)
    return _levelled(sound, rate_hz, level_rms, peak_dbfs)


def _voiced(
    cycles: npt.NDArray[np.float64], highest_hz: float, rate_hz: float, harmonics: tuple[float, ...]
) -> npt.NDArray[np.float64]:
    total = np.zeros(cycles.size)
    for k, amplitude in enumerate(harmonics, start=1):
        if amplitude and k * highest_hz < 0.5 * rate_hz:
            total += amplitude * np.sin(2.0 * np.pi * (k * cycles % 1.0))
    return total


def _levelled(
    sound: npt.NDArray[np.float64], rate_hz: float, level_rms: float, peak_dbfs: float
) -> F32:
    now = rms(sound)
    scaled = sound * (level_rms / now) if now > 0 else sound
    return safe(softened(scaled, rate_hz), peak_dbfs)


def _check_pitch(pitch_hz: float, rate_hz: float) -> None:
    if not 0.0 < pitch_hz < 0.5 * rate_hz:
        raise InputError(
            f"A pitch of {pitch_hz:g} Hz cannot be played at {rate_hz:g} samples a second; "
            f"choose one between 0 and {0.5 * rate_hz:g} Hz."
        )


def _count(duration_s: float, rate_hz: float) -> int:
    if not (math.isfinite(duration_s) and 0.0 < duration_s <= LONGEST_S):
        raise InputError(
            f"A sound of {duration_s:g} s cannot be made; choose a length up to {LONGEST_S:g} s."
        )
    return max(1, round(duration_s * rate_hz))


def _matched(recorded: Sound, predicted: Sound) -> tuple[F32, F32]:
    """Return both cut to the shorter and the second made as loud as the first."""
    n = min(recorded.size, predicted.size)
    if n == 0:
        raise InputError("There is no sound in the stretch chosen; choose a longer one.")
    one = np.asarray(recorded[:n], dtype=np.float32)
    loud, now = rms(one), rms(predicted[:n])
    factor = loud / now if loud > 0 and now > 0 else 1.0
    return one, np.asarray(predicted[:n] * factor, dtype=np.float32)
