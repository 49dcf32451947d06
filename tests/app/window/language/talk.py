"""What the core says in many situations, gathered by running it: all of it invented."""

from __future__ import annotations

import itertools
import struct
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from tests.invented import TRUTH, measurement_of, sound_of

from wayside.compare.compare import compare, compare_heard
from wayside.compare.heard import heard_by_ear
from wayside.errors import WaysideError
from wayside.hand.methods import compare_methods
from wayside.hand.monte_carlo import monte_carlo
from wayside.hand.predict import Prediction, predict
from wayside.hand.prediction_text import shift_sentence
from wayside.hand.setup_file import read_setup
from wayside.hand.setup_json import setup_from_json
from wayside.jobs import QUIET
from wayside.listen.steadiness import constant_speed_test
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.plan.make import make_plan
from wayside.plan.request import PlanRequest
from wayside.quantity import Quantity
from wayside.session.document import read_session
from wayside.session.plan_form import read_plan
from wayside.session.session import Entry, Session
from wayside.session.typed import read_number
from wayside.sound.media import load_recording
from wayside.sound.recording import Recording


def v(number: float, unit: str = "", u: float | None = None, **more: Any) -> dict[str, Any]:
    """Return an entry of a set-up file."""
    entry: dict[str, Any] = {"value": number} | more
    if unit:
        entry["unit"] = unit
    if u is not None:
        entry["u"] = u
    return entry


SPEED = {"speed": v(9.0, "m/s", 0.1)}
TIMES = {
    "marker_distance": v(12.0, "m", 0.02),
    "first_time": v(3.20, "s", 0.01),
    "second_time": v(5.05, "s", 0.01),
}
FRAMES = {
    "marker_distance": v(12.0, "m", 0.02),
    "first_frame": v(96, "", 0.5),
    "second_frame": v(151, "", 0.5),
    "frame_rate": v(29.97, "1/s", 0.1),
}
WARM = {"formula": "humid-air", "temperature": v(61, "°F", 1.0), "humidity": v(40, "%", 10)}
WINDY = {
    "formula": "ideal-gas",
    "temperature": {"unit": "°C", "readings": [19.8, 20.1, 20.4]},
    "wind_along": v(2, "m/s", 0.5),
}
WHEEL = {"count": v(62), "rollout": v(10.05, "m", 0.02), "rollout_turns": v(5)}

SETUPS: tuple[dict[str, Any], ...] = (
    {"motion": TIMES, "source": {"kind": "wheel", **WHEEL}, "air": WARM},
    {
        "motion": FRAMES,
        "source": {"kind": "wheel", "count": v(62), "loaded_radius": v(32.6, "cm", 0.4)},
        "air": WARM,
        "microphone": {"distance": v(2.1, "m", 0.05), "position": v(6, "m", 0.1)},
    },
    {
        "motion": SPEED,
        "source": {
            "kind": "wheel",
            "count": v(62),
            "bead_diameter": v(559, "mm", 1),
            "tyre_width": v(47, "mm", 1),
            "squash": v(12, "mm", half_width=5),
        },
        "air": WINDY,
    },
    {
        "motion": SPEED,
        "source": {"kind": "tone", "pitch": v(440.0, "Hz", 0.5)},
        "air": {
            "formula": "rule-of-thumb",
            "temperature": v(20, "°C", 0.5),
            "humidity": v(40, "%", 5),
        },
    },
    {
        "motion": SPEED,
        "source": {
            "kind": "engine",
            "cylinders": v(4),
            "strokes": v(4),
            "engine_speed": v(3000, "rpm", 50),
        },
        "air": WARM,
    },
    {
        "motion": SPEED,
        "source": {"kind": "siren-disk", "holes": v(16), "turn_rate": v(25, "rev/s", 0.2)},
        "air": WARM,
    },
    {"motion": SPEED, "source": {"kind": "moving-observer", "pitch": v(440, "Hz", 1)}, "air": WARM},
    {
        "motion": SPEED,
        "source": {
            "kind": "both-moving",
            "pitch": v(440, "Hz", 1),
            "observer_speed": v(3, "m/s", 0.2),
        },
        "air": WINDY,
    },
    {
        "source": {
            "kind": "whirled",
            "pitch": v(1000, "Hz", 2),
            "circle_radius": v(0.8, "m", 0.01),
            "turns": v(10),
            "turns_time": v(8.0, "s", 0.2),
            "listener_distance": v(5, "m", 0.1),
            "listener_height": v(0.2, "m", 0.05),
        },
        "air": WARM,
    },
)


def predictions() -> Iterator[Prediction]:
    """Yield one prediction a way of measuring."""
    for data in SETUPS:
        yield predict(setup_from_json({"format": "wayside-setup", "version": 1, **data}))


def everything_said(folder: Path) -> Iterator[str]:
    """Yield every sentence of a wide range of situations."""
    for p in predictions():
        yield from _about(p)
    yield from _compared()
    yield from _measured()
    yield from _planned()
    yield from _refused(folder)


def _about(p: Prediction) -> Iterator[str]:
    yield from (text for step in (*p.conversions, *p.steps) for text in (step.title, step.note))
    yield from p.notes
    if p.setup.kind.back_solve is not None:
        yield shift_sentence(p)
    yield from (i.label for i in p.setup.inputs)
    yield from (line.label for lines in p.budget.values() for line in lines)
    methods = compare_methods(p)
    for shortcut in (*methods.shortcuts, *methods.rounding):
        yield from (shortcut.sentence, shortcut.way, shortcut.label)
    yield from (effect.label for effect in methods.wind)
    yield from monte_carlo(p, draws=2000, job=QUIET).notes


def _compared() -> Iterator[str]:
    by_kind = list(predictions())
    for p, shift, u in itertools.product(by_kind[:4], (0.0, 1.0, 9.0), (0.05, 2.0)):
        heard = heard_by_ear(
            Quantity(p.approach_hz.value + shift, u, "Hz"),
            Quantity(p.recede_hz.value, u, "Hz"),
        )
        for harmonic in (1, 2):
            c = compare_heard(p, heard, harmonic)
            yield c.verdict
            yield from c.notes
            yield from (e.sentence for e in c.explanations)
            yield from (t.sentence for t in c.turned_round)
            yield from (r.sentence for r in c.rows)
    m = measurement_of(TRUTH, MeasureOptions())
    for p in by_kind[:4]:
        for factor in (1.0, 2.0, 0.5):
            scaled = replace(
                TRUTH, source_hz=p.source_hz.value * factor, speed_mps=p.speed_mps.value
            )
            c = compare(p, measurement_of(scaled, MeasureOptions()))
            yield c.verdict
            yield from c.notes
            yield from (r.sentence for r in (*c.rows, *c.readings))
            yield from (e.sentence for e in c.explanations)
        c = compare(p, replace(m, fit=None))
        yield c.verdict
        yield from c.notes


def _measured() -> Iterator[str]:
    rng = np.random.default_rng(4)
    t = np.arange(16000 * 4) / 16000.0
    noise = rng.normal(0.0, 0.1, t.size)
    for samples in (noise, noise + np.sin(2 * np.pi * 400.0 * t)):
        recording = Recording.from_array(samples, 16000.0, "quiet.wav")
        m = measure(recording, MeasureOptions(), QUIET)
        yield m.detection.reason
    m = measure(sound_of(), MeasureOptions(), QUIET)
    yield from (m.detection.reason, *m.limits, *m.warnings)
    yield constant_speed_test(sound_of(), m).sentence
    for wanted in (
        MeasureOptions(start_s=1.0, stop_s=1.1),
        MeasureOptions(sound_speed=Quantity(9.0, 1.0, "m/s")),
        MeasureOptions(closest=Quantity(-1.0, 1.0, "m")),
        MeasureOptions(band_hz=(7900.0, 7950.0)),
        MeasureOptions(approach_window_s=(90.0, 91.0), recede_window_s=(92.0, 93.0)),
    ):
        yield from _fault(lambda o=wanted: measure(sound_of(), o, QUIET))


def _planned() -> Iterator[str]:
    usual = PlanRequest(4.0, 8.0, 2.0, 15.0, 15.0, pitch_hz=700.0)
    for request in (
        usual,
        replace(usual, speed_low_mps=0.3, speed_high_mps=0.5),
        replace(usual, closest_m=0.4),
        replace(usual, closest_m=40.0),
        replace(usual, pitch_hz=60.0),
        replace(usual, pitch_hz=9000.0),
        replace(usual, pitch_hz=None, cycles_per_metre=5.0),
        replace(usual, before_m=2.0, after_m=2.0),
        replace(usual, markers_m=0.3),
    ):
        plan = make_plan(request)
        yield from (*plan.warnings, *plan.safety, plan.offset.reason)
    for path, text in (
        ("plan.speed_low", "90"),
        ("plan.speed_high", "fast"),
        ("plan.distance", "-1"),
        ("plan.distance", ""),
    ):
        yield from read_plan(Session().with_entry(path, Entry(text, "m"))).faults.values()


def _refused(folder: Path) -> Iterator[str]:
    for name, content in (
        ("empty.wav", b""),
        ("picture.wav", b"\x89PNG\r\n\x1a\n" + bytes(60)),
        ("zeros.mp4", bytes(4000)),
        ("words.mp3", b"only words in here, nothing else at all"),
        ("cut.mp4", struct.pack(">I4s", 32, b"ftyp") + b"isom" + bytes(400)),
        ("broken.wav", b"RIFF" + bytes(4) + b"WAVE" + bytes(90)),
    ):
        path = folder / name
        path.write_bytes(content)
        yield from _fault(lambda p=path: load_recording(p, job=QUIET))
    yield from _fault(lambda: load_recording(folder, job=QUIET))
    yield from _fault(lambda: load_recording(folder / "none.wav", job=QUIET))
    for name, text in (
        ("a.json", ""),
        ("b.json", "{"),
        ("c.json", "[]"),
        ("d.json", '{"format": "other"}'),
        ("e.json", '{"format": "wayside-setup", "version": 99}'),
        ("f.json", '{"format": "wayside-session", "version": 9999}'),
        ("g.json", '{"format": "wayside-session", "version": "x"}'),
    ):
        path = folder / name
        path.write_text(text, encoding="utf-8")
        yield from _fault(lambda p=path: read_setup(p))
        yield from _fault(lambda p=path: read_session(p))
    for typed in ("", "five", "1.234,5", "1e999"):
        try:
            read_number(typed)
        except ValueError as error:
            yield str(error)
    for change in (
        {"speed": v(9.0, "m/s")},
        {"speed": v(9.0, "furlong", 0.1)},
        {"speed": v(9.0, "m/s", 20.0)},
        {"speed": v(1e6, "m/s", 1.0)},
        {"speed": v(400.0, "m/s", 1.0)},
        {**TIMES, "second_time": v(1.0, "s", 0.01)},
        {**TIMES, "second_time": v(3.201, "s", 0.01)},
    ):
        data = {"format": "wayside-setup", "version": 1, **SETUPS[3], "motion": change}
        yield from _fault(lambda d=data: predict(setup_from_json(d)))


def _fault(call: Callable[[], object]) -> Iterator[str]:
    try:
        call()
    except WaysideError as error:
        yield str(error)
