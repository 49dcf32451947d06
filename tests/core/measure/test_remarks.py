"""What a measurement says of a changing speed (self-consistency)."""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import TONE, options, recorded

from wayside.measure import remarks
from wayside.measure.fitted import Choice, ModelFit
from wayside.measure.pipeline import measure
from wayside.measure.refine import Sound
from wayside.measure.result import Track
from wayside.measure.unrest import QUIET


def _fit(acceleration_mps2: float, u_mps2: float, evidence: float) -> ModelFit:
    p = TONE.with_(acceleration_mps2=acceleration_mps2)
    u = np.array([0.01, 0.01, 0.01, 0.001, u_mps2])
    return ModelFit(p, np.diag(u * u), "coherent", QUIET, evidence, np.zeros(5))


@pytest.mark.parametrize(("u_mps2", "said"), [(0.02, True), (0.19, False)])
def test_a_change_of_speed_is_told_where_it_stands_out(u_mps2: float, said: bool) -> None:
    heard = recorded()
    found = measure(heard, options())
    assert found.fit is not None
    constant, other = _fit(0.0, 0.0, 0.0), _fit(0.15, u_mps2, 50.0)
    times = np.linspace(0.2, 3.0, 30)
    track = Track(times, TONE.pitch(times), np.full(30, 0.1), np.zeros(30))
    choice = Choice((constant,), constant, other, None)  # type: ignore[arg-type]
    sound = Sound(heard.mono(), heard.rate_hz, 0.0)
    told = remarks.warnings_of(heard, [found.fit], choice, track, found.two_window, sound)
    assert any("was not constant" in w for w in told) == said
