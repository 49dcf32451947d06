"""What the recording says: the fit, the two windows, and what limits them."""

from __future__ import annotations

import math

from wayside.film.times import FrameTimes
from wayside.hand import digits
from wayside.measure.report_text import likely_text
from wayside.measure.result import FITTED, Fit, Measurement, TwoWindow
from wayside.quantity import Quantity
from wayside.report.blocks import (
    QUIET,
    SOUND,
    Block,
    Items,
    Para,
    Section,
    Shown,
    Subhead,
    Table,
)
from wayside.report.curves import plot_data
from wayside.report.figures.residuals import residuals_figure
from wayside.report.figures.spectrogram import Reading, spectrogram_figure
from wayside.report.material import Material

_MODELS = {"speed-tied": "pitch tied to the speed", "fixed": "pitch fixed"}
_METHODS = {
    "coherent": "the source is coherent through the pass",
    "incoherent": "the source wavers, and the uncertainty comes from its own scatter",
}


def sound_section(m: Material, key: str = "by-sound") -> Section:
    """Return what was measured in the recording, with its pictures."""
    blocks: list[Block] = []
    measured = m.measurement
    if m.recording is not None:
        blocks.append(Para(_about(m), QUIET))
    if measured is not None and measured.fit is None:
        blocks.append(Para(measured.detection.reason))
    elif measured is not None and measured.fit is not None:
        blocks += _fits(measured, measured.fit)
        if m.closest_used:
            blocks.append(Para("The taped distance to the track went into the fit."))
    blocks += _figures(m, key)
    if measured is None:
        return Section(key, "What the sound says", tuple(blocks))
    if measured.two_window is not None:
        blocks += _two_windows(measured.two_window)
    if m.constant_speed is not None:
        blocks += [Subhead("Was the speed constant?"), Para(m.constant_speed.sentence)]
    if measured.limits:
        blocks += [Subhead("What limits this"), Items(measured.limits)]
    if measured.warnings:
        blocks += [Subhead("Take note"), Items(measured.warnings)]
    return Section(key, "What the sound says", tuple(blocks))


def readings_of(m: Measurement | None) -> tuple[Reading, ...]:
    """Return the two reading windows for a picture."""
    if m is None or m.two_window is None:
        return ()
    two = m.two_window
    return (
        Reading(two.approach.start_s, two.approach.stop_s, "approach window"),
        Reading(two.recede.start_s, two.recede.stop_s, "recede window"),
    )


def _figures(m: Material, key: str) -> list[Block]:
    if m.picture is None:
        return []
    data = plot_data(m.measurement, m.prediction)
    readings = readings_of(m.measurement)
    name = f"{key}-spectrogram"
    found: list[Block] = [Shown(spectrogram_figure(m.picture, data, readings, m.crossings, name))]
    r = m.picture.request
    residuals = residuals_figure(data, (r.start_s, r.stop_s), f"{key}-residuals")
    return [*found, Shown(residuals)] if residuals is not None else found


def _about(m: Material) -> str:
    r = m.recording
    assert r is not None
    text = f"{r.name}: {r.duration_s:.2f} s, {r.rate_hz:g} samples a second"
    text += f", {r.n_channels} channels, averaged" if r.n_channels > 1 else ""
    if m.measurement is not None and m.measurement.found:
        text += f"; used from {m.measurement.start_s:.2f} to {m.measurement.stop_s:.2f} s"
    return f"{text}.{_film(m.frames)}"


def _film(frames: FrameTimes | None) -> str:
    """Say how evenly the film's frames were taken; counting them is only as good as that."""
    if frames is None or len(frames) < 2:
        return ""
    low, high = 1e3 * frames.steps_s.min(), 1e3 * frames.steps_s.max()
    return (
        f" The film has {len(frames)} frames, typically {1e3 * frames.typical_step_s:.2f} ms apart "
        f"(from {low:.2f} to {high:.2f} ms)."
    )


def _fits(m: Measurement, fit: Fit) -> list[Block]:
    fits = (fit, *m.alternatives)
    names = [_MODELS.get(f.source_model, f.source_model) for f in fits]
    rows = [
        (
            label,
            _value(getattr(fit, name)),
            likely_text(fit, name),
            *(_value(getattr(f, name)) for f in m.alternatives),
        )
        for name, label in FITTED
        if any(_known(getattr(f, name)) for f in fits)
    ]
    rows.append(("coherence time", _coherence(fit), "", *(_coherence(f) for f in m.alternatives)))
    table = Table(
        "Fit of the whole pass-by (± is one standard uncertainty)",
        ("quantity", names[0], "95 % interval", *names[1:]),
        tuple(rows),
        ("", *[SOUND] * (len(fits) + 1)),
    )
    words = [f"{_METHODS.get(fit.method, fit.method).capitalize()}."]
    if m.alternatives:
        words.append("The recording does not rule out the further columns.")
    words.append(f"Speeds and distances rest on {digits.full_text(m.sound_speed_mps)} for sound.")
    return [table, Para(" ".join(words))]


def _value(q: Quantity) -> str:
    if q.u == 0.0 and q.value == 0.0:
        return "held at 0"
    return digits.full_text(q).replace("s^2", "s²")


def _known(q: Quantity) -> bool:
    return math.isfinite(q.value)


def _coherence(fit: Fit) -> str:
    t = fit.coherence_time_s
    return f"{t:.2g} s" if math.isfinite(t) else "longer than the pass"


def _two_windows(two: TwoWindow) -> list[Block]:
    rows = [
        (
            name,
            f"{w.start_s:.2f} to {w.stop_s:.2f} s",
            digits.full_text(w.pitch),
            _short(w.shortfall_hz),
        )
        for name, w in (("approach", two.approach), ("recede", two.recede))
    ]
    table = Table(
        "Two windows alone",
        ("window", "from, to", "pitch read", "misses its far limit by"),
        tuple(rows),
        ("", "", SOUND, SOUND),
    )
    text = (
        f"From these two pitches alone: speed {digits.full_text(two.speed_mps)}, source pitch "
        f"{digits.full_text(two.source_hz)}. Both are read at a finite distance, which the fit "
        "of the whole pass-by allows for and these two do not."
    )
    return [table, Para(text)]


def _short(hz: float) -> str:
    if not math.isfinite(hz):
        return "unknown"
    return f"{hz:+.2g} Hz".replace("-", digits.MINUS)
