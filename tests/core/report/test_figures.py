"""Figures say what the numbers say: places are turned back into values, pictures decoded."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree.ElementTree import Element, fromstring

import av
import numpy as np
import pytest
from tests.core.report.made import material, rows, setup_of

from wayside.hand.entry import Entry
from wayside.quantity import Quantity
from wayside.report.curves import plot_data
from wayside.report.figures.agreement import agreement_figure
from wayside.report.figures.canvas import HAND, INK, SOUND, UNITS_A_MM, Figure, nice_step, ticks
from wayside.report.figures.class_speeds import class_figure
from wayside.report.figures.png import grey_png
from wayside.report.figures.residuals import residuals_figure
from wayside.report.figures.spectrogram import shades_of, spectrogram_figure
from wayside.report.figures.track import track_figure

SVG = "{http://www.w3.org/2000/svg}"


def spectrogram() -> Figure:
    m = material()
    assert m.picture is not None
    return spectrogram_figure(m.picture, plot_data(m.measurement, m.prediction))


def elements(figure: Figure, name: str) -> list[Element]:
    # from the file, so that what is checked is what a reader gets
    return list(fromstring(figure.as_file()).iter(SVG + name))


def points(element: Element) -> np.ndarray:
    pairs = [p.split(",") for p in element.get("points", "").split()]
    return np.array(pairs, dtype=float)


def test_a_png_is_read_back_by_another_decoder() -> None:
    rng = np.random.default_rng(3)
    shades = rng.integers(0, 256, (37, 53), dtype=np.uint8)
    with av.open(io.BytesIO(grey_png(shades, 300.0))) as file:
        frame = next(file.decode(video=0))
    assert np.array_equal(frame.to_ndarray(format="gray"), shades)


def test_spectrogram_has_at_least_300_dots_an_inch_on_paper() -> None:
    figure = spectrogram()
    (image,) = elements(figure, "image")
    data = base64.b64decode(image.get("{http://www.w3.org/1999/xlink}href", "").split(",")[1])
    columns, rows_ = (int.from_bytes(data[at : at + 4]) for at in (16, 20))
    # the page is 178 mm wide between its margins, the figure fills it
    wide = float(image.get("width", "")) / UNITS_A_MM / 25.4 * (178.0 / 170.0)
    high = float(image.get("height", "")) / UNITS_A_MM / 25.4 * (178.0 / 170.0)
    assert columns / wide >= 300.0
    assert rows_ / high >= 300.0


def test_loud_is_dark_and_low_pitch_is_at_the_foot() -> None:
    m = material()
    assert m.picture is not None
    r, shades = m.picture.request, shades_of(m.picture)
    assert m.measurement is not None
    assert m.measurement.fit is not None
    p = m.measurement.fit.passby
    for t in (1.0, 4.1, 7.0):
        column = int((t - r.start_s) / (r.stop_s - r.start_s) * shades.shape[1])
        darkest = int(np.argmin(shades[:, column]))
        share = 1.0 - (darkest + 0.5) / shades.shape[0]
        pitch = r.low_hz + share * (r.high_hz - r.low_hz)
        assert pitch == pytest.approx(float(p.pitch(t)), abs=0.06 * (r.high_hz - r.low_hz))


@pytest.mark.parametrize(("colour", "which"), [(SOUND, "fit"), (HAND, "expected")])
def test_curves_lie_where_their_numbers_say(colour: str, which: str) -> None:
    figure = spectrogram()
    m = material()
    assert m.picture is not None
    r = m.picture.request
    (image,) = elements(figure, "image")
    x, y, w, h = (float(image.get(k, "")) for k in ("x", "y", "width", "height"))
    (line,) = (e for e in elements(figure, "polyline") if e.get("stroke") == colour)
    places = points(line)
    times = r.start_s + (places[:, 0] - x) / w * (r.stop_s - r.start_s)
    pitch = r.high_hz - (places[:, 1] - y) / h * (r.high_hz - r.low_hz)
    curve = getattr(plot_data(m.measurement, m.prediction), which)
    expected = np.interp(times, curve.times_s, curve.pitch_hz)
    unit = (r.high_hz - r.low_hz) / h
    assert np.max(np.abs(pitch - expected)) < 0.5 * unit
    assert bool(line.get("stroke-dasharray")) == (which == "expected")


def test_track_is_drawn_to_one_scale() -> None:
    setup = setup_of()
    figure = track_figure(setup, Quantity(2.2, 0.1, "m"))
    assert figure is not None
    lines = elements(figure, "line")
    posts = [e for e in lines if e.get("stroke-width") == "4"]
    marks = sorted(float(e.get("x1", "")) for e in posts)
    scale = (marks[1] - marks[0]) / 6.1
    down = {
        e.get("stroke"): float(e.get("y2", "")) - float(e.get("y1", ""))
        for e in lines
        if e.get("x1") == e.get("x2") and e.get("stroke-width") == "1.4"
    }
    assert down[HAND] / scale == pytest.approx(2.4, rel=0.01)
    assert down[SOUND] / scale == pytest.approx(2.2, rel=0.01)
    (bar,) = (e for e in lines if e.get("stroke-width") == "3")
    label = next(
        e.text
        for e in elements(figure, "text")
        if e.get("fill") == INK and re.fullmatch(r"[\d.]+ m", e.text or "")
    )
    length = float(bar.get("x2", "")) - float(bar.get("x1", ""))
    assert label is not None
    assert length / scale == pytest.approx(float(label.split()[0]), rel=0.01)


def test_a_measured_place_of_the_microphone_is_kept() -> None:
    setup = setup_of().with_entry("microphone.position", Entry(1.5, "m", 0.05))
    figure = track_figure(setup, None)
    assert figure is not None
    posts = sorted(
        float(e.get("x1", "")) for e in elements(figure, "line") if e.get("stroke-width") == "4"
    )
    (ring,) = elements(figure, "circle")
    share = (float(ring.get("cx", "")) + 4.0 - posts[0]) / (posts[1] - posts[0])
    assert share * 6.1 == pytest.approx(1.5, abs=0.02)
    assert "half-way" not in figure.as_file().decode()


def test_residuals_stand_where_their_numbers_say() -> None:
    m = material()
    data = plot_data(m.measurement)
    figure = residuals_figure(data, (0.0, 8.0))
    assert figure is not None
    dots = elements(figure, "circle")
    assert len(dots) == data.residual_times_s.size
    frame = next(e for e in elements(figure, "rect") if e.get("fill") == "none")
    x, w = float(frame.get("x", "")), float(frame.get("width", ""))
    times = np.array([(float(d.get("cx", "")) - x) / w * 8.0 for d in dots])
    assert np.max(np.abs(times - data.residual_times_s)) < 0.01
    heights = np.array([float(d.get("cy", "")) for d in dots])
    order = np.argsort(data.residual_cents)
    assert np.all(np.diff(heights[order]) <= 0.011)


def test_bars_of_hand_and_sound_overlap_where_they_agree() -> None:
    c = material().comparison
    assert c is not None
    figure = agreement_figure(c.rows)
    assert figure is not None
    boxes = [e for e in elements(figure, "rect") if e.get("fill") in (HAND, SOUND)][2:]
    assert len(boxes) == 8
    for hand, sound in zip(boxes[::2], boxes[1::2], strict=True):
        (a, b), (d, e) = (
            (float(k.get("x", "")), float(k.get("x", "")) + float(k.get("width", "")))
            for k in (hand, sound)
        )
        assert a < e
        assert d < b
    assert agreement_figure(()) is None


def test_class_figure_orders_runs_as_they_came() -> None:
    figure = class_figure(rows(), None)
    assert figure is not None
    names = [e.text for e in elements(figure, "text") if e.get("text-anchor") == "end"]
    assert names == ["one", "two", "three"]
    dots = [e for e in elements(figure, "circle") if e.get("fill") == SOUND][1:]
    # each invented run is 0.05 m/s faster than the one before
    places = [float(d.get("cx", "")) for d in dots]
    steps = [b - a for a, b in pairwise(places)]
    assert steps[0] == pytest.approx(steps[1], abs=0.02)
    assert steps[0] > 0
    assert class_figure(rows()[:1], None) is None


def test_no_figure_of_what_is_not_there() -> None:
    m = material()
    assert m.setup is not None
    empty = plot_data(None)
    assert len(empty.track) == len(empty.fit) == len(empty.expected) == 0
    assert residuals_figure(empty, (0.0, 1.0)) is None
    assert m.picture is not None
    bare = spectrogram_figure(m.picture, None)
    assert not elements(bare, "polyline")
    found = replace(m, measurement=None)
    assert found.measurement is None


@pytest.mark.parametrize(
    ("low", "high", "about"), [(0.0, 6.0, 9), (232.7, 304.4, 7), (-13.2, 14.9, 5), (1e-7, 9e-7, 6)]
)
def test_ticks_are_round_and_within(low: float, high: float, about: int) -> None:
    found = ticks(low, high, about)
    step = nice_step(high - low, about)
    assert 2 <= len(found) <= about + 2
    assert all(low - 1e-9 * step <= t <= high + 1e-9 * step for t in found)
    mantissa = float(f"{step:e}".split("e")[0])
    assert mantissa == pytest.approx(round(mantissa))
    assert round(mantissa) in (1, 2, 5)
