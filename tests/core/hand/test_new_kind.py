"""A new kind of source is one module and its words: everything else picks it up by itself.

The kind below is made here, as DEVELOPERS.md says, and put into the list of kinds.
"""

from __future__ import annotations

import json
from typing import Any

import pytest

from wayside.compare.compare import compare_heard
from wayside.compare.heard import heard_by_ear
from wayside.hand.budget_text import full_budget_text
from wayside.hand.fields import Field, Section, Way
from wayside.hand.monte_carlo import monte_carlo
from wayside.hand.predict import predict
from wayside.hand.prediction_json import prediction_as_json
from wayside.hand.prediction_text import prediction_as_text
from wayside.hand.setup_json import setup_from_json, setup_to_json
from wayside.hand.sources import SOURCE_KINDS, moving
from wayside.hand.sources.kind import SOURCE, Given, Implied, Outcome, SourceKind, Values, Work
from wayside.hand.steps import Step, work_out
from wayside.hand.units import Dimension
from wayside.quantity import Quantity
from wayside.session.hand_form import fill_form, read_form

BLADES = Field(
    "source.blades", "blades of the propeller", "B", "B", Dimension.COUNT, 1.0, 20.0,
    "Count them while it stands.", "", whole=True, exact=True,
)  # fmt: skip
SHAFT_RATE = Field(
    "source.shaft_rate", "turns of the shaft", "R", "R", Dimension.ROTATION, 0.1, 1000.0,
    "Read it with a tachometer.", "rev/s",
)  # fmt: skip


def _solve(given: Given) -> Outcome:
    return moving.solve(given, given.x["source.blades"] * given.x["source.shaft_rate"])


def _steps(work: Work) -> list[Step]:
    symbols = work.pick("blades", "shaft_rate")
    return [
        work_out(
            "Pitch of the source",
            work.symbols["f0"],
            "<blades> × <shaft_rate>",
            r"<blades> \times <shaft_rate>",
            symbols,
        )
    ]


def _implied(x: Values, way: str, speed: Any, source: Any) -> list[Implied]:
    rate = source / x["source.blades"]
    return [Implied("source.shaft_rate", "your shaft's turns are then {}", rate)]


KIND = SourceKind(
    "propeller",
    "propeller",
    Section("source", "Propeller", (Way("blades", "blades and turns", (BLADES, SHAFT_RATE)),)),
    SOURCE,
    "tone",
    _solve,
    _steps,
    moving.limit_steps,
    moving.back_solve,
    implied=_implied,
)
DATA: dict[str, Any] = {
    "format": "wayside-setup",
    "version": 1,
    "title": "Model aeroplane",
    "motion": {"speed": {"value": 12, "unit": "m/s", "u": 0.2}},
    "source": {
        "kind": "propeller",
        "blades": {"value": 3},
        "shaft_rate": {"value": 6000, "unit": "rpm", "u": 30},
    },
    "air": {"formula": "ideal-gas", "temperature": {"value": 18, "unit": "°C", "u": 0.5}},
}


@pytest.fixture(autouse=True)
def _registered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(SOURCE_KINDS, KIND.key, KIND)


def test_it_is_predicted_with_working_budget_and_sampling() -> None:
    p = predict(setup_from_json(DATA))
    assert p.source_hz.value == pytest.approx(300.0)
    assert p.source_hz.u == pytest.approx(1.5)
    assert p.budget["source_hz"][0].path == "source.shaft_rate"
    text = prediction_as_text(p, [full_budget_text(p)])
    assert "f₀ = B × R" in text
    assert "blades of the propeller" in text
    assert json.dumps(prediction_as_json(p), allow_nan=False)
    sampled = monte_carlo(p, 20_000).results["source_hz"]
    assert sampled.u == pytest.approx(1.5, rel=0.05)


def test_its_files_are_read_written_and_refused_like_others() -> None:
    setup = setup_from_json(DATA)
    assert setup_from_json(setup_to_json(setup)) == setup
    with pytest.raises(ValueError, match=r"source\.shaft_rate"):
        setup_from_json(DATA | {"source": {"kind": "propeller", "blades": {"value": 3}}})


def test_its_comparison_explains_and_turns_round() -> None:
    p = predict(setup_from_json(DATA))
    off = [Quantity(1.05 * q.value, 0.5, "Hz") for q in (p.approach_hz, p.recede_hz)]
    comparison = compare_heard(p, heard_by_ear(*off))
    assert comparison.overall == "disagree"
    assert comparison.explanations[0].path == "source.shaft_rate"
    assert comparison.turned_round[0].value.value == pytest.approx(6300.0, rel=1e-3)  # rpm


def test_the_form_of_the_window_holds_it() -> None:
    reading = read_form(fill_form(setup_from_json(DATA)))
    assert reading.setup is not None
    assert reading.setup.source_kind == "propeller"
