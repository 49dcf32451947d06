"""The whole job in five lines, for notebooks and scripts.

Sound in, numbers with uncertainties out; every result is a plain frozen value.

>>> from wayside import api as ws
>>> prediction = ws.predict(setup)
>>> measurement = ws.measure(recording, prediction)
>>> comparison = ws.compare(prediction, measurement)
>>> curves = ws.plot_data(measurement, prediction)

Here `setup` is a set-up file and `recording` a sound file or film, for example those that
`sample` makes:

>>> print(f"{prediction.approach_hz.value:.0f} Hz expected")
1263 Hz expected
>>> print(f"{measurement.fit.approach_hz.value:.0f} Hz heard")
1263 Hz heard
>>> comparison.overall
'agree'
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from wayside.compare.result import Comparison
    from wayside.hand.predict import Prediction
    from wayside.hand.setup import Setup
    from wayside.measure.options import MeasureOptions
    from wayside.measure.result import Measurement
    from wayside.report.curves import PlotData
    from wayside.sound.recording import Recording

__all__ = ["compare", "load", "measure", "plot_data", "predict", "sample"]

PathLike: TypeAlias = str | os.PathLike[str]


def load(path: PathLike) -> Recording:
    """Read a recording, or the sound of a film.

    Parameters
    ----------
    path : path
        WAV, FLAC, Ogg, MP3, M4A, MP4, MOV and kin.

    Returns
    -------
    Recording
        ``recording.mono()`` are the samples (full scale 1), ``recording.rate_hz`` the samples a
        second (Hz), ``recording.start_s`` the time of the first (s).

    Raises
    ------
    wayside.errors.MediaError
        If the file cannot be used; the message says why and what to do.

    Examples
    --------
    >>> sound = ws.load(recording)
    >>> round(sound.duration_s, 1)
    6.0
    """
    from wayside.sound.media import load_recording

    return load_recording(path)


def predict(setup: PathLike | Mapping[str, Any] | Setup) -> Prediction:
    """Work out the pitches to expect from hand measurements.

    Parameters
    ----------
    setup : path, mapping or Setup
        A set-up file, its content as a dictionary, or a checked set-up
        (see ``docs/setup-file.md``).

    Returns
    -------
    Prediction
        Results such as ``prediction.speed_mps`` with ``value``, ``u`` (standard uncertainty)
        and ``unit``; ``prediction.steps`` is the worked solution.

    Raises
    ------
    wayside.errors.SetupError
        If an entry is missing, wrong or absurd; the message names it.

    Examples
    --------
    >>> expected = ws.predict({
    ...     "format": "wayside-setup", "version": 1,
    ...     "motion": {"speed": {"value": 35.0, "unit": "m/s", "u": 0.5}},
    ...     "source": {"kind": "tone", "pitch": {"value": 150.0, "unit": "Hz", "u": 0.1}},
    ...     "air": {"formula": "rule-of-thumb", "temperature": {"value": 15, "unit": "°C", "u": 1}},
    ... })
    >>> print(f"{expected.approach_hz.value:.0f} and {expected.recede_hz.value:.0f} Hz")
    167 and 136 Hz
    """
    from wayside.hand.predict import predict as work_out
    from wayside.hand.setup import Setup
    from wayside.hand.setup_file import read_setup
    from wayside.hand.setup_json import setup_from_json

    if isinstance(setup, Setup):
        return work_out(setup)
    if isinstance(setup, Mapping):
        return work_out(setup_from_json(dict(setup)))
    return work_out(read_setup(setup))


def measure(
    recording: Recording | PathLike,
    prediction: Prediction | None = None,
    options: MeasureOptions | None = None,
    **changes: Any,
) -> Measurement:
    """Find and measure the pass-by in a recording.

    Parameters
    ----------
    recording : Recording or path
    prediction : Prediction, optional
        Hands on the air's temperature, the kind of source and the taped distance, so that the
        comparison is fair; never the speed or pitch that are to be tested.
    options : MeasureOptions, optional
        What the measurement is told, instead of what follows from `prediction`.
    **changes
        Single options to change, such as ``start_s=2.0`` or ``band_hz=(200.0, 900.0)``.

    Returns
    -------
    Measurement
        With ``found`` False, and the reason in ``detection.reason``, when the sound does not
        support an answer. ``fit`` holds the results with their uncertainties.

    Raises
    ------
    wayside.errors.InputError
        If the file or an option cannot be used.

    Examples
    --------
    >>> found = ws.measure(recording, prediction, start_s=0.5)
    >>> found.found
    True
    >>> print(f"{found.fit.speed_mps.value:.1f} m/s")
    6.2 m/s
    """
    from wayside.compare.compare import options_for
    from wayside.errors import InputError
    from wayside.measure.options import MeasureOptions
    from wayside.measure.pipeline import measure as find
    from wayside.sound.recording import Recording

    if options is None:
        options = MeasureOptions() if prediction is None else options_for(prediction)
    try:
        options = replace(options, **changes)
    except TypeError:
        known = ", ".join(MeasureOptions.__dataclass_fields__)
        raise InputError(
            f"There is no such option among {', '.join(changes)}; there are {known}."
        ) from None
    sound = recording if isinstance(recording, Recording) else load(recording)
    return find(sound, options)


def compare(
    prediction: Prediction,
    measurement: Measurement,
    harmonic: int = 1,
    closest_used: bool | None = None,
) -> Comparison:
    """Set prediction and measurement side by side.

    Parameters
    ----------
    prediction : Prediction
    measurement : Measurement
        In which a pass-by was found.
    harmonic : int
        Which harmonic of the source was measured, 1 for the fundamental.
    closest_used : bool, optional
        Whether the taped distance went into the measurement, so that finding it again proves
        nothing. By default taken as true wherever there is one.

    Returns
    -------
    Comparison
        ``verdict`` in words, ``rows`` with differences and normalised errors,
        ``explanations`` ranked by how little an entry would have to be off.

    Raises
    ------
    wayside.errors.InputError
        If there is nothing to compare.

    Examples
    --------
    >>> row = ws.compare(prediction, measurement).row("speed_mps")
    >>> row.verdict, abs(row.e_n) <= 1
    ('agree', True)
    """
    from wayside.compare.compare import compare as set_side_by_side

    if closest_used is None:
        closest_used = prediction.closest_m is not None
    return set_side_by_side(prediction, measurement, harmonic, closest_used)


def plot_data(measurement: Measurement, prediction: Prediction | None = None) -> PlotData:
    """Return the curves to draw over a spectrogram, and the residuals below it.

    Parameters
    ----------
    measurement : Measurement
    prediction : Prediction, optional
        Adds the pass-by that the hand expects, set at the passing time that the sound found.

    Returns
    -------
    PlotData
        ``track``, ``fit`` and ``expected``, each with ``times_s`` (s), ``pitch_hz`` (Hz) and
        ``u_hz`` (standard uncertainty, Hz), shape (n,) each and empty where there is no such
        curve; ``residual_times_s`` (s), ``residual_cents`` and ``residual_u_cents``.

    Examples
    --------
    >>> curves = ws.plot_data(measurement, prediction)
    >>> print(f"{curves.fit.pitch_hz[0]:.0f} Hz at {curves.fit.times_s[0]:.1f} s")
    1263 Hz at 0.0 s
    >>> curves.track.times_s.shape == curves.track.u_hz.shape
    True
    """
    from wayside.report.curves import plot_data as curves_of

    return curves_of(measurement, prediction)


def sample(folder: PathLike) -> tuple[Path, Path]:
    """Make the sample in a folder and return where it is.

    Parameters
    ----------
    folder : path
        Made if need be.

    Returns
    -------
    recording, setup : Path
        A rendered pass-by and the hand measurements that belong to it.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     sound, measured = ws.sample(folder)
    ...     print(sound.name, measured.name)
    courtyard-buzzer.flac courtyard-buzzer.setup.json
    """
    from wayside.simulate.bundle import DEMO, make_bundle

    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    bundle = make_bundle(DEMO, place, force=True)
    return bundle.recording, bundle.setup
