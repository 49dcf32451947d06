"""The spectrogram with what was followed, fitted, expected and read drawn over it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET as QUIET_JOB
from wayside.jobs import Job
from wayside.measure.result import Measurement
from wayside.report.curves import Curve, PlotData
from wayside.report.figures.axes import Axes
from wayside.report.figures.canvas import (
    DASH,
    HAND,
    INK,
    PAPER,
    QUIET,
    SOUND,
    TEXT_SIZE,
    UNITS_A_MM,
    Canvas,
    Figure,
    plain,
)
from wayside.report.figures.png import data_url, grey_png
from wayside.sound.ink import ink_shares, level_range
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture, PictureRequest, draw, sharpest_window_s

DOTS_PER_INCH = 300.0
COVERAGE = 2.0
"""Bands are 95 % intervals, k = 2 (JCGM 100, 6.3)."""

_HEIGHT, _TOP, _PLOT_HEIGHT = 398.0, 34.0, 316.0
_PLOT_WIDTH = 600.0
_STRETCH = 1.08  # figures may be printed this much wider than drawn
_SHADES = 48
_DARKEST = 42
_WHOLE_HIGH_HZ = 2500.0
_RING_TRACK = 160


@dataclass(frozen=True)
class Reading:
    """One reading window (s) and what to call it."""

    start_s: float
    stop_s: float
    name: str


def request_for(recording: Recording, measurement: Measurement | None) -> PictureRequest:
    """Return what to draw: the pass-by with room around it, or the whole recording.

    The picture has at least `DOTS_PER_INCH` at the size of the figure.
    """
    columns = math.ceil(_PLOT_WIDTH * _STRETCH / UNITS_A_MM / 25.4 * DOTS_PER_INCH)
    rows = math.ceil(_PLOT_HEIGHT * _STRETCH / UNITS_A_MM / 25.4 * DOTS_PER_INCH)
    start, stop = recording.start_s, recording.start_s + recording.duration_s
    fit = measurement.fit if measurement is not None else None
    if measurement is None or fit is None:
        high = min(_WHOLE_HIGH_HZ, 0.5 * recording.rate_hz)
        return PictureRequest(start, stop, 0.0, high, columns, rows, 0.06)
    p = fit.passby
    margin = 0.05 * (measurement.stop_s - measurement.start_s)
    start = max(start, measurement.start_s - margin)
    stop = min(stop, measurement.stop_s + margin)
    t = np.linspace(measurement.start_s, measurement.stop_s, 2001)
    pitch = p.pitch(t)
    slope = float(np.max(np.abs(np.gradient(pitch, t))))
    drop = float(np.max(pitch) - np.min(pitch))
    room = max(0.7 * drop, 0.03 * float(np.max(pitch)))
    low = max(0.0, float(np.min(pitch)) - room)
    high = min(float(np.max(pitch)) + room, 0.5 * recording.rate_hz)
    return PictureRequest(start, stop, low, high, columns, rows, sharpest_window_s(slope))


def draw_for(
    recording: Recording, measurement: Measurement | None, job: Job = QUIET_JOB
) -> Picture:
    """Draw the picture that belongs into the figure."""
    return draw(recording, request_for(recording, measurement), job)


def spectrogram_figure(
    picture: Picture,
    data: PlotData | None,
    readings: tuple[Reading, ...] = (),
    crossings: tuple[tuple[float, str], ...] = (),
    name: str = "spectrogram",
) -> Figure:
    """Return the figure.

    Parameters
    ----------
    picture : Picture
    data : PlotData or None
        Curves to draw; None leaves the picture bare, with a grid for reading it by eye.
    readings : tuple of Reading
        Reading windows.
    crossings : tuple of (time, name)
        When markers were crossed (s).
    name : str
        File name without its ending.
    """
    r = picture.request
    canvas = Canvas(name, _HEIGHT)
    axes = Axes.across(canvas, _TOP, _PLOT_HEIGHT, (r.start_s, r.stop_s), (r.low_hz, r.high_hz))
    url = data_url(grey_png(shades_of(picture), DOTS_PER_INCH))
    canvas.picture(axes.left, axes.top, axes.width, axes.height, url)
    if data is None:
        axes.grid((16, 12))
    for reading in readings:
        _reading(axes, reading)
    for k, (time, mark) in enumerate(crossings):
        _crossing(axes, time, mark, 15.0 + 17.0 * k)
    if data is not None:
        _curves(axes, data)
        _legend(axes, data)
    axes.draw("time (s)", "pitch (Hz)", (9, 7) if data is not None else (16, 12))
    return canvas.done("Spectrogram of the recording", _description(picture, data, bool(readings)))


def shades_of(picture: Picture) -> npt.NDArray[np.uint8]:
    """Return the picture in shades of grey, row 0 on top, paper white."""
    share = ink_shares(*level_range(picture))
    steps = np.rint(share * (_SHADES - 1)) / (_SHADES - 1)
    shade = np.rint(255.0 - steps * (255.0 - _DARKEST)).astype(np.uint8)
    return np.ascontiguousarray(shade[picture.levels[::-1]])


def _curves(axes: Axes, data: PlotData) -> None:
    track = data.track
    every = max(1, len(track) // _RING_TRACK)
    for point in axes.points(track.times_s[::every], track.pitch_hz[::every]):
        axes.canvas.dot(point, 2.6, SOUND, hollow=True)
    _curve(axes, data.fit, SOUND, "")
    _curve(axes, data.expected, HAND, DASH)


def _curve(axes: Axes, curve: Curve, colour: str, dash: str) -> None:
    if not len(curve):
        return
    u = curve.u_hz
    if np.all(np.isfinite(u)):
        low, high = curve.pitch_hz - COVERAGE * u, curve.pitch_hz + COVERAGE * u
        axes.canvas.area(axes.band(curve.times_s, low, high), colour, 0.16)
    points = axes.points(curve.times_s, curve.pitch_hz)
    axes.canvas.path(points, PAPER, 4.6)
    axes.canvas.path(points, colour, 2.2, dash)


def _reading(axes: Axes, reading: Reading) -> None:
    (left, top), (right, _) = (axes.at(t, axes.y[1]) for t in (reading.start_s, reading.stop_s))
    bottom = axes.top + axes.height
    axes.canvas.box(left, top, right - left, axes.height, SOUND, opacity=0.07)
    for x in (left, right):
        axes.canvas.line((x, top), (x, bottom), SOUND, 1.2)
    axes.canvas.words((left + 4, bottom - 6), reading.name, SOUND)


def _crossing(axes: Axes, time: float, name: str, down: float) -> None:
    if not axes.x[0] <= time <= axes.x[1]:
        return
    x, top = axes.at(time, axes.y[1])
    axes.canvas.line((x, top), (x, top + axes.height), HAND, 1.4, DASH)
    axes.canvas.words((x + 4, top + down), name, HAND)


def _legend(axes: Axes, data: PlotData) -> None:
    x, y = axes.left, axes.top - 12
    for curve, colour, dash, text in (
        (data.track, SOUND, "dots", "pitch followed"),
        (data.fit, SOUND, "", "fit, by sound"),
        (data.expected, HAND, DASH, "expected, by hand"),
    ):
        if not len(curve):
            continue
        if dash == "dots":
            for k in (4.0, 14.0, 24.0):
                axes.canvas.dot((x + k, y), 2.6, colour, hollow=True)
        else:
            axes.canvas.line((x, y), (x + 30, y), colour, 2.4, dash)
        axes.canvas.words((x + 36, y + 0.35 * TEXT_SIZE), text, INK)
        x += 36 + 0.62 * TEXT_SIZE * len(text) + 20
    axes.canvas.words((axes.left + axes.width, y + 0.35 * TEXT_SIZE), "bands: 95 %", QUIET, "end")


def _description(picture: Picture, data: PlotData | None, windows: bool) -> str:
    r = picture.request
    head = (
        f"Time runs from {plain(round(r.start_s, 2))} to {plain(round(r.stop_s, 2))} s to the "
        f"right, pitch from {r.low_hz:.0f} to {r.high_hz:.0f} Hz upwards; loud sound is dark."
    )
    parts = [head]
    if data is not None and len(data.fit):
        p = data.fit.pitch_hz
        parts.append(
            f"The fitted pitch falls from {p[0]:.1f} to {p[-1]:.1f} Hz along the solid blue line."
        )
    if data is not None and len(data.expected):
        p = data.expected.pitch_hz
        parts.append(
            f"The dashed orange line, expected by hand, falls from {p[0]:.1f} to {p[-1]:.1f} Hz."
        )
    if windows:
        parts.append("Shaded strips are the reading windows.")
    return " ".join(parts)
