"""The documented JSON of a measurement (see docs/json-output.md)."""

from __future__ import annotations

import math
from typing import Any

from wayside.measure.result import Fit, Measurement, ReadingWindow
from wayside.quantity import Quantity

FORMAT, VERSION = "wayside-measurement", 1
_NAMES = ("approach_hz", "recede_hz", "source_hz", "speed_mps", "closest_m", "passing_time_s")


def measurement_as_json(m: Measurement) -> dict[str, Any]:
    """Return the documented JSON values of a measurement."""
    fit = m.fit
    out: dict[str, Any] = {"format": FORMAT, "version": VERSION, "found": m.found}
    for name in _NAMES:
        out[name] = getattr(fit, name).as_json() if fit is not None else None
    out["sound_speed_mps"] = m.sound_speed_mps.as_json()
    out["detection"] = {
        "statistic": m.detection.statistic,
        "threshold": m.detection.threshold,
        "false_alarm_rate": m.detection.false_alarm_rate,
        "reason": m.detection.reason,
    }
    reading = m.two_window
    out["two_window"] = reading and {
        "approach": _window(reading.approach),
        "recede": _window(reading.recede),
        "speed_mps": reading.speed_mps.as_json(),
        "source_hz": reading.source_hz.as_json(),
    }
    out["fit"] = fit and _fit(fit, m.sound_speed_mps)
    out["alternatives"] = [_fit(f, m.sound_speed_mps) for f in m.alternatives]
    out["limits"] = list(m.limits)
    out["warnings"] = list(m.warnings)
    out["used_s"] = [m.start_s, m.stop_s]
    return out


def _window(w: ReadingWindow) -> dict[str, Any]:
    return {
        "start_s": w.start_s,
        "stop_s": w.stop_s,
        "pitch": w.pitch.as_json(),
        "shortfall_hz": _number(w.shortfall_hz),
    }


def _fit(fit: Fit, sound_speed: Quantity) -> dict[str, Any]:
    out: dict[str, Any] = {name: getattr(fit, name).as_json() for name in _NAMES}
    out["sound_speed_mps"] = sound_speed.as_json()
    out["acceleration_mps2"] = fit.acceleration_mps2.as_json()
    out["source_model"] = fit.source_model
    out["method"] = fit.method
    out["coherence_time_s"] = _number(fit.coherence_time_s)
    out["intervals"] = {
        likely.name: {end: _number(value) for end, value in likely.ends.items()}
        for likely in fit.intervals
    }
    return out


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
