"""What can be listened to, made ready to play: soft ends, a stated peak, matched loudness."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import signal

from wayside.compare.expected import expected_passby
from wayside.errors import InputError
from wayside.hand.predict import Prediction
from wayside.jobs import QUIET, Job
from wayside.listen.rider import limited, rider_sound_of
from wayside.listen.tones import F32, alternate, matched_tone, pass_sound, safe, softened, together
from wayside.measure.result import Measurement
from wayside.sound.recording import Recording

RECORDING, TONE, TURNS, BOTH, RIDER, PASS = (
    "recording",
    "tone",
    "turns",
    "both",
    "rider",
    "pass",
)
KINDS = (RECORDING, TONE, TURNS, BOTH, RIDER, PASS)

LONGEST_S = 120.0
HIGHEST_RATE_HZ = 48_000.0
_SHORTEST_S = 0.05


@dataclass(frozen=True)
class Wish:
    """What to listen to.

    Parameters
    ----------
    kind : str
        One of `KINDS`: the recording, the predicted tone, both turn about or at once, the
        rider's frame, or the predicted pass-by.
    start_s, stop_s : float
        Stretch of the recording's clock (s); cut to the recording and to `LONGEST_S`.
    side : str
        ``"approach"``, ``"recede"`` or ``""``: which far pitch stands for the predicted one
        while no curve was fitted.
    """

    kind: str
    start_s: float
    stop_s: float
    side: str = ""


@dataclass(frozen=True)
class Programme:
    """Sound ready to play.

    Parameters
    ----------
    samples : ndarray, shape (n,)
        float32, peak at most -12 dB of full scale, soft at both ends.
    rate_hz : float
        At most `HIGHEST_RATE_HZ`.
    start_s : float or None
        Where it starts on the recording's clock (s); None when it does not run along with it.
    pitch_hz : float or None
        The predicted pitch that is heard, if one is.
    """

    samples: F32
    rate_hz: float
    start_s: float | None
    pitch_hz: float | None = None


def prepare(
    wish: Wish,
    recording: Recording | None,
    measurement: Measurement | None,
    prediction: Prediction | None,
    job: Job = QUIET,
) -> Programme:
    """Make a wish ready to play.

    Raises
    ------
    InputError
        With one sentence on what is missing.
    Cancelled
        If the job was stopped.
    """
    if recording is None:
        raise InputError("There is no recording to listen to yet; open one.")
    start, stop = _cut(wish, recording)
    job.step(0.1, "Making the sound ready")
    if wish.kind == RIDER:
        return _rider(recording, measurement, job)
    rate = recording.rate_hz
    recorded = _stretch(recording, start, stop)
    pitch = None
    if wish.kind == RECORDING:
        sound = safe(softened(recorded, rate))
    elif wish.kind == PASS:
        sound = _pass(measurement, prediction, start, stop, rate)
    else:
        pitch = predicted_pitch(wish, measurement, prediction)
        tone = matched_tone(recorded, rate, pitch)
        sound = {
            TONE: lambda: tone,
            TURNS: lambda: alternate(recorded, tone, rate),
            BOTH: lambda: together(recorded, tone, rate),
        }[wish.kind]()
    along = start if wish.kind != TURNS else None
    sound, rate = _playable(sound, rate)
    return Programme(sound, rate, along, pitch)


def predicted_pitch(
    wish: Wish, measurement: Measurement | None, prediction: Prediction | None
) -> float:
    """Return the pitch expected in a stretch (Hz): the mean of the predicted curve there.

    Without a fitted curve it is the far pitch of the wish's side.
    """
    if prediction is None:
        raise InputError("There is no prediction to listen to yet; complete the form.")
    fit = measurement.fit if measurement is not None else None
    if fit is not None:
        times = np.linspace(wish.start_s, wish.stop_s, 50)
        return float(np.mean(expected_passby(prediction, fit).pitch(times)))
    if wish.side:
        side = prediction.approach_hz if wish.side == "approach" else prediction.recede_hz
        return side.value
    return prediction.source_hz.value


def _cut(wish: Wish, recording: Recording) -> tuple[float, float]:
    if wish.kind not in KINDS or not math.isfinite(wish.start_s + wish.stop_s):
        raise InputError("It is not clear what to listen to; choose again.")
    start = max(wish.start_s, recording.start_s)
    stop = min(wish.stop_s, recording.start_s + recording.duration_s, start + LONGEST_S)
    if stop - start < _SHORTEST_S:
        raise InputError("There is no sound at that place; choose a longer stretch.")
    return start, stop


def _stretch(recording: Recording, start_s: float, stop_s: float) -> F32:
    first = round((start_s - recording.start_s) * recording.rate_hz)
    last = round((stop_s - recording.start_s) * recording.rate_hz)
    return np.asarray(np.nan_to_num(recording.mono(first, last)), dtype=np.float32)


def _rider(recording: Recording, measurement: Measurement | None, job: Job) -> Programme:
    if measurement is None or measurement.fit is None:
        raise InputError("What the rider heard is known only once a pass-by was found.")
    rider = limited(rider_sound_of(recording, measurement), job)
    sound = rider.sound.mono(0, round(LONGEST_S * rider.sound.rate_hz))
    samples, rate = _playable(safe(softened(sound, rider.sound.rate_hz)), rider.sound.rate_hz)
    return Programme(samples, rate, None)


def _pass(
    measurement: Measurement | None,
    prediction: Prediction | None,
    start: float,
    stop: float,
    rate: float,
) -> F32:
    if prediction is None:
        raise InputError("There is no prediction to listen to yet; complete the form.")
    if measurement is None or measurement.fit is None:
        raise InputError("When the source passes is known only once a pass-by was found.")
    return pass_sound(expected_passby(prediction, measurement.fit), start, stop, rate)


def _playable(sound: F32, rate_hz: float) -> tuple[F32, float]:
    """Return the sound at a rate every sound card takes."""
    if rate_hz <= HIGHEST_RATE_HZ:
        return sound, rate_hz
    factor = math.ceil(rate_hz / HIGHEST_RATE_HZ)
    lower = signal.resample_poly(sound, 1, factor)
    return safe(np.asarray(lower, dtype=np.float32)), rate_hz / factor
