"""The spectrogram's tones: ink on paper, the level range baked into a 256-entry table."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.sound.spectrogram import Picture
from wayside_app.window.theme.looks import Look, rgb

Levels = npt.NDArray[np.uint8]

_QUIET_PERCENTILE = 60.0
_LOUD_PERCENTILE = 99.99
_SOFTNESS = 1.5  # above 1, half-loud tones stay light and ridges stand out
LEAST_SPAN = 40


def tones(look: Look, quiet: int, loud: int) -> Levels:
    """Return the table for `look`, paper up to level `quiet`, ink from level `loud`.

    Parameters
    ----------
    look : Look
    quiet, loud : int
        Picture levels, 0 to 255.

    Returns
    -------
    ndarray of uint8, shape (256, 3)
    """
    share = np.clip((np.arange(256) - quiet) / max(1, loud - quiet), 0.0, 1.0)[:, None]
    share = share**_SOFTNESS
    paper, ink = np.array(rgb(look.paper)), np.array(rgb(look.ink))
    return np.ascontiguousarray(np.rint(paper + (ink - paper) * share).astype(np.uint8))


def level_range(picture: Picture) -> tuple[int, int]:
    """Return the levels at which paper ends and full ink begins, from what is in it."""
    heard = picture.levels[picture.levels > 0]
    if heard.size == 0:
        return 0, 255
    quiet, loud = np.percentile(heard, (_QUIET_PERCENTILE, _LOUD_PERCENTILE))
    return int(quiet), max(int(loud), int(quiet) + LEAST_SPAN)
