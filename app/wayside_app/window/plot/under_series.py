"""What is drawn under the spectrogram, as plain values: points, lines, words and a table twin."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QCoreApplication

from wayside.hand.predict import Prediction
from wayside.measure.result import Fit, Measurement
from wayside.sound.envelope import Envelope
from wayside_app.window import figures

FloatArray = npt.NDArray[np.float64]

NOTHING, LEVEL, WAVE, RESIDUALS, SLOWNESS = "nothing", "level", "wave", "residuals", "slowness"

HAND, SOUND = "hand", "sound"


@dataclass(frozen=True)
class Line:
    """A curve; dashed if it is the hand's."""

    x: FloatArray
    y: FloatArray
    voice: str


@dataclass(frozen=True)
class Points:
    """Points with their standard uncertainties (shape (n,) each, u may be empty)."""

    x: FloatArray
    y: FloatArray
    u: FloatArray
    voice: str


@dataclass(frozen=True)
class Level:
    """A horizontal line with a name."""

    y: float
    name: str
    voice: str


@dataclass(frozen=True)
class Series:
    """Everything of one plot under the spectrogram.

    Parameters
    ----------
    axis : str
        Label of the vertical axis, with unit.
    sentence : str
        Accessible description, one sentence.
    lines, points, levels, fills
        What is drawn; a fill is (x, low, high).
    table : tuple
        (column heads, rows of numbers): the plot's twin.
    """

    axis: str
    sentence: str
    lines: tuple[Line, ...] = ()
    points: tuple[Points, ...] = ()
    levels: tuple[Level, ...] = ()
    fills: tuple[tuple[FloatArray, FloatArray, FloatArray], ...] = ()
    heads: tuple[str, ...] = ()
    columns: tuple[FloatArray, ...] = field(default=())


def level_series(envelope: Envelope) -> Series:
    """Return loudness over time."""
    loudest = int(np.argmax(envelope.level_db))
    return Series(
        _tr("dB"),
        _tr("Level over time, loudest with {db} dB at {time} s.").format(
            db=figures.plain(float(envelope.level_db[loudest]), 1),
            time=figures.plain(float(envelope.times_s[loudest]), 2),
        ),
        lines=(Line(envelope.times_s, envelope.level_db, SOUND),),
        heads=(_tr("time (s)"), _tr("level (dB)")),
        columns=(envelope.times_s, envelope.level_db),
    )


def wave_series(envelope: Envelope) -> Series:
    """Return the waveform's extremes over time."""
    peak = float(np.max(np.abs((envelope.low, envelope.high)), initial=0.0))
    return Series(
        _tr("full scale"),
        _tr("Waveform over time, peak {peak} of full scale.").format(peak=figures.plain(peak, 3)),
        fills=((envelope.times_s, envelope.low, envelope.high),),
        heads=(_tr("time (s)"), _tr("least"), _tr("greatest")),
        columns=(envelope.times_s, envelope.low, envelope.high),
    )


def residual_series(fit: Fit) -> Series:
    """Return track minus fitted curve: flat when the motion was as supposed."""
    cents, u = fit.residual_cents, fit.residual_u_cents
    scatter = float(np.std(cents)) if cents.size else float("nan")
    return Series(
        _tr("cents"),
        _tr("Pitch track minus fitted curve, scattered by {cents} cents.").format(
            cents=figures.plain(scatter, 1)
        ),
        points=(Points(fit.residual_times_s, cents, u, SOUND),),
        levels=(Level(0.0, "", SOUND),),
        heads=(_tr("time (s)"), _tr("track − fit (cents)"), _tr("uncertainty (cents)")),
        columns=(fit.residual_times_s, cents, u),
    )


def slowness_series(
    measurement: Measurement, fit: Fit, prediction: Prediction | None, times: FloatArray
) -> Series:
    """Return 1/f over time: the source's value lies half-way, which is the harmonic mean."""
    fitted = 1e3 / fit.passby.pitch(times)
    high, low = (1e3 / q.value for q in (fit.recede_hz, fit.approach_hz))
    middle = 0.5 * (high + low)
    points: tuple[Points, ...] = ()
    heads, columns = (_tr("time (s)"), _tr("fit 1/f (ms)")), (times, fitted)
    if measurement.track is not None:
        track = measurement.track
        points = (Points(track.times_s, 1e3 / track.pitch_hz, np.empty(0), SOUND),)
    levels = [
        Level(low, _tr("approach"), SOUND),
        Level(
            middle,
            _tr("half-way = source, {hz} Hz").format(hz=figures.plain(1e3 / middle, 1)),
            SOUND,
        ),
        Level(high, _tr("recede"), SOUND),
    ]
    if prediction is not None:
        levels.append(Level(1e3 / prediction.source_hz.value, _tr("source by hand"), HAND))
    return Series(
        _tr("1/f (ms)"),
        _tr(
            "One over pitch against time, from {low} ms to {high} ms; half-way lies the "
            "source's {middle} ms."
        ).format(
            low=figures.plain(low, 4), high=figures.plain(high, 4), middle=figures.plain(middle, 4)
        ),
        lines=(Line(times, fitted, SOUND),),
        points=points,
        levels=tuple(levels),
        heads=heads,
        columns=columns,
    )


def _tr(text: str) -> str:
    return QCoreApplication.translate("UnderPlot", text)
