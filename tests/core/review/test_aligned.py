"""Two glides on one time axis."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.intervals import assert_true
from tests.core.measure.recordings import TONE, options, recorded
from tests.core.review.runs import buzzer, measured, refused

from wayside.errors import InputError
from wayside.hand.predict import predict
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.review.aligned import Glide, align, measured_glide, predicted_glide


@pytest.fixture(scope="module")
def heard() -> Measurement:
    got = measure(recorded(), options())
    assert got.found
    return got


def test_a_run_over_itself_differs_by_nothing(heard: Measurement) -> None:
    glide = measured_glide(heard)
    got = align(glide, glide)
    assert got.cents == pytest.approx(np.zeros(got.times_s.size), abs=1e-12)
    assert got.times_s[0] < -1.0
    assert got.times_s[-1] > 1.0
    # frames scatter about the curve as far as they say
    assert np.sum(np.abs(got.frames_cents) < 2 * got.frames_u_cents) > 0.85 * got.frames_s.size


def test_a_later_run_is_moved_to_the_same_passing(heard: Measurement) -> None:
    later = measure(recorded(TONE.with_(passing_time_s=1.8), seed=4), options())
    got = align(measured_glide(later), measured_glide(heard))
    assert np.max(np.abs(got.cents)) < 3 * np.max(got.u_cents)
    assert np.max(np.abs(got.cents)) < 2.0


def test_a_higher_source_is_higher_by_its_interval(heard: Measurement) -> None:
    glide = measured_glide(heard)
    up = replace(glide, passby=glide.passby.with_(source_hz=glide.passby.source_hz * 2 ** (1 / 12)))
    # a semitone is a hundred cents (definition)
    assert align(up, glide).cents == pytest.approx(np.full(241, 100.0), abs=1e-9)
    assert align(glide, up).cents == pytest.approx(np.full(241, -100.0), abs=1e-9)


def test_far_out_the_band_is_that_of_the_pitches(heard: Measurement) -> None:
    glide = measured_glide(heard)
    wide = replace(glide, start_s=-60.0, stop_s=60.0)
    exact = replace(wide, covariance=np.zeros((5, 5)))
    got = align(wide, exact)
    fit = heard.fit
    assert fit is not None
    for q, u in ((fit.approach_hz, got.u_cents[0]), (fit.recede_hz, got.u_cents[-1])):
        assert u == pytest.approx(1200 / np.log(2) * q.relative_u, rel=0.05)


def test_the_band_is_true() -> None:
    m = measured(u_own_mps=0.05)
    glide = replace(measured_glide(m), start_s=-2.0, stop_s=2.0)
    rng = np.random.default_rng(5)
    p = glide.passby
    names = ("source_hz", "speed_mps", "closest_m", "passing_time_s", "sound_speed_mps")
    values = np.array([getattr(p, n) for n in names])
    truth = replace(glide, covariance=np.zeros((5, 5)))
    scores = []
    for draw in rng.multivariate_normal(values, glide.covariance, 300):
        off = replace(glide, passby=p.with_(**dict(zip(names, map(float, draw), strict=True))))
        # on the clock of the truth: the passing itself is uncertain
        shifted = off.passby.pitch(np.array([-0.3]) + p.passing_time_s)
        centre = p.pitch(np.array([-0.3]) + p.passing_time_s)
        scores.append(float(1200 * np.log2(shifted / centre)[0]))
    at = align(replace(glide, start_s=-0.3, stop_s=2.0), truth, 5)
    assert_true(np.array(scores) / at.u_cents[0], "band")


def test_a_prediction_beside_its_run(heard: Measurement) -> None:
    prediction = predict(buzzer(8.0, 700.0))
    expected = predicted_glide(prediction, heard)
    got = align(measured_glide(heard), expected)
    assert got.frames_s.size > 10
    # speed known to 0.1 m/s of 343, pitch to 0.5 Hz of 700, both as cents
    far = 1200 / np.log(2) * np.hypot(0.1 / (344 - 8), 0.5 / 700)
    assert got.u_cents[0] == pytest.approx(far, rel=0.1)
    assert np.max(np.abs(got.cents)) < 2 * np.max(got.u_cents)


def test_what_cannot_be_aligned_is_refused(heard: Measurement) -> None:
    with pytest.raises(InputError, match="no glide"):
        measured_glide(refused())
    glide: Glide = measured_glide(heard)
    with pytest.raises(InputError, match="in common"):
        align(replace(glide, stop_s=-0.5), replace(glide, start_s=0.5))
