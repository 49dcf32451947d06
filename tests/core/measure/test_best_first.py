"""Which of several readings of one passing is followed first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wayside.measure.comb import Comb
from wayside.measure.hunt import Sighting
from wayside.measure.readings import as_series, best_first
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
    return best_first([(SIGHTING, one, SOUND) for one in readings])[0][1]


def test_of_two_loud_readings_the_one_that_keeps_its_phase_longer_leads() -> None:
    brief, long = _reading(12_000.0, 30_000.0, 0.05), _reading(9_000.0, 5_000.0, 0.4)
    assert _first(brief, long) is long


def test_a_longer_window_that_explains_far_less_does_not_lead() -> None:
    brief, long = _reading(17_000.0, 30_000.0, 0.05), _reading(3_000.0, 2_700.0, 0.23)
    assert _first(brief, long) is brief


def test_a_phase_that_is_kept_leads_even_so() -> None:
    brief, kept = _reading(17_000.0, 30_000.0, 0.05), _reading(3_000.0, 2_700.0, 6.0, True)
    assert _first(brief, kept) is kept


def _series_of(lone_hz: float, series_hz: float, glide: float = 400.0, lines: int = 3) -> Refined:
    lone = replace(_reading(1800.0, 700.0, 0.1, lines=1), passby=PassBy(lone_hz, 6.0, 3.0, 2.0))
    series = replace(
        _reading(500.0, glide, 0.1, lines=lines), passby=PassBy(series_hz, 5.0, 2.5, 2.1)
    )
    return as_series([(SIGHTING, lone, SOUND), (SIGHTING, series, SOUND)])[0][1]


def test_a_tread_s_lone_loud_line_is_taken_for_the_harmonic_it_is() -> None:
    first = _series_of(1503.0, 500.0)
    # the motion is that of the loud line, the pitch that of the series
    assert first.passby.speed_mps == 6.0
    assert first.passby.source_hz == 501.0
    assert first.harmonics == (1, 2, 3)
    assert _series_of(2510.0, 500.0).harmonics == (1, 2, 3, 5)


@pytest.mark.parametrize(
    ("lone_hz", "glide", "lines"), [(1560.0, 400.0, 3), (1503.0, 20.0, 3), (1503.0, 400.0, 2)]
)
def test_a_lone_line_stays_alone_beside_what_is_no_series_of_its_own(
    lone_hz: float, glide: float, lines: int
) -> None:
    assert _series_of(lone_hz, 500.0, glide, lines).harmonics == (1,)
