"""Wind from a pass each way: exact algebra, simulated sound, true uncertainties, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.intervals import assert_true
from tests.core.measure.recordings import RATE, TONE, options
from tests.core.review.runs import measured

from wayside.compare.heard import Heard
from wayside.errors import InputError
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.physics.limits import far_limits, speeds_along_track
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.review.row import run_row
from wayside.review.wind_pair import (
    STEADY,
    wind_from_measurements,
    wind_from_rows,
    wind_pair,
)
from wayside.simulate.motion import Motion
from wayside.simulate.propagation import hear
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

C = Quantity(343.2, 0.5, "m/s")


def _heard(f0: float, v: float, wind: float, u: float = 0.01, c: float = C.value) -> Heard:
    """Return the far pitches by the physics of the prediction, which knows about wind."""
    forward, backward = speeds_along_track(c, wind, 0.0)
    approach, recede = far_limits(f0, forward, backward, v, 0.0)
    return Heard(Quantity(approach, u, "Hz"), Quantity(recede, u, "Hz"), 0.0, None, None, "fit")


@settings(max_examples=80, deadline=None)
@given(st.floats(100, 3000), st.floats(2, 20), st.floats(2, 20), st.floats(-12, 12))
def test_the_wind_put_in_comes_out(f0: float, v1: float, v2: float, wind: float) -> None:
    got = wind_pair(_heard(f0, v1, wind), _heard(f0, v2, -wind), C)
    assert got.wind_mps.value == pytest.approx(wind, abs=1e-6)
    assert got.source_hz.value == pytest.approx(f0, rel=1e-9)
    assert got.speed_out_mps.value == pytest.approx(v1, rel=1e-8)
    assert got.speed_back_mps.value == pytest.approx(v2, rel=1e-8)


@settings(max_examples=40, deadline=None)
@given(st.floats(2, 20), st.floats(2, 20), st.floats(-12, 12))
def test_turning_the_pair_round_turns_the_wind(v1: float, v2: float, wind: float) -> None:
    one, other = _heard(800.0, v1, wind), _heard(800.0, v2, -wind)
    there, back = wind_pair(one, other, C), wind_pair(other, one, C)
    assert back.wind_mps.value == pytest.approx(-there.wind_mps.value, abs=1e-6)
    assert back.wind_mps.u == pytest.approx(there.wind_mps.u, rel=1e-2)


@pytest.mark.parametrize("wind", [6.0, -9.0])
def test_a_pass_in_wind_sounds_like_another_one_in_calm_air(wind: float) -> None:
    # the whole curve, not only its ends: why one pass alone cannot show the wind
    p = PassBy(700.0, 8.0, 1.5, 0.0, C.value)
    free = C.value**2 - wind**2
    times = np.linspace(-3.0, 3.0, 301)
    windy = p.source_hz * hear(Motion(p), times, p.closest_m, 0.0, wind).rate
    calm = p.with_(
        source_hz=p.source_hz / (1 + p.speed_mps * wind / free),
        speed_mps=p.speed_mps * C.value**2 / (free + p.speed_mps * wind),
        closest_m=p.closest_m * C.value / np.sqrt(free),
    )
    assert calm.pitch(times) == pytest.approx(windy, rel=1e-10)


def _sounding(wind: float, direction: int, seed: int) -> Measurement:
    source = Source(TONE, (1.0, 0.5), direction=direction)
    scene = Scene((source,), 3.2, RATE, background=Background(30.0), wind_mps=wind)
    recording = Recording.from_array(render(scene, seed)[:, 0], RATE)
    got = measure(recording, options())
    assert got.found, got.detection.reason
    return got


def test_simulated_sound_out_and_back_shows_the_wind() -> None:
    out, back = _sounding(6.0, 1, 1), _sounding(6.0, -1, 2)
    got = wind_from_measurements(out, back)
    assert abs(got.wind_mps.value - 6.0) < 3 * got.wind_mps.u
    assert got.wind_mps.u < 1.0
    assert got.source_hz.value == pytest.approx(TONE.source_hz, abs=3 * got.source_hz.u)
    assert got.speed_out_mps.value == pytest.approx(8.0, abs=3 * got.speed_out_mps.u)
    assert "from behind on the way out" in got.sentence
    # each pass alone is off in source pitch by far more than it states
    assert out.fit is not None
    assert abs(out.fit.source_hz.value - TONE.source_hz) > 5 * out.fit.source_hz.u
    by_row = wind_from_rows(run_row("out", out), run_row("back", back))
    assert by_row.wind_mps.value == pytest.approx(got.wind_mps.value)
    assert by_row.wind_mps.u == pytest.approx(got.wind_mps.u)


def test_stated_uncertainties_are_true() -> None:
    rng = np.random.default_rng(11)
    u, winds, sources, speeds = 0.05, [], [], []
    for _ in range(400):
        c = C.value + C.u * rng.standard_normal()
        clock = 1 + 2e-5 * rng.standard_normal()
        f2 = 800.0 * (1 + STEADY * rng.standard_normal())
        pair = []
        for f0, v, wind in ((800.0, 7.0, 4.0), (f2, 6.0, -4.0)):
            h = _heard(f0, v, wind, u, c)
            noisy = [
                Quantity(
                    q.value * clock + u * rng.standard_normal(), np.hypot(u, 2e-5 * q.value), "Hz"
                )
                for q in (h.approach_hz, h.recede_hz)
            ]
            mixed = 4e-10 * noisy[0].value * noisy[1].value / (noisy[0].u * noisy[1].u)
            pair.append(replace(h, approach_hz=noisy[0], recede_hz=noisy[1], correlation=mixed))
        got = wind_pair(pair[0], pair[1], C)
        winds.append((got.wind_mps.value - 4.0) / got.wind_mps.u)
        sources.append((got.source_hz.value - 800.0) / got.source_hz.u)
        speeds.append((got.speed_out_mps.value - 7.0) / got.speed_out_mps.u)
    assert_true(winds, "wind")
    assert_true(speeds, "speed")
    # the drift is put on the second pass alone here, so half of it reaches the mean pitch
    assert_true(sources, "source pitch")


def test_a_drift_of_the_source_is_what_it_is_said_to_look_like() -> None:
    calm = wind_pair(_heard(800.0, 8.0, 0.0), _heard(800.0, 8.0, 0.0), C)
    off = wind_pair(_heard(800.0, 8.0, 0.0), _heard(800.8, 8.0, 0.0), C)
    assert calm.wind_mps.value == pytest.approx(0.0, abs=1e-9)
    assert "no wind along the track shows" in calm.sentence
    assert off.wind_mps.value == pytest.approx(0.1 * calm.mps_per_percent, rel=0.01)


def test_a_hum_cannot_show_the_wind() -> None:
    m = measured()
    assert m.fit is not None
    hum = replace(m, fit=replace(m.fit, source_model="speed-tied"))
    with pytest.raises(InputError, match="buzzer or a whistle"):
        wind_from_measurements(hum, m)


def test_pitches_known_badly_tell_no_wind() -> None:
    got = wind_pair(_heard(800.0, 6.0, 0.0, 3.0), _heard(801.0, 6.0, 0.0, 3.0), C)
    assert "not known well enough" in got.sentence


def test_pitches_no_wind_explains_are_refused() -> None:
    with pytest.raises(InputError, match="more than wind"):
        wind_pair(_heard(800.0, 6.0, 0.0), _heard(840.0, 6.0, 0.0), C)
    with pytest.raises(InputError, match="two pitches"):
        wind_pair(_heard(800.0, -6.0, 0.0), _heard(800.0, 6.0, 0.0), C)
