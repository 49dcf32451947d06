"""The pass-by that the hand expects, set where and when the sound found it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.hand.predict import Prediction
from wayside.measure.result import Fit
from wayside.physics.passby import PassBy

HAND_PARAMETERS = ("source_hz", "speed_mps", "sound_speed_mps")
"""What makes the expected curve uncertain, in the order of `hand_covariance`."""


def expected_passby(prediction: Prediction, fit: Fit) -> PassBy:
    """Return the predicted pass-by on the recording's clock.

    Speed, source pitch and speed of sound are the hand's; so is the distance, where it was
    taped. The passing time, and else the distance, are taken from the fit.
    """
    closest = prediction.closest_m
    return fit.passby.with_(
        source_hz=prediction.source_hz.value,
        speed_mps=prediction.speed_mps.value,
        sound_speed_mps=prediction.sound_speed_mps.value,
        closest_m=fit.passby.closest_m if closest is None else closest.value,
        acceleration_mps2=0.0,
    )


def hand_covariance(prediction: Prediction) -> npt.NDArray[np.float64]:
    """Return the covariance of source pitch, speed and speed of sound, shape (3, 3)."""
    matrix = np.diag([getattr(prediction, name).u ** 2 for name in HAND_PARAMETERS])
    for i, a in enumerate(HAND_PARAMETERS):
        for j, b in enumerate(HAND_PARAMETERS):
            r = prediction.correlation.get((a, b))
            if r is not None and i != j:
                mixed = r * getattr(prediction, a).u * getattr(prediction, b).u
                matrix[i, j] = matrix[j, i] = mixed
    return np.asarray(matrix, dtype=np.float64)
