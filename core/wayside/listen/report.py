"""What was done to hear with the rider's ears, as text and as JSON (docs/json-output.md)."""

from __future__ import annotations

from typing import Any

from wayside.hand.digits import full_text
from wayside.listen.rider import PEAK_DBFS, RiderSound
from wayside.listen.steadiness import ConstantSpeedTest
from wayside.measure.report_json import measurement_as_json
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

FORMAT, VERSION = "wayside-rider", 1


def rider_as_text(
    rider: RiderSound, test: ConstantSpeedTest, measurement: Measurement, name: str
) -> str:
    """Return what was written and how steady the pitch is."""
    sound, p = rider.sound, rider.passby
    fit = measurement.fit
    rows = [] if fit is None else [("speed", fit.speed_mps), ("source pitch", fit.source_hz)]
    rows += [
        ("drift in all", test.drift_cents),
        ("drift each second", test.drift_cents_per_s),
        ("acceleration", test.acceleration_mps2),
    ]
    lines = [
        f"Wrote {name}: {sound.duration_s:.2f} s in the source's own time, from "
        f"{sound.start_s:.2f} s.",
        f"Taken out: the Doppler shift of {p.speed_mps:.3g} m/s passing at {p.closest_m:.2g} m.",
        level_sentence(rider),
        "",
    ]
    lines += [f"  {label:<20}{_text(q)}" for label, q in rows]
    lines += ["", test.sentence]
    return "\n".join(lines)


def level_sentence(rider: RiderSound) -> str:
    """Return one sentence on what was done to the level."""
    raised = (
        f"Sound from further off was raised as its distance over the closest one, by at most "
        f"{rider.most_gain_db:g} dB (from {rider.most_gain_m:.2g} m on)"
    )
    if rider.turned_down_db > 0:
        return (
            f"{raised}; the whole was turned down by {rider.turned_down_db:.1f} dB to keep its "
            f"peak at {PEAK_DBFS:g} dB of full scale."
        )
    return f"{raised}."


def rider_as_json(
    rider: RiderSound, test: ConstantSpeedTest, measurement: Measurement, name: str
) -> dict[str, Any]:
    """Return the documented JSON values."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "found": True,
        "sound": {
            "file": name,
            "start_s": rider.sound.start_s,
            "duration_s": rider.sound.duration_s,
            "rate_hz": rider.sound.rate_hz,
            "channels": rider.sound.n_channels,
            "most_gain_db": rider.most_gain_db,
            "turned_down_db": rider.turned_down_db,
        },
        "constant_speed": {
            "agrees": test.agrees,
            "probability": test.probability,
            "drift_cents": test.drift_cents.as_json(),
            "drift_cents_per_s": test.drift_cents_per_s.as_json(),
            "acceleration_mps2": test.acceleration_mps2.as_json(),
            "speed_change_percent": test.speed_change_percent.as_json(),
            "source_model": test.source_model,
            "start_s": test.start_s,
            "stop_s": test.stop_s,
            "sentence": test.sentence,
        },
        "measurement": measurement_as_json(measurement),
    }


def not_found_as_json(measurement: Measurement) -> dict[str, Any]:
    """Return the documented JSON values where there is no pass-by."""
    head = {"format": FORMAT, "version": VERSION, "found": False}
    return {**head, "measurement": measurement_as_json(measurement)}


def _text(q: Quantity) -> str:
    units = {"cent": "cents", "cent/s": "cents/s", "m/s^2": "m/s²"}
    return full_text(Quantity(q.value, q.u, units.get(q.unit, q.unit)))
