"""What the reading windows should show: the pitch predicted there, by averaging it here."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from wayside.compare.compare import compare
from wayside.compare.expected import expected_passby, hand_covariance
from wayside.compare.result import Reading
from wayside.hand.entry import Entry
from wayside.hand.model import evaluate
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.measure.result import Measurement, ReadingWindow, TwoWindow
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

Make = Callable[..., Measurement]
APPROACH, RECEDE = (1.0, 2.0), (6.0, 7.5)


@pytest.fixture
def still(tone: Setup) -> Setup:
    """A buzzer in calm air, so that the plain pass-by is the whole truth."""
    calm = tone.with_entry("air.wind_along", Entry(0.0, "m/s", u=0.0))
    return calm.with_entry("microphone.distance", Entry(3.0, "m", u=0.05))


def _windows(recording: Measurement) -> Measurement:
    def window(ends: tuple[float, float], hz: float) -> ReadingWindow:
        return ReadingWindow(*ends, Quantity(hz, 0.5, "Hz"), math.nan)

    two = TwoWindow(
        window(APPROACH, 451.0), window(RECEDE, 429.0),
        Quantity(8.0, 0.1, "m/s"), Quantity(440.0, 0.3, "Hz"),
    )  # fmt: skip
    return replace(recording, two_window=two)


def _readings(setup: Setup, heard: Make, harmonic: int = 1, **more: object) -> tuple[Reading, ...]:
    p = predict(setup)
    recording = _windows(heard(harmonic * p.approach_hz.value, harmonic * p.recede_hz.value))
    assert recording.fit is not None
    recording = replace(recording, fit=replace(recording.fit, **more))
    return compare(p, recording, harmonic).readings


@pytest.mark.parametrize("harmonic", [1, 3])
def test_the_pitch_in_a_window_is_the_mean_of_the_curve_there(
    still: Setup, heard: Make, harmonic: int
) -> None:
    p = predict(still)
    approach, recede = _readings(still, heard, harmonic)
    # the taped distance, the fitted passing time (4 s)
    curve = PassBy(harmonic * 440.0, 9.0, 3.0, 4.0, p.sound_speed_mps.value)
    for reading, ends, far in (
        (approach, APPROACH, curve.approach_hz),
        (recede, RECEDE, curve.recede_hz),
    ):
        mean = float(np.mean(curve.pitch(np.linspace(*ends, 20_001))))
        assert reading.here_hz == pytest.approx(mean, abs=1e-3)
        assert reading.far_hz == pytest.approx(far, rel=1e-9)
        assert (reading.start_s, reading.stop_s) == ends
        assert f"{ends[0]:.2f} to {ends[1]:.2f} s" in reading.sentence
    assert (approach.name, recede.name) == ("approach", "recede")
    assert approach.here_hz < approach.far_hz
    assert recede.here_hz > recede.far_hz
    assert (approach.read.value, recede.read.value) == (451.0, 429.0)


def test_two_digits_more_than_the_prediction_are_shown(still: Setup, heard: Make) -> None:
    # the difference between here and far away must not be lost in rounding: a tenth of u
    approach, _ = _readings(still, heard)
    u = predict(still).approach_hz.u
    decimals = 1 - math.floor(math.log10(0.1 * u))
    assert f"predicted {approach.here_hz:.{decimals}f} Hz there" in approach.sentence
    assert f"(far away {approach.far_hz:.{decimals}f} Hz)" in approach.sentence


def test_without_a_tape_the_fitted_distance_serves(tone: Setup, heard: Make) -> None:
    calm = tone.with_entry("air.wind_along", Entry(0.0, "m/s", u=0.0))
    near, far = (
        _readings(calm, heard, closest_m=Quantity(d, 0.1, "m"))[0].here_hz for d in (1.0, 9.0)
    )
    c = predict(calm).sound_speed_mps.value
    for here, d in ((near, 1.0), (far, 9.0)):
        curve = PassBy(440.0, 9.0, d, 4.0, c)
        mean = float(np.mean(curve.pitch(np.linspace(*APPROACH, 20_001))))
        assert here == pytest.approx(mean, abs=1e-3)


def test_a_closeness_below_a_metre_is_a_distance(tone: Setup, heard: Make) -> None:
    assert len(_readings(tone, heard, closest_m=Quantity(0.5, 0.1, "m"))) == 2


@pytest.mark.parametrize(
    "lost",
    [
        {"closest_m": Quantity(math.nan, 0.1, "m")},
        {"closest_m": Quantity(0.0, 0.1, "m")},
        {"passing_time_s": Quantity(math.nan, 0.1, "s")},
    ],
)
def test_without_a_place_or_time_there_is_nothing_to_expect(
    tone: Setup, heard: Make, lost: dict[str, Quantity]
) -> None:
    assert _readings(tone, heard, **lost) == ()


def test_without_windows_or_a_fit_there_is_nothing_to_expect(tone: Setup, heard: Make) -> None:
    p = predict(tone)
    recording = heard(p.approach_hz.value, p.recede_hz.value)
    assert compare(p, recording).readings == ()
    assert compare(p, replace(_windows(recording), fit=None)).readings == ()
    taped = predict(tone.with_entry("microphone.distance", Entry(3.0, "m", u=0.05)))
    assert compare(taped, replace(_windows(recording), fit=None)).readings == ()


def test_with_both_moving_the_windows_say_nothing(heard: Make) -> None:
    setup = setup_from_json(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {"speed": {"value": 9.0, "unit": "m/s", "u": 0.15}},
            "source": {
                "kind": "both-moving",
                "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8},
                "observer_speed": {"value": 3.0, "unit": "m/s", "u": 0.1},
            },
            "air": {"formula": "ideal-gas", "temperature": {"value": 20, "unit": "°C", "u": 0.5}},
        }
    )
    assert _readings(setup, heard) == ()


def test_the_expected_curve_is_the_hand_s_where_the_sound_found_it(
    still: Setup, tone: Setup, heard: Make
) -> None:
    p = predict(still)
    fit = heard(452.0, 428.0).fit
    assert fit is not None
    found = expected_passby(p, replace(fit, passby=fit.passby.with_(acceleration_mps2=-0.3)))
    assert found == PassBy(440.0, 9.0, 3.0, 4.0, p.sound_speed_mps.value)
    assert expected_passby(predict(tone), fit).closest_m == fit.passby.closest_m


def test_the_hand_s_covariance_is_that_of_many_draws(wheel: Setup) -> None:
    # every entry drawn from its own distribution, put through the formulas
    rng = np.random.default_rng(8)
    inputs = wheel.inputs
    values = {i.path: i.value + i.u * rng.standard_normal(200_000) for i in inputs}
    given, outcome = evaluate(wheel, values, inputs)
    drawn = np.cov([outcome.source, outcome.speed, given.sound])
    found = hand_covariance(predict(wheel))
    u = np.sqrt(np.diag(drawn))
    assert np.sqrt(np.diag(found)) == pytest.approx(u, rel=0.01)
    assert found / np.outer(u, u) == pytest.approx(drawn / np.outer(u, u), abs=0.02)
    assert found[0, 1] > 0.9 * u[0] * u[1], "a hum's pitch goes with the speed"
