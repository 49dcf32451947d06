"""The planning form: its fields with their usual values, and the way to a request.

Nothing must be typed: what is left blank stands at its usual value, so that a plan can be seen
at once and changed bit by bit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from wayside.errors import SetupError
from wayside.hand.entry import Entry as HandEntry
from wayside.hand.fields import Field, Section, Way, check_entry
from wayside.hand.predict import Prediction
from wayside.hand.sources.kind import SOURCE
from wayside.hand.units import Dimension
from wayside.physics.air import ideal_gas
from wayside.plan.request import PlanRequest
from wayside.session.hand_form import chosen_way
from wayside.session.session import Entry, Session
from wayside.session.typed import at_the_field, hand_entry, read_numbers


def _field(
    key: str,
    label: str,
    dimension: Dimension,
    limits: tuple[float, float],
    unit: str,
    hint: str,
    whole: bool = False,
    positive: bool = True,
) -> Field:
    low, high = limits
    return Field(
        f"plan.{key}", label, "", "", dimension, low, high, hint, unit, whole, True, positive
    )


_D = Dimension

PITCH = _field(
    "pitch",
    "pitch of the source",
    _D.PITCH,
    (1.0, 100_000.0),
    "Hz",
    "A buzzer, horn or loudspeaker of steady pitch; between 300 and 3000 Hz phones and ears are at "
    "their best.",
)
COUNT = _field(
    "count",
    "pattern elements per wheel turn",
    _D.COUNT,
    (1.0, 2000.0),
    "",
    "Treads, studs, or spokes that hit a card.",
    whole=True,
)
RADIUS = _field(
    "radius",
    "loaded wheel radius",
    _D.LENGTH,
    (0.02, 2.0),
    "cm",
    "Axle to ground with the rider on.",
)
PER_METRE = _field(
    "per_metre",
    "pattern elements per metre of track",
    _D.COUNT,
    (0.01, 10_000.0),
    "",
    "As the form's working gives it.",
)
SPEED_LOW = _field(
    "speed_low",
    "lowest speed",
    _D.SPEED,
    (0.05, 1000.0),
    "m/s",
    "The slowest run you may get.",
)
SPEED_HIGH = _field(
    "speed_high",
    "highest speed",
    _D.SPEED,
    (0.05, 1000.0),
    "m/s",
    "No faster than the rider's skill and the run-out allow.",
)
DISTANCE = _field(
    "distance",
    "microphone to track",
    _D.LENGTH,
    (0.05, 1000.0),
    "m",
    "From the microphone to where the source passes closest.",
)
BEFORE = _field(
    "before",
    "run before the microphone",
    _D.LENGTH,
    (0.5, 10_000.0),
    "m",
    "Length of track on which the source runs at steady speed and is heard.",
)
AFTER = _field(
    "after",
    "run after the microphone",
    _D.LENGTH,
    (0.5, 10_000.0),
    "m",
    "The same after the passing, without braking.",
)
TEMPERATURE = _field(
    "temperature",
    "air temperature",
    _D.TEMPERATURE,
    (-40.0, 60.0),
    "°C",
    "A guess will do for planning.",
    positive=False,
)
MARKERS = _field(
    "markers",
    "distance between the markers",
    _D.LENGTH,
    (0.1, 10_000.0),
    "m",
    "Leave it blank to learn what is needed.",
)
TAPE = _field(
    "tape",
    "uncertainty of that distance",
    _D.LENGTH,
    (0.0, 10.0),
    "cm",
    "How far off the taped distance may typically be.",
    positive=False,
)
WANTED = _field(
    "wanted",
    "wanted uncertainty of the speed",
    _D.FRACTION,
    (0.0001, 0.5),
    "%",
    "One standard uncertainty; 2 % is good school work.",
)
FRAME_RATES = _field(
    "frame_rates",
    "frame rates of the camera",
    _D.FRAME_RATE,
    (1.0, 100_000.0),
    "frames/s",
    "All it offers, with spaces between.",
)

SOURCE_SECTION = Section(
    "plan",
    "Source",
    (
        Way("tone", "known pitch", (PITCH,)),
        Way("wheel", "pattern on a wheel", (COUNT, RADIUS)),
        Way("per-metre", "pattern per metre", (PER_METRE,)),
    ),
)
RUN_SECTION = Section("plan-run", "Run", (), (SPEED_LOW, SPEED_HIGH, BEFORE, AFTER))
PLACE_SECTION = Section("plan-place", "Microphone and air", (), (DISTANCE, TEMPERATURE))
CAMERA_SECTION = Section("plan-camera", "Camera", (), (MARKERS, TAPE, WANTED, FRAME_RATES))
SECTIONS = (SOURCE_SECTION, RUN_SECTION, PLACE_SECTION, CAMERA_SECTION)

USUAL = {
    PITCH.path: "1000",
    COUNT.path: "60",
    RADIUS.path: "33",
    PER_METRE.path: "30",
    SPEED_LOW.path: "5",
    SPEED_HIGH.path: "8",
    DISTANCE.path: "3",
    BEFORE.path: "20",
    AFTER.path: "20",
    TEMPERATURE.path: "20",
    TAPE.path: "2",
    WANTED.path: "2",
    FRAME_RATES.path: "30 60 120 240",
}
"""Usual values, each in the unit its field proposes; markers have none."""

_PLACES = {
    "pitch_hz": PITCH,
    "cycles_per_metre": PER_METRE,
    "speed_low_mps": SPEED_LOW,
    "speed_high_mps": SPEED_HIGH,
    "closest_m": DISTANCE,
    "before_m": BEFORE,
    "after_m": AFTER,
    "markers_m": MARKERS,
    "tape_u_m": TAPE,
    "wanted_percent": WANTED,
    "frame_rates": FRAME_RATES,
    "sound_speed_mps": TEMPERATURE,
}


@dataclass(frozen=True)
class PlanReading:
    """What the planning form says.

    Parameters
    ----------
    request : PlanRequest or None
        None while something cannot be used.
    faults : mapping of str to str
        One sentence per field path.
    usual : bool
        True while nothing was typed at all.
    """

    request: PlanRequest | None
    faults: Mapping[str, str]
    usual: bool


def read_plan(session: Session) -> PlanReading:
    """Read the planning form."""
    way = chosen_way(session, SOURCE_SECTION)
    assert way is not None
    shown = [*way.fields, *(f for section in SECTIONS for f in section.optional)]
    faults: dict[str, str] = {}
    si: dict[str, float] = {}
    rates: tuple[float, ...] = ()
    for field in shown:
        typed = session.entry(field.path)
        if not typed.text.strip():
            if field.path not in USUAL:
                continue
            typed = Entry(USUAL[field.path], field.unit)
        try:
            if field is FRAME_RATES:
                rates = _rates(typed)
            else:
                si[field.path] = _value(field, typed)
        except SetupError as error:
            faults[field.path] = str(error)
    usual = not any(session.entry(f.path).text.strip() for f in shown)
    if faults:
        return PlanReading(None, faults, usual)
    try:
        return PlanReading(_request(si, rates), {}, usual)
    except SetupError as error:
        return PlanReading(None, {_PLACES[error.field].path: str(error)}, usual)


def plan_from(session: Session, prediction: Prediction) -> Session | None:
    """Return the session with source, speed, air and distance of a prediction in the plan.

    None if nothing moves past a microphone at rest there.
    """
    if prediction.setup.kind.mover != SOURCE:
        return None
    speed = prediction.speed_mps
    values = {
        SPEED_LOW.path: (speed.value, speed.u),
        SPEED_HIGH.path: (speed.value, speed.u),
    }
    way = "tone"
    if prediction.cycles_per_metre is not None:
        way = "per-metre"
        n = prediction.cycles_per_metre
        values[PER_METRE.path] = (n.value, n.u)
    else:
        values[PITCH.path] = (prediction.source_hz.value, prediction.source_hz.u)
    if prediction.closest_m is not None:
        values[DISTANCE.path] = (prediction.closest_m.value, prediction.closest_m.u)
    inputs = {i.path: i for i in prediction.setup.inputs}
    if "motion.marker_distance" in inputs:
        markers = inputs["motion.marker_distance"]
        values[MARKERS.path] = (markers.value, markers.u)
    air = inputs["air.temperature"]
    values[TEMPERATURE.path] = (air.value, air.u)
    units = {f.path: f.si_symbol for s in SECTIONS for f in s.fields}
    for path, (value, u) in values.items():
        session = session.with_entry(path, Entry(_plain(value, u), units[path]))
    return session.with_choice("plan.way", way)


def _value(field: Field, typed: Entry) -> float:
    entry = hand_entry(field, replace(typed, u_text="", extra=()))
    if len(entry.readings) > 1:
        raise SetupError("There is more than one number; type one.", field.path)
    return _si(field, entry)


def _si(field: Field, entry: HandEntry) -> float:
    if sentence := check_entry(field, entry):
        raise SetupError(at_the_field(sentence, field), field.path)
    return field.si(entry)


def _rates(typed: Entry) -> tuple[float, ...]:
    try:
        numbers = read_numbers(typed.text)
    except ValueError as error:
        raise SetupError(str(error), FRAME_RATES.path) from None
    unit = typed.unit or FRAME_RATES.unit
    return tuple(sorted({_si(FRAME_RATES, HandEntry(n, unit)) for n in numbers}))


def _request(si: Mapping[str, float], rates: tuple[float, ...]) -> PlanRequest:
    per_metre = si.get(PER_METRE.path)
    if COUNT.path in si:
        per_metre = si[COUNT.path] / (2.0 * math.pi * si[RADIUS.path])
    return PlanRequest(
        si[SPEED_LOW.path],
        si[SPEED_HIGH.path],
        si[DISTANCE.path],
        si[BEFORE.path],
        si[AFTER.path],
        pitch_hz=si.get(PITCH.path),
        cycles_per_metre=per_metre,
        sound_speed_mps=ideal_gas(si[TEMPERATURE.path]),
        wanted_percent=100.0 * si[WANTED.path],
        tape_u_m=si[TAPE.path],
        markers_m=si.get(MARKERS.path),
        frame_rates=rates,
    )


def _plain(value: float, u: float) -> str:
    """Write a value with one digit more than its uncertainty supports."""
    if not u:
        return f"{value:.10g}"
    text = f"{value:.{max(0, 2 - math.floor(math.log10(u)))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
