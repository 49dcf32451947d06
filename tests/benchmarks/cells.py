"""The grid of simulated pass-bys, and the recording and bound of each cell."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from tests.benchmarks.crb import Tone, bound

from wayside.physics.passby import PassBy
from wayside.simulate.scene import Scene, simple_scene

SOUND_SPEED_MPS = 343.2
SOURCE_HZ = (80.0, 250.0, 800.0, 3000.0)
SPEED_MPS = (2.0, 5.0, 11.0, 25.0, 45.0)
CLOSEST_M = (0.5, 1.5, 5.0, 15.0)
HARMONICS = (1, 3, 6)
TNR_DB = (20.0, 10.0, 0.0, -10.0, -15.0)


@dataclass(frozen=True)
class Cell:
    """One cell: a pass-by and a tone-to-noise ratio (power at the closest point, full band)."""

    source_hz: float
    speed_mps: float
    closest_m: float
    n_harmonics: int
    tnr_db: float

    @property
    def name(self) -> str:
        """A short name that identifies the cell in tables."""
        return (
            f"{self.source_hz:g}Hz-{self.speed_mps:g}mps-{self.closest_m:g}m-"
            f"{self.n_harmonics}h-{self.tnr_db:+g}dB"
        )

    @property
    def rate_hz(self) -> float:
        """Sample rate: the phone's 44.1 kHz, or 48 kHz where the top harmonic needs it."""
        highest = self.n_harmonics * self.passby(0.0).approach_hz
        return 44100.0 if highest < 20000 else 48000.0

    @property
    def duration_s(self) -> float:
        """Length: ±4 d/v, and at least 3 s."""
        return max(3.0, 8.2 * self.closest_m / self.speed_mps)

    @property
    def amplitudes(self) -> tuple[float, ...]:
        """Relative amplitudes, falling as 1/sqrt(k)."""
        return tuple(1 / math.sqrt(k) for k in range(1, self.n_harmonics + 1))

    def passby(self, passing_time_s: float) -> PassBy:
        """Return the true pass-by."""
        return PassBy(
            self.source_hz, self.speed_mps, self.closest_m, passing_time_s, SOUND_SPEED_MPS
        )

    def scene(self, seed: int) -> Scene:
        """Return the scene of one run: the passing moment differs from run to run."""
        # heard in the middle, so that ±4 d/v lies on either side of what is heard
        middle = self.duration_s / 2 - self.closest_m / SOUND_SPEED_MPS
        shift = np.random.default_rng([seed, 77]).uniform(-0.01, 0.01) * self.duration_s
        scene = simple_scene(
            self.passby(middle + shift),
            self.duration_s,
            self.rate_hz,
            self.amplitudes,
            self.tnr_db,
        )
        return scene.with_(convective=False)

    def tone(self) -> Tone:
        """Return the pass-by as the bound sees it."""
        norm = math.sqrt(sum(a * a for a in self.amplitudes) / 2)
        return Tone(
            self.source_hz,
            self.speed_mps,
            self.closest_m,
            self.duration_s / 2 - self.closest_m / SOUND_SPEED_MPS,
            SOUND_SPEED_MPS,
            tuple(a / norm for a in self.amplitudes),
            tuple(0.3 * k * k for k in range(self.n_harmonics)),
            10 ** (-self.tnr_db / 20),
        )

    def bound(self) -> dict[str, float]:
        """Return the Cramér-Rao bound of the four parameters in this cell."""
        return bound(self.tone(), self.duration_s, self.rate_hz)


def all_cells() -> list[Cell]:
    """Return the whole grid (1,200 cells)."""
    grid = itertools.product(SOURCE_HZ, SPEED_MPS, CLOSEST_M, HARMONICS, TNR_DB)
    return [Cell(*values) for values in grid]


def some_cells(count: int, tnr_db: float | None = None) -> list[Cell]:
    """Return `count` cells that take every level of every factor about equally often.

    Each factor runs through its own shuffled levels, as in a Latin hypercube; the choice is
    the same each time.
    """
    cells = all_cells()
    if count >= len(cells):
        return [c for c in cells if tnr_db is None or c.tnr_db == tnr_db]
    rng = np.random.default_rng(2)
    columns = []
    for levels in (SOURCE_HZ, SPEED_MPS, CLOSEST_M, HARMONICS, TNR_DB):
        repeated = np.resize(rng.permutation(np.array(levels)), count)
        columns.append(rng.permutation(repeated).tolist())
    picked = [Cell(f, v, d, int(k), s) for f, v, d, k, s in zip(*columns, strict=True)]
    unique = list(dict.fromkeys(picked))
    return [c for c in unique if tnr_db is None or c.tnr_db == tnr_db]
