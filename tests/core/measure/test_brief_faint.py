"""Brief, faint passes that chance used to lose: a phase judged lost, a pitch halved.

Recordings of the benchmark near the bound, whose truth is known (self-consistency).
"""

from __future__ import annotations

import pytest
from tests.benchmarks.cells import Cell
from tests.benchmarks.near_bound import one

CELL = Cell(80.0, 45.0, 1.5, 6, -10.0)


@pytest.mark.parametrize(
    "seed",
    [
        # noise makes short windows explain more than the whole
        134,
        # noise looks like a line between the harmonics
        82,
    ],
)
def test_what_noise_does_in_single_windows_or_lines_is_no_reason(seed: int) -> None:
    outcome = one((CELL, seed))
    assert outcome.found, outcome.reason
    assert not outcome.gross(CELL.passby(0.0))
    # the cell's attainable error is 1.8 bounds
    assert abs(outcome.errors["speed_mps"]) < 4.0 * outcome.us["speed_mps"]
