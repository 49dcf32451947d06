"""The spectrogram's tones: ink on paper, the level range baked into a 256-entry table."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.sound.ink import LEAST_SPAN, ink_shares, level_range
from wayside_app.window.theme.looks import Look, rgb

__all__ = ["LEAST_SPAN", "level_range", "tones"]

Levels = npt.NDArray[np.uint8]


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
    share = ink_shares(quiet, loud)[:, None]
    paper, ink = np.array(rgb(look.paper)), np.array(rgb(look.ink))
    return np.ascontiguousarray(np.rint(paper + (ink - paper) * share).astype(np.uint8))
