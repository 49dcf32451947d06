"""Two channels brought together, against the same pass-by heard by one microphone midway.

The rendering traces each path by itself, from the source to where the microphone is; two waves
that are half a period apart cancel (elementary).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.errors import Cancelled
from wayside.jobs import Job
from wayside.listen.steadiness import constant_speed_test
from wayside.measure.midway import Midway
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.measure.swing import Swing, direction_of
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Microphone, Scene, Source
from wayside.sound.recording import Recording

RATE = 16_000.0
P = PassBy(2900.0, 6.0, 1.4, 2.0, SOUND_SPEED.value)
SPACING_M = 0.15
LEAD_S = SPACING_M / SOUND_SPEED.value
QUIET = Background(None)


def _rendered(microphone: Microphone, background: Background = QUIET, seed: int = 1) -> np.ndarray:
    source = Source(P, (1.0, 0.4))
    return render(Scene((source,), 4.0, RATE, microphone=microphone, background=background), seed)


def _measured(samples: np.ndarray) -> tuple[Recording, Measurement]:
    recording = Recording.from_array(samples, RATE)
    m = measure(recording, options())
    assert m.found, m.detection.reason
    return recording, m


def _off(found: np.ndarray, wanted: np.ndarray) -> float:
    """Return the power left over as a share, without the ends that the kernel does not fill."""
    inner = slice(100, -100)
    left = found[inner].astype(float) - wanted[inner]
    return float(np.sum(left**2) / np.sum(wanted[inner].astype(float) ** 2))


@pytest.mark.parametrize("weights", [(0.5, 0.5), (0.8, 0.2)])
def test_together_they_hear_what_one_microphone_midway_hears(weights: tuple[float, float]) -> None:
    pair = _rendered(Microphone(2, SPACING_M))
    midway = Midway(P, Swing(LEAD_S, 1e-7, 0.0, 1e-3, 0.0, 0.0), weights)
    found = midway.mono(Recording.from_array(pair, RATE), 0, len(pair))
    one = _rendered(Microphone(1))[:, 0]
    assert _off(found, one) < 1e-3
    assert _off(pair.mean(axis=1), one) > 0.3


def test_bringing_a_long_stretch_together_stops_when_asked() -> None:
    asked = iter([False, True])
    long = Recording.from_array(np.zeros((300_000, 2), np.float32), RATE)
    midway = Midway(P, Swing(LEAD_S, 1e-7, 0.0, 1e-3, 0.0, 0.0), (0.5, 0.5))
    with pytest.raises(Cancelled):
        midway.mono(long, 0, long.n_samples, Job(cancelled=lambda: next(asked)))


def test_an_error_of_the_lag_leaves_the_phase_of_the_sum_alone() -> None:
    pair = Recording.from_array(_rendered(Microphone(2, SPACING_M)), RATE)
    one = _rendered(Microphone(1))[:, 0]
    # a twelfth of a cycle off at either end
    swing = Swing(LEAD_S + 1.0 / (6.0 * P.source_hz), 1e-7, 0.0, 1e-3, 0.0, 0.0)
    found = Midway(P, swing, (0.5, 0.5)).mono(pair, 0, pair.n_samples)
    start = slice(200, 4000)
    spectra = [np.fft.rfft(x[start] * np.hanning(3800)) for x in (found, one)]
    line = int(np.argmax(np.abs(spectra[1])))
    turned = float(np.angle(spectra[0][line] / spectra[1][line]))
    assert abs(turned) < 0.01
    assert abs(spectra[0][line]) < 0.97 * abs(spectra[1][line])


def test_the_mean_of_two_places_is_farther_than_the_place_between() -> None:
    times = np.linspace(0.5, 3.5, 301)
    swing = Swing(LEAD_S, 1e-7, 0.0, 1e-3, 0.0, 0.0)
    tau = P.emission_time(times)
    x, r = P.position(tau), P.distance(tau)
    half = 0.5 * SPACING_M
    ends = [np.hypot(x + side * half, P.closest_m) for side in (-1.0, 1.0)]
    expected = 0.5 * (ends[0] + ends[1]) - r
    found = swing.later_s(direction_of(P, times), r / P.sound_speed_mps) * P.sound_speed_mps
    assert np.allclose(found, expected, atol=0.01 * expected.max())


@pytest.mark.parametrize("seed", [1, 2])
def test_a_high_tone_is_measured_as_by_one_microphone(seed: int) -> None:
    noise = Background(10.0)
    _, both = _measured(_rendered(Microphone(2, SPACING_M), noise, seed))
    _, one = _measured(_rendered(Microphone(1), noise, seed))
    assert both.midway is not None
    assert one.midway is None
    assert both.fit is not None
    assert one.fit is not None
    assert both.fit.method == "coherent"
    for name, true in (
        ("source_hz", P.source_hz),
        ("closest_m", P.closest_m),
        ("passing_time_s", P.passing_time_s),
    ):
        found, alone = getattr(both.fit, name), getattr(one.fit, name)
        assert abs(found.value - true) < 3.5 * found.u, name
        # two noises at most, and no more than what one hears
        assert 0.5 * alone.u < found.u < 1.2 * alone.u, name
    assert any("midway between the microphones" in w for w in both.warnings)
    assert both.two_window is not None
    assert one.two_window is not None
    for side in ("approach", "recede"):
        read, alone = (getattr(m.two_window, side).pitch.value for m in (both, one))
        assert abs(read - alone) < 0.1, side


def test_a_noisy_channel_counts_less() -> None:
    pair = _rendered(Microphone(2, SPACING_M), Background(15.0))
    rng = np.random.default_rng(3)
    pair[:, 1] += rng.normal(0.0, float(np.std(pair[:, 1])), len(pair)).astype(np.float32)
    _, m = _measured(pair)
    assert m.midway is not None
    assert m.midway.weights[0] > 0.8
    assert m.fit is not None
    assert abs(m.fit.closest_m.value - P.closest_m) < 3.5 * m.fit.closest_m.u


def test_a_channel_of_opposite_sign_is_turned_over() -> None:
    pair = _rendered(Microphone(2, SPACING_M), Background(10.0))
    pair[:, 1] *= -1.0
    _, m = _measured(pair)
    assert m.midway is not None
    assert m.midway.weights[0] > 0.4
    assert m.midway.weights[1] < -0.4
    assert m.fit is not None
    assert m.fit.method == "coherent"
    assert abs(m.fit.closest_m.value - P.closest_m) < 3.5 * m.fit.closest_m.u


def test_channels_that_hear_alike_are_left_as_they_are() -> None:
    _, m = _measured(_rendered(Microphone(2, 0.002), Background(10.0)))
    assert m.midway is None
    assert not any("midway" in w for w in m.warnings)


def test_the_constant_speed_test_hears_them_together() -> None:
    recording, m = _measured(_rendered(Microphone(2, SPACING_M), Background(10.0)))
    told = constant_speed_test(recording, m, options())
    assert told.probability > 0.01
    apart = constant_speed_test(recording, replace(m, midway=None), options())
    assert told.drift_cents.u < 0.5 * apart.drift_cents.u
