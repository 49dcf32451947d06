"""The events a sound track is read as: what it is, its samples in order, what was noticed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.sound.recording import Gap


@dataclass(frozen=True)
class Start:
    """What is known once the first piece is decoded.

    Parameters
    ----------
    rate_hz, n_channels : int
    quantum : float
        Step of the sample format, full scale 1.
    lossy : bool
    claimed_s : float
        Length the container promises (s), 0 when unknown.
    """

    rate_hz: int
    n_channels: int
    quantum: float
    lossy: bool
    claimed_s: float


@dataclass(frozen=True)
class Block:
    """Samples in order, shape (n, n_channels)."""

    samples: npt.NDArray[np.float32]


@dataclass(frozen=True)
class End:
    """What is known after the last piece.

    Parameters
    ----------
    start_s : float
        Time of the first sample on the film's clock (s).
    gaps : tuple of Gap
    notes : tuple of str
    """

    start_s: float
    gaps: tuple[Gap, ...]
    notes: tuple[str, ...]


Event = Start | Block | End
