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
    for part in ("distance between the markers", "m less", "own standard uncertainties"):
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
