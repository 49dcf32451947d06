"""What is known of a film once it is open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.film.retime import Suspicion
from wayside.film.times import FrameTimes


@dataclass(frozen=True)
class SoundSpan:
    """Where the container puts the sound.

    Parameters
    ----------
    start_s, duration_s : float
        On the film's clock (s); a duration of 0 when unknown.
    """

    start_s: float
    duration_s: float


@dataclass(frozen=True)
class FilmInfo:
    """A film's properties.

    Parameters
    ----------
    name : str
        File name without folders.
    codec : str
        Short name of the picture codec.
    width, height : int
        Size as shown, after rotation (pixels).
    rotation_deg : int
        Counter-clockwise turn from the stored to the shown picture: 0, 90, 180 or 270.
    times : FrameTimes
    sound : SoundSpan or None
        None without a sound track.
    suspicions : tuple of Suspicion
        Signs of slow motion or retiming.
    notes : tuple of str
        One plain sentence each on what was noticed.
    """

    name: str
    codec: str
    width: int
    height: int
    rotation_deg: int
    times: FrameTimes
    sound: SoundSpan | None
    suspicions: tuple[Suspicion, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Picture:
    """One frame.

    Parameters
    ----------
    index : int
        Its place in the film, from 0.
    time_s : float
        Its presentation time (s).
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright and read-only; it may be smaller than the film, see `shrink`.
    shrink : float
        Pixels of `rgb` per pixel of the film, at most 1.
    """

    index: int
    time_s: float
    rgb: npt.NDArray[np.uint8]
    shrink: float
