"""A measurement as plain text for the command line."""

from __future__ import annotations

from wayside.hand.digits import between_text, full_text
from wayside.measure.result import FITTED, Fit, Measurement, ReadingWindow
from wayside.quantity import Quantity


def measurement_as_text(m: Measurement) -> str:
    """Return what was measured, its uncertainty, and what limits it."""
    if m.fit is None:
        d = m.detection
        return (
            f"{d.reason}\n(evidence {d.statistic:.0f}; a pass-by is claimed from {d.threshold:.0f})"
        )
    fit = m.fit
    lines = ["Measured from the sound (± is one standard uncertainty; in brackets 95 %)"]
    lines += _rows(fit)
    lines.append(f"  {'speed of sound used':<20}{full_text(m.sound_speed_mps)}")
    if fit.acceleration_mps2.u > 0:
        lines.append(_row(fit, "acceleration_mps2", "acceleration"))
    lines.append("")
    lines.append(f"Curve fit: {_model(fit)}.")
    if m.two_window is not None:
        w = m.two_window
        lines += ["", "Two windows alone"]
        lines.append(f"  {'approach':<20}{_window(w.approach)}")
        lines.append(f"  {'recede':<20}{_window(w.recede)}")
        lines.append(f"  {'speed from these':<20}{full_text(w.speed_mps)}")
        lines.append(
            f"  Both are read at a finite distance: they miss their far limits by "
            f"{w.approach.shortfall_hz:+.2g} Hz and {w.recede.shortfall_hz:+.2g} Hz."
        )
    for other in m.alternatives:
        lines += ["", f"Not ruled out: {_model(other)}"]
        lines += _rows(other)
    for title, sentences in (("What limits this", m.limits), ("Take note", m.warnings)):
        if sentences:
            lines += ["", title]
            lines += [f"  - {s}" for s in sentences]
    return "\n".join(lines)


def _rows(fit: Fit) -> list[str]:
    return [_row(fit, name, label) for name, label in FITTED if name != "acceleration_mps2"]


def _row(fit: Fit, name: str, label: str) -> str:
    told, likely = f"  {label:<20}{full_text(getattr(fit, name))}", likely_text(fit, name)
    return f"{told:<46}  ({likely})" if likely else told


def likely_text(fit: Fit, name: str) -> str:
    """Return the 95 % interval of a quantity in words, empty where there is none."""
    quantity: Quantity = getattr(fit, name)
    likely = fit.likely(name)
    if likely is None or not quantity.u > 0:
        return ""
    return between_text(likely.low_95, likely.high_95, quantity.u)


def _model(fit: Fit) -> str:
    pitch = "pitch tied to the speed" if fit.source_model == "speed-tied" else "fixed pitch"
    steady = (
        "source coherent through the pass"
        if fit.method == "coherent"
        else "source wavers, uncertainty from its own scatter"
    )
    return f"{pitch}, {steady}"


def _window(w: ReadingWindow) -> str:
    return f"{full_text(w.pitch)}  ({w.start_s:.2f} s to {w.stop_s:.2f} s)"
