"""Simulated recordings shared by the tests of the measurement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

F32 = npt.NDArray[np.float32]
SOUND_SPEED = Quantity(343.2, 0.5, "m/s")
TONE = PassBy(700.0, 8.0, 1.5, 1.6, SOUND_SPEED.value)
HUM = PassBy(300.0, 6.0, 1.5, 2.5, SOUND_SPEED.value, 0.0, True)
LENGTH_S = 3.2
RATE = 16_000


def options(**told: object) -> MeasureOptions:
    """Return options for a buzzer in air whose speed of sound is known."""
    return replace(
        MeasureOptions(sound_speed=SOUND_SPEED, source_kind="tone"),
        **told,  # type: ignore[arg-type]
    )


def scene_of(
    p: PassBy = TONE, length_s: float = LENGTH_S, rate_hz: float = RATE, tnr_db: float = 30.0
) -> Scene:
    """Return a buzzer with two harmonics passing in white noise."""
    return Scene((Source(p, (1.0, 0.5)),), length_s, rate_hz, background=Background(tnr_db))


def sound_of(p: PassBy = TONE, seed: int = 1, **told: float) -> F32:
    """Return its samples, shape (n,)."""
    return render(scene_of(p, **told), seed)[:, 0]


def recorded(p: PassBy = TONE, seed: int = 1, **told: float) -> Recording:
    """Return it as a recording."""
    return Recording.from_array(sound_of(p, seed, **told), told.get("rate_hz", RATE))


def uncertainties_off(m: Measurement, p: PassBy) -> list[float]:
    """Return how many uncertainties speed, distance, source pitch and passing time are off."""
    assert m.fit is not None
    names = ("speed_mps", "closest_m", "source_hz", "passing_time_s")
    return [abs((q := getattr(m.fit, n)).value - getattr(p, n)) / q.u for n in names]
