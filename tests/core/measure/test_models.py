"""Which source model is fitted and preferred, on short simulated recordings.

Truth is the scene's own (self-consistency); the statistics are those of the stated uncertainties.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED

from wayside.measure.fitted import ModelFit
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Fit, Measurement
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

RATE = 8000.0
BUZZER = PassBy(700.0, 8.0, 1.5, 1.6, SOUND_SPEED.value)
HUM = PassBy(300.0, 6.0, 1.5, 2.0, SOUND_SPEED.value, -0.05, True)


def _measured(p: PassBy, kind: str, seed: int = 1, **told: Any) -> Measurement:
    source = {k: told.pop(k) for k in ("coherence_s", "wobble") if k in told}
    scene = Scene((Source(p, (1.0, 0.5), **source),), 2.0 * p.passing_time_s, RATE)
    scene = replace(scene, background=Background(25.0))
    options = replace(MeasureOptions(), **{"sound_speed": SOUND_SPEED, "source_kind": kind, **told})
    return measure(Recording.from_array(render(scene, seed), RATE), options)


def _fit(m: Measurement) -> Fit:
    assert m.found, m.detection.reason
    assert m.fit is not None
    return m.fit


def _near(q: Quantity, truth: float, times: float = 4.0) -> bool:
    return abs(q.value - truth) <= times * q.u


def test_a_steady_buzzer_is_fixed_and_constant() -> None:
    f = _fit(_measured(BUZZER, "tone"))
    assert (f.source_model, f.method) == ("fixed", "coherent")
    assert f.passby.acceleration_mps2 == 0.0
    assert f.coherence_time_s == math.inf
    assert _near(f.speed_mps, 8.0)
    assert _near(f.source_hz, 700.0)
    assert _near(f.closest_m, 1.5)


def test_a_buzzer_that_brakes_is_said_to() -> None:
    f = _fit(_measured(BUZZER.with_(acceleration_mps2=-0.8), "tone"))
    assert f.source_model == "fixed"
    assert _near(f.acceleration_mps2, -0.8)
    assert f.acceleration_mps2.u < 0.1
    assert _near(f.speed_mps, 8.0)


def test_a_wheel_s_pitch_goes_with_its_speed() -> None:
    f = _fit(_measured(HUM, "wheel"))
    assert f.source_model == "speed-tied"
    assert _near(f.acceleration_mps2, -0.05)
    assert _near(f.speed_mps, 6.0)
    assert _near(f.source_hz, 300.0)


def test_taped_distance_and_treads_make_a_wheel_surer() -> None:
    alone, taped, counted = (
        _fit(_measured(HUM, "wheel", coherence_s=0.3, **told))
        for told in (
            {},
            {"closest": Quantity(1.5, 0.02, "m")},
            {"cycles_per_metre": Quantity(50.0, 0.3, "1/m")},
        )
    )
    assert taped.speed_mps.u < 0.8 * alone.speed_mps.u
    assert counted.speed_mps.u < 0.5 * alone.speed_mps.u
    assert taped.closest_m.u == pytest.approx(0.02, rel=0.1)
    for f in (alone, taped, counted):
        assert f.method == "incoherent"
        assert _near(f.speed_mps, 6.0)
    # pitch over speed is what was counted
    assert counted.source_hz.value / counted.speed_mps.value == pytest.approx(50.0, abs=0.9)


def test_an_unknown_source_that_could_be_either_is_told_as_both() -> None:
    m = _measured(HUM, "unknown", coherence_s=0.3)
    models = {_fit(m).source_model, *(a.source_model for a in m.alternatives)}
    assert models == {"fixed", "speed-tied"}
    assert _fit(m).source_model == "speed-tied", "the broader answer leads"
    (other,) = m.alternatives
    assert other.speed_mps.u < _fit(m).speed_mps.u


def test_an_unknown_source_that_brakes_with_a_steady_pitch_is_a_tone() -> None:
    m = _measured(BUZZER.with_(acceleration_mps2=-0.8), "unknown")
    assert _fit(m).source_model == "fixed"
    assert _near(_fit(m).acceleration_mps2, -0.8)
    assert not m.alternatives


def test_an_unknown_source_whose_pitch_slows_with_it_is_a_wheel() -> None:
    m = _measured(HUM.with_(acceleration_mps2=-0.3), "unknown")
    assert _fit(m).source_model == "speed-tied"
    assert not m.alternatives


def test_a_line_so_wide_that_the_phase_is_lost() -> None:
    fast = HUM.with_(speed_mps=12.0, acceleration_mps2=0.0)
    f = _fit(_measured(fast, "wheel", coherence_s=0.03))
    assert f.method == "incoherent"
    assert f.coherence_time_s == pytest.approx(0.03, rel=0.5)
    assert _near(f.speed_mps, 12.0)


def test_the_coherence_time_is_that_put_in() -> None:
    found = [
        _fit(_measured(HUM, "wheel", seed, coherence_s=0.3)).coherence_time_s for seed in (0, 1)
    ]
    assert 0.15 < float(np.mean(found)) < 0.8


@pytest.mark.parametrize("taped", [False, True])
def test_only_what_the_sound_decides_scales_with_its_speed(taped: bool) -> None:
    # the pitch fixes v/c and d/v; a taped distance stays what it is
    told: dict[str, Any] = (
        {"closest": Quantity(1.5, 0.01, "m"), "coherence_s": 0.3} if taped else {}
    )
    one = _fit(_measured(HUM, "wheel", **told))
    faster = Quantity(1.01 * SOUND_SPEED.value, 0.5, "m/s")
    other = _fit(_measured(HUM, "wheel", sound_speed=faster, **told))
    assert other.source_hz.value == pytest.approx(one.source_hz.value, rel=1e-4)
    ratio = other.closest_m.value / one.closest_m.value
    assert ratio == pytest.approx(1.0 if taped else 1.01, abs=2e-3)
    if not taped:
        assert other.speed_mps.value / one.speed_mps.value == pytest.approx(1.01, abs=1e-3)


def test_uncertainties_by_index_are_the_roots_of_the_diagonal() -> None:
    fit = ModelFit(
        BUZZER, np.diag([4.0, -1.0, 9.0, 0.0, 1.0]), "coherent",
        unrest=None, evidence=0.0, by_c=np.zeros(5),  # type: ignore[arg-type]
    )  # fmt: skip
    assert [fit.u(i) for i in range(5)] == [2.0, 0.0, 3.0, 0.0, 1.0]
    assert fit.kind == "fixed"
    assert replace(fit, passby=HUM).kind == "speed-tied"
