"""Whether a source that seemed to keep its phase does, of what nobody says what it is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.benchmarks.bicycles import SOUND_SPEED, recorded
from tests.benchmarks.scenarios import drawn, record, truth

from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure

UNKNOWN = MeasureOptions(sound_speed=SOUND_SPEED)


def test_a_tyre_that_wavers_slowly_is_no_buzzer() -> None:
    # followed as a fixed pitch it was given 18 uncertainties off, and as sure as a buzzer's
    recording, ridden, wheels = recorded("rolls on uneven ground", 2)
    fit = measure(recording, UNKNOWN, others=False).fit
    assert fit is not None
    assert fit.source_model == "speed-tied"
    true = wheels.truth(ridden, fit.passby)
    assert abs(fit.speed_mps.value - true.speed_mps) < 3.0 * fit.speed_mps.u
    assert fit.speed_mps.u > 0.02 * fit.speed_mps.value


@pytest.mark.parametrize("seed", [9025, 9042])
def test_a_buzzer_that_was_coded_still_keeps_its_phase(seed: int) -> None:
    # a sound coder's noise makes a jitter that is marked, but a hundred times less than a tyre's
    run = drawn("tones, any recording", seed)
    told = replace(run.options, source_kind="unknown")
    fit = measure(record(run, seed), told, others=False).fit
    assert fit is not None
    assert (fit.source_model, fit.method) == ("fixed", "coherent")
    assert abs(fit.speed_mps.value - truth(run, seed).speed_mps) < 3.0 * fit.speed_mps.u
