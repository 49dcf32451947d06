"""One invented pass-by, heard and measured without fault: a self-consistent stand-in."""

from __future__ import annotations

import functools

import numpy as np

from wayside.measure.options import MeasureOptions
from wayside.measure.result import (
    Detection,
    Fit,
    Measurement,
    ReadingWindow,
    Track,
    TwoWindow,
)
from wayside.physics.passby import PassBy, speed_from_limits
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside.sound.recording import Recording

TRUTH = PassBy(
    source_hz=412.0, speed_mps=9.2, closest_m=2.4, passing_time_s=4.1, sound_speed_mps=343.2
)
DURATION_S = 8.0
RATE_HZ = 16000.0


@functools.cache
def sound_of(truth: PassBy = TRUTH, seconds: float = DURATION_S) -> Recording:
    """Return a rendered recording of the truth."""
    scene = simple_scene(truth, seconds, RATE_HZ, (1.0, 0.5, 0.3), white_tnr_db=6.0)
    return Recording.from_array(render(scene, seed=3), RATE_HZ, "pass.wav")


def measurement_of(truth: PassBy, options: MeasureOptions) -> Measurement:
    """Return what a perfect measurement of the truth would say."""
    t = np.arange(0.3, DURATION_S - 0.3, 0.05)
    rng = np.random.default_rng(1)
    pitch = truth.pitch(t) + rng.normal(0.0, 0.4, t.size)
    track = Track(t, pitch, np.full(t.size, 0.4), np.full(t.size, -20.0))

    def read(span: tuple[float, float]) -> ReadingWindow:
        inside = (t >= span[0]) & (t <= span[1])
        value = float(np.median(pitch[inside])) if inside.any() else float("nan")
        return ReadingWindow(span[0], span[1], Quantity(value, 0.3, "Hz"), -0.4)

    high = read(options.approach_window_s or (0.5, 2.5))
    low = read(options.recede_window_s or (5.6, 7.6))
    speed, source = speed_from_limits(high.pitch.value, low.pitch.value, truth.sound_speed_mps)
    fit = Fit(
        passby=truth,
        approach_hz=Quantity(truth.approach_hz, 0.12, "Hz"),
        recede_hz=Quantity(truth.recede_hz, 0.11, "Hz"),
        source_hz=Quantity(truth.source_hz, 0.08, "Hz"),
        speed_mps=Quantity(truth.speed_mps, 0.09, "m/s"),
        closest_m=Quantity(truth.closest_m, 0.06, "m"),
        passing_time_s=Quantity(truth.passing_time_s, 0.004, "s"),
        acceleration_mps2=Quantity(0.0, 0.0, "m/s^2"),
        source_model="fixed",
        method="coherent",
        coherence_time_s=float("inf"),
        covariance=np.diag([0.08, 0.09, 0.06, 0.004]) ** 2,
        residual_times_s=t,
        residual_cents=1200.0 * np.log2(pitch / truth.pitch(t)),
        residual_u_cents=np.full(t.size, 1.7),
    )
    return Measurement(
        found=True,
        detection=Detection(41.0, 12.0, 0.001, "A glide of the right shape was found."),
        sound_speed_mps=options.sound_speed,
        track=track,
        two_window=TwoWindow(high, low, Quantity(speed, 0.12, "m/s"), Quantity(source, 0.2, "Hz")),
        fit=fit,
        limits=(
            "The speed of sound is known to 0.9 %, which alone makes 0.08 m/s of the speed's "
            "uncertainty: measure the air temperature.",
        ),
        start_s=0.0,
        stop_s=DURATION_S,
    )
