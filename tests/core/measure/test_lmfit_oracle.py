"""The curve fit against lmfit: the pitch track, and the sound itself sample by sample."""

from __future__ import annotations

import lmfit
import numpy as np
import numpy.typing as npt
import pytest
from tests.core.measure.recordings import SOUND_SPEED, TONE, options, scene_of

from wayside.measure.pipeline import measure
from wayside.measure.result import Fit, Measurement
from wayside.simulate.render import render
from wayside.sound.recording import Recording

FloatArray = npt.NDArray[np.float64]
C = SOUND_SPEED.value
RATE = 8000
NAMES = ("source_hz", "speed_mps", "closest_m", "passing_time_s")


def _emission(t: FloatArray, v: float, d: float, t0: float) -> FloatArray:
    """Square ``c (t - tau) = r`` and solve for tau - t0; written out anew for this test."""
    T = t - t0
    inside = (c2 := C * C) * (v * T) ** 2 + (c2 - v * v) * d * d
    return np.asarray((c2 * T - np.sqrt(inside)) / (c2 - v * v))


def _pitch(t: FloatArray, source_hz: float, v: float, d: float, t0: float) -> FloatArray:
    s = _emission(t, v, d, t0)
    return np.asarray(source_hz / (1 + v * v * s / (C * np.sqrt(d * d + (v * s) ** 2))))


def _measured(seed: int = 3, tnr_db: float = 5.0) -> tuple[FloatArray, Measurement]:
    # without the loudness of the moving source, which the written-out model has not
    scene = scene_of(TONE, rate_hz=RATE, tnr_db=tnr_db).with_(convective=False)
    x = render(scene, seed)[:, 0].astype(np.float64)
    m = measure(Recording.from_array(x, RATE), options(clock_ppm=0.0))
    assert m.found
    return x, m


def _start(fit: Fit) -> lmfit.Parameters:
    p = fit.passby
    start = lmfit.Parameters()
    # off by far more than the uncertainties, yet within a fraction of a cycle
    start.add("source_hz", p.source_hz * (1 + 2e-5), min=1.0)
    start.add("speed_mps", p.speed_mps * 1.003, min=0.1, max=100.0)
    start.add("closest_m", p.closest_m * 1.01, min=0.01)
    start.add("passing_time_s", p.passing_time_s + 1e-4)
    return start


def _own(fit: Fit, name: str) -> tuple[float, float]:
    """Value and uncertainty from the sound alone: without that of the speed of sound."""
    q = getattr(fit, name)
    by_c = q.value * SOUND_SPEED.relative_u if name in ("speed_mps", "closest_m") else 0.0
    return q.value, float(np.sqrt(q.u**2 - by_c**2))


def test_the_sound_itself_fitted_by_lmfit_gives_the_same_answer() -> None:
    """Least squares on every sample is maximum likelihood in white noise."""
    x, m = _measured()
    fit = m.fit
    assert fit is not None
    t = np.arange(x.size) / RATE
    used = (t >= m.start_s) & (t <= m.stop_s)

    def columns(source_hz: float, v: float, d: float, t0: float) -> FloatArray:
        s = _emission(t[used], v, d, t0)
        spread = d / np.hypot(d, v * s)
        angle = 2 * np.pi * source_hz * s
        waves = [w(k * angle) for k in (1, 2) for w in (np.cos, np.sin)]
        return np.column_stack(waves) * spread[:, None]

    noise = 0.1 * 10 ** (-5.0 / 20)

    def residual(p: lmfit.Parameters) -> FloatArray:
        basis = columns(*(p[name].value for name in NAMES))
        amplitudes = np.linalg.lstsq(basis, x[used], rcond=None)[0]
        return np.asarray((x[used] - basis @ amplitudes) / noise)

    found = lmfit.minimize(residual, _start(fit), method="leastsq", scale_covar=False)
    assert found.redchi == pytest.approx(1.0, abs=0.05)
    for name in NAMES:
        value, u = _own(fit, name)
        # two estimators of one likelihood: equal to a small part of their uncertainty
        assert abs(value - found.params[name].value) < 0.25 * u, name
        assert u == pytest.approx(found.params[name].stderr, rel=0.15), name


def test_the_pitch_track_fitted_by_lmfit_agrees() -> None:
    """Frames give each frame's pitch alone; the phase between them is worth more."""
    _, m = _measured()
    fit, track = m.fit, m.track
    assert fit is not None
    assert track is not None
    model = lmfit.Model(
        lambda t, source_hz, speed_mps, closest_m, passing_time_s: _pitch(
            t, source_hz, speed_mps, closest_m, passing_time_s
        ),
        independent_vars=["t"],
    )
    found = model.fit(
        track.pitch_hz,
        _start(fit),
        t=track.times_s,
        weights=1 / track.u_hz,
        scale_covar=False,
    )
    assert 0.5 < found.redchi < 1.7
    for name in NAMES:
        value, u = _own(fit, name)
        theirs = found.params[name]
        assert abs(value - theirs.value) < 3.5 * theirs.stderr, name
        # the fit of the whole phase cannot be less sure than that of its pieces
        assert u < 1.1 * theirs.stderr, name


def test_residuals_are_the_track_about_the_curve_and_scatter_as_stated() -> None:
    _, m = _measured()
    fit, track = m.fit, m.track
    assert fit is not None
    assert track is not None
    p = fit.passby
    curve = _pitch(track.times_s, p.source_hz, p.speed_mps, p.closest_m, p.passing_time_s)
    cents = 1200 * np.log2(track.pitch_hz / curve)
    assert fit.residual_times_s == pytest.approx(track.times_s)
    assert fit.residual_cents == pytest.approx(cents, abs=1e-6)
    # interval, 0.999: chi-square of about as many degrees of freedom as frames
    n = cents.size
    chi_square = float(np.sum((cents / fit.residual_u_cents) ** 2))
    assert abs(chi_square - n) < 3.3 * np.sqrt(2 * n) + 4
