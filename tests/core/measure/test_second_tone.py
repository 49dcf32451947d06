"""Two sources at once are told; harmonics of one source are not taken for two."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.measure.recordings import RATE, options

from wayside.jobs import Job
from wayside.measure.pipeline import measure
from wayside.measure.result import Fit, Measurement
from wayside.measure.second_tone import SecondTone, apart, off_harmonic, other_tyre, sentence
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

FIRST = PassBy(700.0, 6.0, 2.0, 2.6, 343.2)


def _measured(second: Source, seed: int = 1) -> Measurement:
    scene = Scene((Source(FIRST, (1.0, 0.5)), second), 5.2, RATE, background=Background(30.0))
    got = measure(Recording.from_array(render(scene, seed)[:, 0], RATE), options())
    assert got.found
    return got


def _told(m: Measurement) -> list[str]:
    return [w for w in m.warnings if "at once" in w or "second tone" in w]


def test_two_sources_at_once_are_told() -> None:
    second = Source(PassBy(971.0, 7.5, 1.5, 2.8, 343.2), (1.0, 0.4), level_rms=0.05)
    (told,) = _told(_measured(second))
    assert "Two sources" in told
    assert "--band" in told


def test_of_two_near_pitches_one_is_measured_in_its_own_band() -> None:
    got = _measured(Source(PassBy(755.0, 8.4, 1.5, 3.0, 343.2), (1.0, 0.4), 0.08))
    (told,) = _told(got)
    assert "only the band of the first is measured" in told
    # the band that is offered holds one of the two and not the other
    low, high = (float(x) for x in told.split("--band ")[1].split(" looks")[0].split())
    assert (low < 700.0 < high) != (low < 755.0 < high)
    assert got.fit is not None
    speed, true = got.fit.speed_mps, 8.4 if got.fit.source_hz.value > 727.0 else 6.0
    assert abs(speed.value - true) < max(3.0 * speed.u, 0.01 * true)


def test_two_pitches_that_cross_are_refused_or_right() -> None:
    scene = Scene(
        (
            Source(FIRST, (1.0, 0.5)),
            Source(PassBy(712.0, 8.4, 1.5, 2.9, 343.2), (1.0, 0.4), 0.1),
        ),
        5.2,
        RATE,
        background=Background(30.0),
    )
    got = measure(Recording.from_array(render(scene, 1)[:, 0], RATE), options())
    if got.fit is None:
        assert got.detection.reason.startswith("No pass-by found")
    else:
        u = got.fit.speed_mps.u
        assert min(abs(got.fit.speed_mps.value - v) for v in (6.0, 8.4)) < max(4.0 * u, 0.05)


@pytest.mark.parametrize("harmonics", [(1.0,), (1.0, 0.5, 0.3, 0.3), (0.0, 1.0, 0.8, 0.0, 0.5)])
def test_one_source_is_told_as_one(harmonics: tuple[float, ...]) -> None:
    scene = Scene((Source(FIRST, harmonics),), 5.2, RATE, background=Background(25.0))
    got = measure(Recording.from_array(render(scene, 2)[:, 0], RATE), options())
    assert got.found
    assert _told(got) == []


@given(st.integers(1, 12), st.integers(1, 4))
def test_harmonics_stand_in_small_ratios(k: int, q: int) -> None:
    assert off_harmonic(k / q) < 1e-12


@given(st.integers(1, 6), st.floats(-0.004, 0.004))
def test_off_a_multiple_by_a_little_is_that_little(k: int, off: float) -> None:
    assert off_harmonic(k * (1.0 + off)) == pytest.approx(abs(off), abs=1e-12)


def test_a_fourth_and_a_tritone() -> None:
    # a pure fourth is 4/3; the equal-tempered tritone, half an octave, is no small ratio
    assert off_harmonic(4 / 3) < 1e-12
    assert off_harmonic(math.sqrt(2.0)) > 0.05


@given(v=st.floats(5.0, 45.0), d=st.floats(0.5, 15.0), share=st.floats(0.2, 0.8))
def test_a_piece_of_the_same_glide_is_not_apart(v: float, d: float, share: float) -> None:
    p = PassBy(3000.0, v, d, 2.0, 343.2)
    # a glide of its own pitch and speed that touches the first where it is on its way
    at, width = 2.0 + d / 343.2 - share * d / v, 0.15 * d / v
    here = p.pitch(np.array([at - 0.2 * width, at, at + 0.2 * width]))
    mach = float((here[0] - here[2]) / (0.4 * width)) * width / float(here[1])
    speed = 343.2 * mach
    piece = PassBy(float(here[1]), speed, speed * width, at - mach * width, 343.2)
    assert apart(p, piece) < 0.003
    # a tone in no simple ratio is apart wherever it passes
    assert apart(p, p.with_(source_hz=3000.0 * 1.447, passing_time_s=at)) > 0.01


def test_a_fast_tone_cut_by_a_narrow_band_is_not_two_sources() -> None:
    """Its glide is wider than the band in which a second tone is looked for."""
    p = PassBy(3000.0, 40.0, 6.0, 0.75, 343.2)
    scene = Scene((Source(p, (1.0,)),), 1.5, RATE, background=Background(-5.0))
    for seed in (1, 2):
        m = measure(Recording.from_array(render(scene, seed)[:, 0], RATE), options())
        assert m.found, m.detection.reason
        assert not _told(m)


def test_a_fast_tone_s_own_glide_is_not_measured_again() -> None:
    """The middle of its fall lies above its pitch, and its pieces lie several per cent off it."""
    p = PassBy(3000.0, 45.0, 15.0, 1.44, 343.2)
    scene = Scene((Source(p, (1.0, 0.7, 0.5)),), 2.9, 44_100.0, background=Background(-15.0))
    steps: list[str] = []
    job = Job(report=lambda _, what: steps.append(what))
    m = measure(Recording.from_array(render(scene, 0)[:, 0], 44_100.0), options(), job)
    assert m.found, m.detection.reason
    assert "Looking at a further pass" not in steps


@pytest.mark.parametrize("share", [0.4, 0.25])
def test_what_a_throbbing_buzzer_sounds_beside_its_tone_is_no_other_source(share: float) -> None:
    # a level that goes up and down is three tones side by side; at their own level of 0.1 the
    # outer ones were once refused as another source, or a curve laid from one to the next
    p = PassBy(1748.0, 3.87, 1.59, 2.6, 343.2)
    beside = (Source(p.with_(source_hz=f), (1.0,), 0.1 * share) for f in (1722.3, 1773.7))
    scene = Scene((Source(p, (1.0,)), *beside), 5.2, RATE, background=Background(30.0))
    got = measure(Recording.from_array(render(scene, 1)[:, 0], RATE), options())
    assert got.found, got.detection.reason
    assert got.fit is not None
    speed = got.fit.speed_mps
    assert speed.u < 0.005 * p.speed_mps
    assert abs(speed.value - p.speed_mps) < 3.0 * speed.u


def _hum(hz: float, passing_s: float, tied: bool = True) -> Fit:
    """Return what is asked of a hum: its pass-by, its pitch and when it passes."""
    p = PassBy(hz, 5.0, 2.0, passing_s, speed_tied=tied)
    given = {
        "source_hz": Quantity(hz, 0.1, "Hz"),
        "passing_time_s": Quantity(passing_s, 0.01, "s"),
        "speed_mps": Quantity(5.0, 0.3, "m/s"),
        "approach_hz": Quantity(p.approach_hz, 0.1, "Hz"),
        "recede_hz": Quantity(p.recede_hz, 0.1, "Hz"),
    }
    return cast(Fit, SimpleNamespace(passby=p, **given))


def test_two_hums_a_wheelbase_apart_are_those_of_one_bicycle() -> None:
    front = _hum(300.0, 2.0)
    # 1.05 m behind at 5 m/s
    assert other_tyre(front, _hum(303.0, 2.21))
    assert other_tyre(_hum(303.0, 2.21), front)
    # a rider beside, a rider behind, another make of tyre, and a buzzer
    assert not other_tyre(front, _hum(303.0, 2.02))
    assert not other_tyre(front, _hum(303.0, 2.6))
    assert not other_tyre(front, _hum(315.0, 2.21))
    assert not other_tyre(front, _hum(303.0, 2.21, tied=False))


def test_the_other_tyre_s_hum_is_told_with_when_it_passes() -> None:
    front, rear = _hum(300.0, 2.0), _hum(303.0, 2.21)
    assert "passes 0.21 s later" in sentence(front, SecondTone(rear, False))
    assert "passed 0.21 s before" in sentence(rear, SecondTone(front, False))
