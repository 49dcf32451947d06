"""From levels to ink: where paper ends and full ink begins, for the spectrogram on any ground."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.sound.spectrogram import Picture

LEAST_SPAN = 40
_QUIET_PERCENTILE = 60.0
_LOUD_PERCENTILE = 99.99
_SOFTNESS = 1.5  # above 1, half-loud tones stay light and ridges stand out


def level_range(picture: Picture) -> tuple[int, int]:
    """Return the levels at which paper ends and full ink begins, from what is in it."""
    heard = picture.levels[picture.levels > 0]
    if heard.size == 0:
        return 0, 255
    quiet, loud = np.percentile(heard, (_QUIET_PERCENTILE, _LOUD_PERCENTILE))
    return int(quiet), max(int(loud), int(quiet) + LEAST_SPAN)


def ink_shares(quiet: int, loud: int) -> npt.NDArray[np.float64]:
    """Return how much ink each level gets, 0 to 1, shape (256,)."""
    share = np.clip((np.arange(256) - quiet) / max(1, loud - quiet), 0.0, 1.0)
    return np.asarray(share**_SOFTNESS, dtype=np.float64)
