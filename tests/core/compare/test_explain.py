"""Which single hand measurement would explain the difference: found again when planted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares

from wayside.compare.compare import compare
from wayside.compare.explain import least
from wayside.compare.result import AGREE, Explanation
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.measure.result import Measurement

Heard = Callable[..., Measurement]


def _planted(setup: Setup, heard: Heard, path: str, wrong_by: float) -> list[Explanation]:
    """Compare a set-up whose one entry is wrong with the recording of the true one."""
    truth = predict(setup)
    entry = setup.entries[path]
    wrong = setup.with_entry(path, entry.with_best(entry.best + wrong_by))
    recording = heard(truth.approach_hz.value, truth.recede_hz.value, 0.02)
    return list(compare(wrong, recording).explanations)


@pytest.mark.parametrize(
    ("path", "wrong_by"),
    [
        ("motion.marker_distance", 1.5),
        ("motion.first_time", 0.25),
        ("motion.second_time", -0.3),
        ("source.rollout", 0.9),
        ("source.count", 3.0),
    ],
)
def test_planted_mistake_is_found_again_to_the_digit(
    wheel: Setup, heard: Heard, path: str, wrong_by: float
) -> None:
    found = {e.path: e for e in _planted(wheel, heard, path, wrong_by)}[path]
    assert found.explains
    assert found.off == pytest.approx(-wrong_by, rel=1e-3)
    assert found.needed.value == pytest.approx(wheel.entries[path].best, rel=1e-4)
    if found.u:
        assert found.sigmas == pytest.approx(found.off / found.u)


@pytest.mark.parametrize("wrong_by", [-1.0, 2.0])
def test_wrong_pitch_is_not_blamed_on_the_speed(tone: Setup, heard: Heard, wrong_by: float) -> None:
    found = {e.path: e for e in _planted(tone, heard, "source.pitch", 10 * wrong_by)}
    assert found["source.pitch"].explains
    assert not found["motion.speed"].explains


def test_needed_value_really_makes_the_two_agree(wheel: Setup, heard: Heard) -> None:
    truth = predict(wheel)
    wrong = wheel.with_entry("source.rollout", wheel.entries["source.rollout"].with_best(9.2))
    recording = heard(truth.approach_hz.value, truth.recede_hz.value, 0.02)
    for e in compare(wrong, recording).explanations:
        if e.explains and not e.assumed and not e.path.endswith("count"):
            entry = wrong.entries[e.path]
            mended = wrong.with_entry(e.path, entry.with_best(e.needed.value))
            assert compare(mended, recording).overall == AGREE, e.path


def test_likeliest_explanation_comes_first(wheel: Setup, heard: Heard) -> None:
    ranked = _planted(wheel, heard, "motion.marker_distance", 1.5)
    explains = [e.explains for e in ranked]
    assert explains == sorted(explains, reverse=True)
    sizes = [abs(e.sigmas) for e in ranked if e.explains and e.sigmas is not None]
    assert sizes == sorted(sizes)


def test_sentence_names_input_value_size_and_stretch(wheel: Setup, heard: Heard) -> None:
    e = {x.path: x for x in _planted(wheel, heard, "motion.marker_distance", 1.5)}[
        "motion.marker_distance"
    ]
    assert e.sigmas is not None
    stretch = f"({abs(e.sigmas):.1f} of its own standard uncertainties"
    for part in ("distance between the markers", "m less", stretch):
        assert part in e.sentence


@pytest.mark.parametrize(
    ("curve", "start", "aim"),
    [
        (lambda x: 430.0 * 343.0 / (343.0 - x), 9.0, (470.0,)),
        (lambda x: 6.1 / (x - 3.75), 4.41, (5.0,)),
        (lambda x: x**3, 0.5, (20.0,)),
        (lambda x: np.exp(x), 1.0, (-3.0,)),
    ],
)
def test_the_solver_finds_what_a_general_one_finds(
    curve: Callable[[Any], Any], start: float, aim: tuple[float, ...]
) -> None:
    # oracle: bounded least squares of scipy.optimize
    low, high = (-5.0, 60.0) if start != 4.41 else (3.76, 60.0)
    target = np.array(aim)[:, None]

    def residuals(x: Any) -> Any:
        return np.atleast_2d(curve(x)) - target

    found, cost, slope = least(residuals, start, low, high, 0.01)
    wanted = least_squares(lambda x: residuals(x)[:, 0], [start], bounds=([low], [high]))
    assert cost <= 2.0 * wanted.cost * (1 + 1e-6) + 1e-9
    assert found == pytest.approx(wanted.x[0], rel=1e-4, abs=1e-4)
    assert slope == pytest.approx(float(np.linalg.norm(wanted.jac)), rel=1e-3)


def test_the_needed_value_is_as_sure_as_the_pitches_that_ask_for_it(heard: Heard) -> None:
    """Weighted least squares by hand: f_a = k_a f0 and f_r = k_r f0, both to 0.5 Hz."""
    setup = setup_from_json(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {"speed": {"value": 9.0, "unit": "m/s", "u": 0}},
            "source": {"kind": "tone", "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8}},
            "air": {
                "formula": "humid-air",
                "temperature": {"value": 20.0, "unit": "°C", "u": 0},
                "humidity": {"value": 50.0, "unit": "%", "u": 0},
                "wind_along": {"value": 0, "unit": "m/s", "u": 0},
            },
        }
    )
    p = predict(setup)
    k = np.array([p.approach_hz.value, p.recede_hz.value]) / 440.0
    # the two readings do not quite fit one source pitch
    read = np.array([p.approach_hz.value + 3.0, p.recede_hz.value + 2.0])
    found = {e.path: e for e in compare(setup, heard(*map(float, read), 0.5)).explanations}
    e = found["source.pitch"]
    best = float(k @ read / (k @ k))
    assert e.needed.value == pytest.approx(best, abs=0.01)
    assert e.needed.u == pytest.approx(0.5 / float(np.sqrt(k @ k)), rel=5e-3)
    assert e.remaining == pytest.approx(float(np.sum((read - k * best) ** 2)) / 0.25, rel=0.01)
    assert e.sigmas == pytest.approx((best - 440.0) / 0.8, rel=0.01)


@pytest.mark.parametrize(("left", "explains"), [(3.6, True), (4.4, False)])
def test_it_explains_while_chi_square_four_is_left(
    tone: Setup, heard: Heard, left: float, explains: bool
) -> None:
    # With the source pitch free only the drop is tested. Its variance is that of two readings
    # and of the speed, which moves them apart.
    p, u = predict(tone), 0.5
    pull = 0.5 * np.sqrt(left * (2.0 * u**2 + (2.0 * _speed_part(tone)) ** 2))
    recording = heard(p.approach_hz.value + pull, p.recede_hz.value - pull, u)
    found = {e.path: e for e in compare(tone, recording).explanations}["source.pitch"]
    assert found.explains == explains
    assert found.remaining == pytest.approx(left, rel=0.05)


def _speed_part(setup: Setup) -> float:
    """Uncertainty that the speed gives each pitch, one up and one down (Hz)."""
    lines = predict(setup).budget["approach_hz"]
    return next(abs(line.contribution) for line in lines if line.path == "motion.speed")
