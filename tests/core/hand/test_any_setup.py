"""Any numbers within their fields' limits end in whole results or in one sentence."""

from __future__ import annotations

import json
import math
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.compare.compare import compare_heard
from wayside.compare.comparison_json import comparison_as_json
from wayside.compare.comparison_text import comparison_as_text
from wayside.compare.heard import heard_by_ear
from wayside.errors import SetupError
from wayside.hand.budget_text import full_budget_text, sampled_text
from wayside.hand.fields import Field
from wayside.hand.methods import compare_methods
from wayside.hand.methods_text import methods_text
from wayside.hand.monte_carlo import monte_carlo
from wayside.hand.predict import Prediction, predict
from wayside.hand.prediction_json import methods_as_json, monte_carlo_as_json, prediction_as_json
from wayside.hand.prediction_text import prediction_as_text
from wayside.hand.setup import sections_of
from wayside.hand.setup_json import setup_from_json
from wayside.hand.sources import SOURCE_KINDS
from wayside.hand.units import units_of
from wayside.physics.air import AIR_FORMULAS
from wayside.quantity import Quantity


@st.composite
def entries(draw: st.DrawFn, field: Field) -> dict[str, Any]:
    low, high = field.low, field.high
    if field.section == "motion" and field.key == "speed":
        low, high = 0.5, 60.0
    if low > 0:
        si = math.exp(draw(st.floats(math.log(low), math.log(min(high, 1000 * low)))))
    else:
        si = draw(st.floats(low, high))
    unit = draw(st.sampled_from(units_of(field.dimension)))
    number = unit.from_si(min(max(si, low), high))
    if field.whole:
        number = float(max(1, round(number)))
    u = abs(number) * draw(st.sampled_from([0.0, 1e-4, 0.01, 0.1]))
    return {
        "value": number,
        "unit": unit.symbol,
        draw(st.sampled_from(["u", "half_width", "resolution"])): u,
    }


@st.composite
def setups(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(sorted(SOURCE_KINDS)))
    data: dict[str, Any] = {"format": "wayside-setup", "version": 1}
    for section in sections_of(kind):
        fields = list(draw(st.sampled_from(section.ways)).fields) if section.ways else []
        fields += [f for f in section.optional if draw(st.booleans())]
        data[section.key] = {f.key: draw(entries(f)) for f in fields}
    if "first_time" in data.get("motion", {}):
        data["motion"]["first_time"] = {"value": 2.0, "unit": "s", "u": 0.01}
        data["motion"]["second_time"] = {"value": 3.1, "unit": "s", "u": 0.01}
    data["source"]["kind"] = kind
    data["air"]["formula"] = draw(st.sampled_from(sorted(AIR_FORMULAS)))
    return data


@settings(max_examples=150, deadline=None)
@given(data=setups(), wrong=st.sampled_from([1.0, 1.003, 1.2, 2.0]))
def test_every_road_ends_well(data: dict[str, Any], wrong: float) -> None:
    prediction = _prediction(data)
    if prediction is None:
        return
    sampled, methods = monte_carlo(prediction, 1000), compare_methods(prediction)
    extra = [full_budget_text(prediction), sampled_text(sampled), methods_text(methods)]
    assert prediction_as_text(prediction, extra)
    parts = prediction_as_json(prediction), monte_carlo_as_json(sampled), methods_as_json(methods)
    assert json.dumps(parts, allow_nan=False)
    for name, lines in prediction.budget.items():
        q: Quantity = getattr(prediction, name)
        assert math.isfinite(q.value)
        assert math.isfinite(q.u)
        assert not q.u or math.isclose(sum(line.share for line in lines), 1.0, rel_tol=1e-6)
    if prediction.setup.kind.back_solve is not None:
        approach, recede = (
            Quantity(wrong * q.value, 1e-3 * q.value, "Hz")
            for q in (prediction.approach_hz, prediction.recede_hz)
        )
        comparison = compare_heard(prediction, heard_by_ear(approach, recede))
        assert comparison_as_text(comparison)
        assert json.dumps(comparison_as_json(comparison), allow_nan=False)


def _prediction(data: dict[str, Any]) -> Prediction | None:
    try:
        return predict(setup_from_json(data))
    except SetupError as error:
        if not str(error).endswith("."):
            raise
        return None
