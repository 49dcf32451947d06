"""Placing pieces by their time stamps: holes, overlaps, jitter."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.sound.timeline import Timeline

RATE = 48_000


def _place(pieces: list[tuple[int | None, int]], base: Fraction = Fraction(1, RATE)):
    """Place pieces of (ticks, length); samples count up from 1 so that each is known again."""
    timeline = Timeline(RATE, 1, base)
    count, out = 1, []
    for ticks, n in pieces:
        samples = np.arange(count, count + n, dtype=np.float32)[:, None]
        count += n
        out += [block.copy() for block in timeline.place(ticks, samples)]
    return timeline, np.concatenate(out)[:, 0]


@given(
    start=st.integers(-5_000, 10**9),
    lengths=st.lists(st.integers(1, 3_000), min_size=2, max_size=12),
    holes=st.lists(st.integers(241, 30_000), min_size=1, max_size=12),
)
def test_every_sample_lands_at_its_time(start: int, lengths: list[int], holes: list[int]) -> None:
    ticks, pieces, expected = start, [], {}
    value = 1
    for k, n in enumerate(lengths):
        pieces.append((ticks, n))
        expected.update({ticks - start + i: value + i for i in range(n)})
        value += n
        ticks += n + (holes[k % len(holes)] if k % 2 else 0)
    timeline, sound = _place(pieces)
    assert timeline.start == Fraction(start, RATE)
    truth = np.zeros(len(sound))
    for position, v in expected.items():
        truth[position] = v
    np.testing.assert_array_equal(sound, truth)
    filled = sum(round(g.duration_s * RATE) for g in timeline.gaps)
    assert filled == len(sound) - sum(lengths)


def test_time_stamps_rounded_to_a_millisecond_make_no_holes() -> None:
    pieces = [(round(1000 * k * 1024 / RATE), 1024) for k in range(500)]
    timeline, sound = _place(pieces, Fraction(1, 1000))
    assert timeline.gaps == []
    np.testing.assert_array_equal(sound, np.arange(1, 512_001))
    assert abs(timeline.drift_s) < 0.001


def test_a_clock_that_runs_fast_is_drift_not_holes() -> None:
    pieces = [(round(k * 1024 * 1.0001), 1024) for k in range(3_000)]
    timeline, sound = _place(pieces)
    assert timeline.gaps == []
    assert len(sound) == 3_000 * 1024
    assert timeline.drift_s == pytest.approx(0.0064, abs=0.0002)


def test_overlapping_pieces_are_trimmed() -> None:
    timeline, sound = _place([(0, 2_000), (1_000, 2_000), (3_000, 500)])
    np.testing.assert_array_equal(sound[:2_000], np.arange(1, 2_001))
    np.testing.assert_array_equal(sound[2_000:], np.arange(3_001, 4_501))
    assert timeline.overlap_s == pytest.approx(1_000 / RATE)


def test_a_clock_that_starts_anew_loses_no_sound() -> None:
    timeline, sound = _place([(10 * RATE, 2_000), (0, 2_000), (2_000, 2_000)])
    assert len(sound) == 6_000
    assert timeline.restarts == 1


def test_pieces_without_time_stamps_follow_on() -> None:
    timeline, sound = _place([(None, 100), (None, 100)])
    assert timeline.start == 0
    np.testing.assert_array_equal(sound, np.arange(1, 201))
