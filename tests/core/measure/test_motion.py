"""Derivatives of the received phase against central differences, for every motion model."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import FrozenInstanceError

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.measure.ladder import moved, scale_of
from wayside.measure.models import scaling
from wayside.measure.motion import (
    NAMES,
    PhaseModel,
    from_curve,
    from_vector,
    phase_model,
    to_vector,
)
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
C = 343.2


@st.composite
def passbys(draw: st.DrawFn) -> PassBy:
    v, d = draw(st.floats(1.0, 60.0)), draw(st.floats(0.3, 30.0))
    return PassBy(
        draw(st.floats(50.0, 5000.0)),
        v,
        d,
        draw(st.floats(-20.0, 20.0)),
        draw(st.floats(320.0, 360.0)),
        draw(st.floats(-0.05, 0.05)) * v * v / d,
        draw(st.booleans()),
    )


def _times(p: PassBy) -> FloatArray:
    return p.passing_time_s + np.linspace(-4.0, 4.0, 17) * p.closest_m / p.speed_mps


def _size(p: PassBy) -> FloatArray:
    """Changes of the parameters that matter about as much as one another."""
    crossing = p.closest_m / p.speed_mps
    return np.array([p.source_hz, p.speed_mps, p.closest_m, crossing, p.speed_mps / crossing])


def _slope(p: PassBy, index: int, of: Callable[[PhaseModel], FloatArray]) -> FloatArray:
    """Four-point central difference, error of fourth order."""
    step = np.zeros(5)
    step[index] = 1e-4 * _size(p)[index]
    at = [from_vector(p, to_vector(p) + k * step) for k in (-2, -1, 1, 2)]
    y = [of(phase_model(q, _times(p))) for q in at]
    return (y[0] - 8 * y[1] + 8 * y[2] - y[3]) / (12 * step[index])


@settings(max_examples=60, deadline=None)
@given(p=passbys())
def test_derivatives_are_the_slopes_of_phase_and_level(p: PassBy) -> None:
    model = phase_model(p, _times(p))
    for i, name in enumerate(NAMES):
        slope = _slope(p, i, lambda m: m.cycles)
        scale = float(np.max(np.abs(model.jacobian[:, i])))
        assert model.jacobian[:, i] == pytest.approx(slope, rel=1e-6, abs=1e-6 * scale), name
        fades = _slope(p, i, lambda m: np.log(m.spread))
        least = 1e-6 / _size(p)[i]
        assert model.fading[i] == pytest.approx(fades, rel=1e-6, abs=least), name


@settings(max_examples=40, deadline=None)
@given(p=passbys())
def test_phase_and_spreading_are_those_of_the_pass_by(p: PassBy) -> None:
    times = p.passing_time_s + np.linspace(-4.0, 4.0, 33) * p.closest_m / p.speed_mps
    model = phase_model(p, times)
    tau = p.emission_time(times)
    rounding = 1e-12 * p.source_hz * (1.0 + abs(p.passing_time_s))
    assert model.cycles == pytest.approx(p.source_phase(tau), rel=1e-9, abs=10 * rounding)
    assert model.spread == pytest.approx(p.closest_m / p.distance(tau), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    alpha=st.floats(30, 10_000),
    mach=st.floats(1e-3, 0.4),
    s=st.floats(1e-3, 30),
    away=st.floats(-20, 20),
)
def test_the_curve_searched_for_is_a_pass_by(
    alpha: float, mach: float, s: float, away: float
) -> None:
    p = from_curve(alpha, mach, s, 3.0, C)
    expected = alpha * (1.0 - mach * away / math.hypot(1.0, away))
    assert float(p.pitch(3.0 + away * s)) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(p=passbys(), step=st.lists(st.floats(-2, 2), min_size=5, max_size=5))
def test_a_step_never_leaves_what_is_possible(p: PassBy, step: list[float]) -> None:
    q = moved(p, np.array(step), (0, 1, 2, 3, 4))
    assert q.source_hz > 0
    assert q.closest_m > 0
    assert 0 < q.speed_mps < q.sound_speed_mps
    assert np.all(scale_of(q) > 0)
    assert from_vector(p, to_vector(p)) == p


@settings(max_examples=40, deadline=None)
@given(p=passbys(), dc=st.floats(-0.01, 0.01))
def test_with_another_speed_of_sound_the_same_pitch_is_heard(p: PassBy, dc: float) -> None:
    # pitch depends on v/c and d/v alone (and a/v), times of hearing on d/c as well
    c = p.sound_speed_mps
    other = from_vector(p, to_vector(p) + scaling(p) * dc * c).with_(sound_speed_mps=c * (1 + dc))
    times = p.passing_time_s + np.linspace(-4.0, 4.0, 17) * p.closest_m / p.speed_mps
    assert other.pitch(times) == pytest.approx(p.pitch(times), rel=1e-9)


def test_other_than_five_parameters_are_refused() -> None:
    p = PassBy(500.0, 8.0, 2.0, 0.0, C)
    with pytest.raises(ValueError, match=r"argument 2|zip"):
        from_vector(p, np.ones(4))
    with pytest.raises(FrozenInstanceError):
        phase_model(p, np.zeros(3)).cycles = np.zeros(3)  # type: ignore[misc]
    assert phase_model(p, np.linspace(0, 1, 4)).jacobian.shape == (4, len(NAMES))
