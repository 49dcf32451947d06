"""Clipped samples: flat-topped runs at a channel's own extreme, counted block by block.

A clipped top is a run of at least three equal samples with a steep way in or out. The smooth
top of an unclipped wave, rounded to steps of q, can also give three equal samples, but leaves
them by at most (2.5/1.5)^2 q = 2.8 q (parabola through the top); hence the margin of 4 q.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

SHORTEST_RUN = 3
STEEP_QUANTA = 4.0
LOSSY_LEVEL = 0.99


class ClipCounter:
    """Counts clipped samples over successive blocks.

    Parameters
    ----------
    n_channels : int
    quantum : float
        Step of the sample format, full scale 1 (2^-15 for 16 bit).
    lossy : bool
        True for lossy codecs: they bend flat tops, so runs within 1 % of full scale count too.
    """

    def __init__(self, n_channels: int, quantum: float, lossy: bool) -> None:
        self._quantum = quantum
        self._lossy = lossy
        self._total = 0
        self._high = 0
        self._levels = np.full((n_channels, 2), -np.inf)
        self._counts = np.zeros((n_channels, 2), dtype=np.int64)

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (n_samples, n_channels)."""
        self._total += block.size
        for channel in range(block.shape[1]):
            column = np.ascontiguousarray(block[:, channel])
            for side, values in enumerate((column, -column)):
                self._add_side(channel, side, values)
            if self._lossy and max(column.max(), -column.min()) >= LOSSY_LEVEL:
                starts, stops = _runs(np.abs(column) >= LOSSY_LEVEL)
                self._high += int((stops - starts).sum())

    def _add_side(self, channel: int, side: int, values: npt.NDArray[np.float32]) -> None:
        top = float(values.max())
        if top < self._levels[channel, side]:
            return
        if top > self._levels[channel, side]:
            self._levels[channel, side] = top
            self._counts[channel, side] = 0
        self._counts[channel, side] += _flat_tops(values, top, self._quantum)

    @property
    def fraction(self) -> float:
        """Share of all samples that are clipped, 0 to 1."""
        count = max(int(self._counts.sum()), self._high)
        return min(1.0, count / self._total) if self._total else 0.0


def _flat_tops(values: npt.NDArray[np.float32], top: float, quantum: float) -> int:
    starts, stops = _runs(values == np.float32(top))
    if not len(starts):
        return 0
    last = len(values) - 1
    before = np.where(starts > 0, top - values[np.maximum(starts - 1, 0)], 0.0)
    after = np.where(stops <= last, top - values[np.minimum(stops, last)], 0.0)
    steep = np.maximum(before, after) > STEEP_QUANTA * quantum
    if stops[0] - starts[0] == len(values):
        steep[0] = top >= 1.0 - 2.0 * quantum
    return int((stops - starts)[steep].sum())


def _runs(flags: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False]))))
    starts, stops = edges[::2], edges[1::2]
    long = stops - starts >= SHORTEST_RUN
    return starts[long], stops[long]
