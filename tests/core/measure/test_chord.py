"""Several tones at once: the whole spectrum slides as one piece.

The renderings are the project's own (self-consistency); the ratios of the notes are those of
just intonation, 5/4 and 3/2 (by definition).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.jobs import QUIET
from wayside.measure.chord import is_crowded, together
from wayside.measure.hunt import hunt, straightened
from wayside.measure.pipeline import measure
from wayside.measure.planes import Plane
from wayside.measure.search import Candidate
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

RATE = 22_050.0
RICH = tuple(k**-0.5 for k in range(1, 9))


def _chord(
    p: PassBy, ratios: tuple[float, ...], length_s: float, seed: int = 1, ground: float = 0.0
) -> Recording:
    notes = tuple(Source(p.with_(source_hz=p.source_hz * r), RICH) for r in ratios)
    scene = Scene(notes, length_s, RATE, background=Background(35.0), ground_reflection=ground)
    return Recording.from_array(render(scene, seed)[:, 0], RATE)


@pytest.mark.parametrize(
    ("p", "ratios", "ground"),
    [
        (PassBy(400.0, 15.0, 4.5, 2.3, SOUND_SPEED.value), (1.0, 1.25), 0.6),
        (PassBy(280.0, 31.0, 4.8, 2.3, SOUND_SPEED.value), (1.0, 1.125, 1.5, 1.78), 0.0),
    ],
    ids=["two notes over hard ground", "four notes"],
)
def test_a_chord_that_passes_is_measured(
    p: PassBy, ratios: tuple[float, ...], ground: float
) -> None:
    m = measure(_chord(p, ratios, 4.6, ground=ground), options(source_kind="unknown"))
    assert m.fit is not None, m.detection.reason
    for name in ("speed_mps", "closest_m", "passing_time_s"):
        q = getattr(m.fit, name)
        assert abs(q.value - getattr(p, name)) < 4.0 * q.u, name
    assert m.fit.speed_mps.u < 0.02 * p.speed_mps
    # the pitch told is that of a note, of one of its harmonics, or an octave below
    ratio = 2.0 * m.fit.source_hz.value / p.source_hz / np.array(ratios)
    assert np.min(np.abs(ratio / np.maximum(1, np.rint(ratio)) - 1.0)) < 1e-3


def _plane(mach: float, s: float, tc: float, pitches: tuple[float, ...]) -> Plane:
    """A plane of noise with lines that one factor raises and lowers."""
    times = 0.05 * np.arange(240)
    power = np.random.default_rng(3).exponential(1.0, (times.size, 700)).astype(np.float32)
    u = (times - tc) / s
    for pitch in pitches:
        cell = np.rint(pitch * (1.0 - mach * u / np.sqrt(1.0 + u * u)) / 5.0).astype(int)
        power[np.arange(times.size), cell] += 300.0
    return Plane(power, 0.0, 0.05, 5.0, 0.1)


def test_the_curve_that_straightens_is_the_true_one() -> None:
    pitches = (431.0, 517.0, 700.0, 911.0, 1234.0, 1503.0, 2111.0)
    plane = _plane(0.06, 0.5, 6.1, pitches)
    rough = Candidate(900.0, 0.02, 0.3, 5.6, 2000.0, 0.0, 0)
    found = together([rough], (plane,), QUIET)
    assert found
    for one in found:
        assert one.mach == pytest.approx(0.06, rel=0.1)
        assert one.s == pytest.approx(0.5, rel=0.4)
        assert one.tc == pytest.approx(6.1, abs=0.15)
        assert min(abs(one.alpha_hz / pitch - 1.0) for pitch in pitches) < 0.01


def test_steady_lines_have_no_such_curve() -> None:
    plane = _plane(0.0, 1.0, 6.0, (431.0, 517.0, 700.0, 911.0, 1234.0))
    rough = Candidate(900.0, 0.02, 0.3, 5.6, 2000.0, 0.0, 0)
    assert together([rough], (plane,), QUIET) == []


@pytest.mark.parametrize(("frames", "bins"), [(10, 700), (240, 45), (240, 20)])
def test_too_little_of_a_plane_shows_nothing(frames: int, bins: int) -> None:
    whole = _plane(0.06, 0.5, 6.1, (431.0, 517.0))
    start = 120 - frames // 2
    part = Plane(whole.power[start : start + frames, :bins], 0.05 * start, 0.05, 5.0, 0.1)
    rough = Candidate(170.0, 0.02, 0.3, 6.0, 2000.0, 0.0, 0)
    assert together([rough], (part,), QUIET) == []


def test_crowded_is_where_loud_glides_disagree() -> None:
    one = Candidate(900.0, 0.02, 0.3, 5.0, 2000.0, 0.0, 0)
    other = Candidate(700.0, 0.05, 0.3, 5.2, 2000.0, 0.0, 0)
    harmonic = Candidate(1800.0, 0.021, 0.3, 5.0, 2000.0, 0.0, 0)
    later = Candidate(700.0, 0.05, 0.3, 9.0, 2000.0, 0.0, 0)
    faint = Candidate(700.0, 0.05, 0.3, 5.2, 100.0, 0.0, 0)
    assert is_crowded([one, other])
    for beside in (harmonic, later, faint):
        assert not is_crowded([one, beside])


def test_a_loud_tone_seen_roughly_is_looked_for_again() -> None:
    p = PassBy(1050.0, 7.0, 1.6, 5.0, SOUND_SPEED.value)
    scene = Scene((Source(p, (1.0,)),), 8.6, RATE, background=Background(60.0))
    recording = Recording.from_array(render(scene, 1)[:, 0], RATE)
    sightings = hunt(recording, 0.0, 8.6, None, SOUND_SPEED.value, QUIET)
    again = straightened(recording, 0.0, 8.6, None, sightings, QUIET)
    assert again
    best = again[0].candidate
    assert best.mach == pytest.approx(7.0 / SOUND_SPEED.value, rel=0.25)
    assert abs(best.tc - 5.0) < 0.3
    faint = [s for s in sightings if s.candidate.evidence < 0.0]
    assert straightened(recording, 0.0, 8.6, None, faint, QUIET) == []
