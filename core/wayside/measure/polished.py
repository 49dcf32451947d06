"""The fit of a coherent source to everything that is heard, and what it was fitted on."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, Rung, climb, climb_all
from wayside.measure.ownnoise import with_own_noise
from wayside.measure.waveform import Waveform
from wayside.physics.passby import PassBy

# a passing heard on one side alone is a long and curved ridge
MOST_STEPS = 400


@dataclass(frozen=True)
class Polished:
    """The maximum-likelihood fit of a coherent source.

    Parameters
    ----------
    rung : Rung
    blocks : Blocks
    level : bool
        True when the rise and fall of the level counted.
    waveform : Waveform or None
        What it was fitted on if not on the blocks.
    brief : bool
        True for a pass of only a few cycles.
    """

    rung: Rung
    blocks: Blocks
    level: bool
    waveform: Waveform | None = None
    brief: bool = False

    def climb(self, start: PassBy, free: tuple[int, ...] = CONSTANT, steps: int = 12) -> Rung:
        """Return the maximum of the likelihood near `start`."""
        if self.waveform is not None:
            return self.waveform.climb(start, free, steps)
        return self.climb_blocks(start, free, steps)

    def climb_blocks(
        self, start: PassBy, free: tuple[int, ...] = CONSTANT, steps: int = 12
    ) -> Rung:
        """Return the maximum near `start` of the likelihood that the blocks show."""
        return whole_fit(self.blocks, start, self.level, free, steps)

    def with_own_noise(self) -> Polished:
        """Return the fit with the noise that the tone brings itself counted."""
        if self.waveform is not None:
            return self
        blocks = with_own_noise(self.blocks, self.rung.passby)
        if blocks is self.blocks:
            return self
        return replace(self, rung=whole_fit(blocks, self.rung.passby, self.level), blocks=blocks)

    def climb_up(self, start: PassBy) -> Rung:
        """Return a maximum that the blocks show, climbed to from short windows."""
        crossing = start.closest_m / start.speed_mps
        first = max(2, round(0.5 * crossing / self.blocks.block_s))
        return self.climb_blocks(climb_all(self.blocks, start, first)[-1].passby)


def whole_fit(
    blocks: Blocks,
    p: PassBy,
    level: bool = False,
    free: tuple[int, ...] = CONSTANT,
    steps: int = MOST_STEPS,
) -> Rung:
    """Return the maximum near `p` with one window over everything."""
    return climb(blocks, p, 4 * blocks.times_s.size, free, steps, level=level)
