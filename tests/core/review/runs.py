"""Measurements and set-ups for the review of many runs, built without any sound."""

from __future__ import annotations

import math

import numpy as np

from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.measure.result import Detection, Fit, Measurement
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

SOUND = Quantity(343.2, 1.0, "m/s")


def measured(
    source_hz: float = 500.0,
    speed_mps: float = 6.0,
    u_source_hz: float = 0.1,
    u_own_mps: float = 0.02,
    sound_speed: Quantity = SOUND,
    passing_s: float = 4.0,
) -> Measurement:
    """Return a measurement whose speed shares the uncertainty of the speed of sound."""
    p = PassBy(source_hz, speed_mps, 2.0, passing_s, sound_speed.value)
    u_speed = math.hypot(u_own_mps, speed_mps * sound_speed.relative_u)
    u_pitch = math.hypot(u_source_hz, source_hz * u_own_mps / sound_speed.value)
    fit = Fit(
        p,
        Quantity(p.approach_hz, u_pitch, "Hz"),
        Quantity(p.recede_hz, u_pitch, "Hz"),
        Quantity(source_hz, u_source_hz, "Hz"),
        Quantity(speed_mps, u_speed, "m/s"),
        Quantity(2.0, 0.05, "m"),
        Quantity(passing_s, 0.01, "s"),
        Quantity(0.0, 0.0, "m/s^2"),
        "fixed",
        "coherent",
        math.inf,
        np.diag([u_source_hz**2, u_speed**2, 0.05**2, 0.01**2]),
        np.zeros(0),
        np.zeros(0),
        np.zeros(0),
    )
    return Measurement(
        True, Detection(90.0, 30.0, 0.005, "A tone glides down."), sound_speed, fit=fit
    )


def refused(reason: str = "No pass-by found: there is no tone.") -> Measurement:
    """Return the measurement of a recording without a pass-by."""
    return Measurement(False, Detection(3.0, 30.0, 0.005, reason), Quantity(343.2, 1.0, "m/s"))


def buzzer(speed_mps: float = 6.0, pitch_hz: float = 500.0) -> Setup:
    """Return a set-up for a buzzer that rides past."""
    return setup_from_json(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {"speed": {"value": speed_mps, "unit": "m/s", "u": 0.1}},
            "source": {"kind": "tone", "pitch": {"value": pitch_hz, "unit": "Hz", "u": 0.5}},
            "air": {"formula": "humid-air", "temperature": {"value": 20, "unit": "°C", "u": 0.5}},
        }
    )
