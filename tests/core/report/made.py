"""A report's material, invented and self-consistent, without measuring anything."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from tests.invented import TRUTH, measurement_of, sound_of

from wayside.hand.entry import Entry
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.listen.steadiness import ConstantSpeedTest
from wayside.measure.options import MeasureOptions
from wayside.report.material import Bundle, Made, Material, worked_out
from wayside.review.row import RunRow, run_row
from wayside.session.run import MediaRef

MADE = Made("wayside report pass.wav --setup setup.json -o out.html", (("Wayside", "0.1.0"),))


def setup_of(title: str = "Courtyard", notes: str = "", tool: str = "tape") -> Setup:
    """Return hand measurements of the invented pass-by."""
    entries = {
        "motion.marker_distance": Entry(6.1, "m", 0.02, tool=tool),
        "motion.first_time": Entry(3.769, "s", 0.004),
        "motion.second_time": Entry(4.432, "s", 0.004),
        "source.pitch": Entry(412.0, "Hz", 0.5),
        "air.temperature": Entry(20.0, "°C", 0.5),
        "microphone.distance": Entry(2.4, "m", 0.05, tool=tool),
    }
    tools = {tool: Entry(0.0, "%", 0.1)} if tool else {}
    return Setup("tone", "rule-of-thumb", entries, title, notes, tools)


@cache
def material(
    title: str = "Courtyard", notes: str = "", name: str = "pass.wav", tool: str = "tape"
) -> Material:
    """Return one run with everything in it."""
    setup = setup_of(title, notes, tool)
    options = MeasureOptions()
    base = Material(
        setup.title,
        MediaRef(f"/somewhere/{name}", 256044, "0f" * 32),
        replace(sound_of(), name=name),
        options,
        setup,
        predict(setup),
        measurement_of(TRUTH, options),
    )
    return worked_out(replace(base, constant_speed=steadiness()))


@cache
def steadiness() -> ConstantSpeedTest | None:
    """Return whether the speed was constant, which no name or note changes."""
    options = MeasureOptions()
    measured = measurement_of(TRUTH, options)
    sound = Material("", recording=sound_of(), options=options, measurement=measured)
    return worked_out(sound).constant_speed


def rows(names: tuple[str, ...] = ("one", "two", "three"), group: str = "A") -> tuple[RunRow, ...]:
    """Return rows of a class whose speeds differ a little."""
    made = []
    for k, name in enumerate(names):
        truth = replace(TRUTH, speed_mps=TRUTH.speed_mps + 0.05 * k)
        m = measurement_of(truth, MeasureOptions())
        made.append(run_row(name, m, predict(setup_of()), None, group, "out"))
    return tuple(made)


def bundle(**changes: str) -> Bundle:
    """Return a bundle of one run."""
    return Bundle(material(**changes), made=MADE)
