"""Uncertainty bands of pitch curves, against formulas and a Monte Carlo (JCGM 101)."""

from __future__ import annotations

import numpy as np
import pytest

from wayside.physics.bands import pitch_uncertainty
from wayside.physics.passby import PassBy

P = PassBy(400.0, 12.0, 3.0, 2.0, 340.0)
NAMES = ("source_hz", "speed_mps", "closest_m", "passing_time_s")


def test_the_source_pitch_alone_scales_the_curve() -> None:
    t = np.linspace(0, 4, 41)
    u = pitch_uncertainty(P, t, ("source_hz",), [[0.04]])
    assert u == pytest.approx(0.2 * P.pitch(t) / P.source_hz, rel=1e-6)


def test_far_off_the_speed_acts_as_on_the_limit() -> None:
    # derivative of f0 c/(c - v) by hand: f0 c/(c - v)^2
    u = pitch_uncertainty(P, [-1e4], ("speed_mps",), [[0.01]])
    assert u[0] == pytest.approx(0.1 * 400 * 340 / (340 - 12) ** 2, rel=1e-4)


def test_agrees_with_monte_carlo_correlations_included() -> None:
    rng = np.random.default_rng(3)
    sd = np.array([0.3, 0.1, 0.05, 0.01])
    r = np.eye(4)
    r[0, 1] = r[1, 0] = 0.6
    cov = r * np.outer(sd, sd)
    t = np.linspace(0, 4, 9)
    draws = rng.multivariate_normal([getattr(P, n) for n in NAMES], cov, 4000)
    pitches = np.array([P.with_(**dict(zip(NAMES, d, strict=True))).pitch(t) for d in draws])
    assert pitch_uncertainty(P, t, NAMES, cov) == pytest.approx(pitches.std(axis=0), rel=0.06)
