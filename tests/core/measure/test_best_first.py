"""Which of several readings of one passing is followed first."""

from __future__ import annotations

import numpy as np

from wayside.measure.comb import Comb
from wayside.measure.hunt import Sighting
from wayside.measure.pipeline import _best_first
from wayside.measure.refine import Refined, Sound
from wayside.measure.search import Candidate
from wayside.physics.passby import PassBy

SOUND = Sound(np.zeros(8, np.float32), 8000.0, 0.0)
SIGHTING = Sighting(Candidate(500.0, 0.1, 0.2, 2.0, 900.0, 900.0, 0), Comb(1, (1,), 900.0))


def _reading(
    gain: float, glide: float, window_s: float, coherent: bool = False, lines: int = 4
) -> Refined:
    p = PassBy(500.0, 60.0, 10.0, 2.0)
    return Refined(p, tuple(range(1, lines + 1)), gain, glide, coherent, window_s)


def _first(*readings: Refined) -> Refined:
    return _best_first([(SIGHTING, one, SOUND) for one in readings])[0][1]


def test_of_two_loud_readings_the_one_that_keeps_its_phase_longer_leads() -> None:
    brief, long = _reading(12_000.0, 30_000.0, 0.05), _reading(9_000.0, 5_000.0, 0.4)
    assert _first(brief, long) is long


def test_a_longer_window_that_explains_far_less_does_not_lead() -> None:
    brief, long = _reading(17_000.0, 30_000.0, 0.05), _reading(3_000.0, 2_700.0, 0.23)
    assert _first(brief, long) is brief


def test_a_phase_that_is_kept_leads_even_so() -> None:
    brief, kept = _reading(17_000.0, 30_000.0, 0.05), _reading(3_000.0, 2_700.0, 6.0, True)
    assert _first(brief, kept) is kept
