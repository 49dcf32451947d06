"""A rider who gets up speed, passes and brakes: the stretch of even speed is found and used.

The motion is integrated from its speed (elementary); the rendering is the project's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.jobs import QUIET
from wayside.listen.steadiness import constant_speed_test
from wayside.measure.asked import Both, loud_tyre
from wayside.measure.comb import Comb
from wayside.measure.hunt import Sighting
from wayside.measure.pipeline import measure
from wayside.measure.refine import Refined, Sound
from wayside.measure.result import Measurement
from wayside.measure.search import Candidate
from wayside.measure.steady import kept_steady, steady_stretch
from wayside.physics.passby import FloatArray, PassBy
from wayside.simulate import render as rendering
from wayside.simulate.motion import Motion
from wayside.simulate.scene import Background, Scene, Source, simple_scene
from wayside.sound.recording import Recording

RATE = 16_000.0
P = PassBy(1500.0, 6.0, 1.8, 6.0, SOUND_SPEED.value)
CROSSING_S = 0.3
LENGTH_S = 12.0


@dataclass(frozen=True)
class Ridden(Motion):
    """From rest to an even speed within 3 s, and back to rest as fast."""

    even_s: tuple[float, float] = (-np.inf, np.inf)

    @property
    def plain(self) -> bool:
        return False

    def speed(self, tau_s: FloatArray) -> FloatArray:
        since = np.asarray(tau_s) - self.passby.passing_time_s
        up = np.clip((since - self.even_s[0] + 3.0) / 3.0, 0.0, 1.0)
        down = np.clip((self.even_s[1] + 3.0 - since) / 3.0, 0.0, 1.0)
        return np.asarray(self.passby.speed_mps * _eased(up) * _eased(down))

    @cached_property
    def _way(self) -> tuple[FloatArray, FloatArray]:
        t = np.linspace(-30.0, 40.0, 140_001)
        speed = self.speed(t)
        way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(t))])
        return t, way - np.interp(self.passby.passing_time_s, t, way)

    def travelled(self, tau_s: FloatArray) -> FloatArray:
        return np.asarray(np.interp(tau_s, *self._way))


def _eased(share: FloatArray) -> FloatArray:
    return share * share * (3.0 - 2.0 * share)


def _sound(
    monkeypatch: pytest.MonkeyPatch,
    even_s: tuple[float, float],
    p: PassBy = P,
    seed: int = 1,
    **source: float,
) -> np.ndarray:
    motion = Ridden(p, even_s=even_s)
    monkeypatch.setattr(rendering, "source_motion", lambda source, index, seed: motion)
    scene = Scene((Source(p, (1.0, 0.5), **source),), LENGTH_S, RATE, background=Background(15.0))
    return rendering.render(scene, seed)[:, 0]


def _measured(samples: np.ndarray, **told: object) -> Measurement:
    m = measure(Recording.from_array(samples, RATE), options(**told))
    assert m.found, m.detection.reason
    return m


def _is_right(m: Measurement) -> None:
    assert m.fit is not None
    for name in ("speed_mps", "source_hz", "closest_m", "passing_time_s"):
        found = getattr(m.fit, name)
        assert abs(found.value - getattr(P, name)) < 3.5 * found.u, name
    assert m.fit.closest_m.u < 0.01 * P.closest_m


FOUND = Refined(P, (1, 2), 1e5, 1e5, True, 10.0)


@pytest.mark.parametrize(
    ("even_s", "said"),
    [
        ((-1.5, 2.0), "kept its speed from"),
        ((-1.5, np.inf), "did not keep its speed before"),
        ((-np.inf, 1.5), "did not keep its speed after"),
    ],
)
@pytest.mark.parametrize("kind", ["tone", "unknown"])
def test_getting_up_speed_and_braking_are_left_out(
    monkeypatch: pytest.MonkeyPatch, even_s: tuple[float, float], said: str, kind: str
) -> None:
    m = _measured(_sound(monkeypatch, even_s), source_kind=kind)
    _is_right(m)
    assert any(said in w for w in m.warnings)
    heard = P.heard_passing_s
    first, last = even_s
    # found to half a crossing time, never too wide by more
    if np.isfinite(first):
        assert heard + first - 0.5 * CROSSING_S < m.start_s < heard - CROSSING_S
    if np.isfinite(last):
        assert heard + CROSSING_S < m.stop_s < heard + last + 0.5 * CROSSING_S
    assert m.two_window is not None
    assert m.two_window.approach.start_s >= m.start_s
    assert m.two_window.recede.stop_s <= m.stop_s


def test_the_constant_speed_test_asks_the_stretch_that_was_used(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    samples = _sound(monkeypatch, (-1.5, 2.0))
    m = _measured(samples)
    test = constant_speed_test(Recording.from_array(samples, RATE), m, options())
    assert test.agrees
    assert test.start_s > m.start_s - 0.1
    assert test.stop_s < m.stop_s + 0.1


@pytest.mark.parametrize("seed", range(2))
def test_an_even_speed_is_used_from_end_to_end(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    samples = _sound(monkeypatch, (-np.inf, np.inf), seed=seed)
    m = _measured(samples)
    assert not any("its speed" in w for w in m.warnings)
    assert steady_stretch(Sound(samples, RATE, 0.0), FOUND) is None


@pytest.mark.parametrize(
    ("source_hz", "speed_mps", "closest_m", "tnr_db"),
    [(800.0, 45.0, 0.5, 20.0), (800.0, 25.0, 0.5, -10.0), (250.0, 5.0, 0.5, 0.0)],
)
def test_a_brief_passing_of_even_speed_is_used_from_end_to_end(
    source_hz: float, speed_mps: float, closest_m: float, tnr_db: float
) -> None:
    # seconds of faint tone follow a passing of a hundredth of a second
    p = PassBy(source_hz, speed_mps, closest_m, 1.5, SOUND_SPEED.value)
    scene = simple_scene(p, 3.0, 44100.0, (1.0, 0.7, 0.6), tnr_db)
    for seed in range(2):
        m = measure(Recording.from_array(rendering.render(scene, seed), 44100.0), options())
        assert m.found, m.detection.reason
        assert not any("its speed" in w for w in m.warnings)


def test_a_cycle_lost_where_it_is_faint_is_no_other_speed(monkeypatch: pytest.MonkeyPatch) -> None:
    samples = _sound(monkeypatch, (-np.inf, np.inf))
    late = int(9.0 * RATE)
    # from 9 s on the source has skipped a cycle and a bit of one sample
    skip = round(RATE / P.recede_hz)
    samples = np.concatenate([samples[:late], samples[late + skip :]])
    assert steady_stretch(Sound(samples, RATE, 0.0), FOUND) is None


def test_a_source_that_wanders_has_no_steady_stretch() -> None:
    scene = Scene(
        (Source(P, (1.0, 0.5), coherence_s=0.2),), LENGTH_S, RATE, background=Background(15.0)
    )
    sound = Sound(rendering.render(scene, 3)[:, 0], RATE, 0.0)
    assert steady_stretch(sound, FOUND) is None


def test_what_may_be_a_tyre_is_not_taken_for_a_tone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    low = P.with_(source_hz=600.0)
    sound = Sound(_sound(monkeypatch, (-1.5, 2.0), low), RATE, 0.0)
    found = Refined(low, (1, 2), 1e5, 1e5, False, 1.0)
    glide = Candidate(
        low.source_hz, low.speed_mps / SOUND_SPEED.value, CROSSING_S, 6.0, 1e5, 0.0, 2
    )
    sighting = Sighting(glide, Comb(1, (1, 2), 1e5), 1e5)

    def cut(kind: str) -> bool:
        kept = kept_steady(sound, found, sighting, SOUND_SPEED.value, QUIET, kind)
        return kept[1] is not sound

    assert cut("tone")
    assert not cut("unknown")
    assert not cut("wheel")


def test_a_braking_hum_is_not_looked_through_for_a_second_bicycle(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its pitch falls to nothing after the pass, which took a minute to be refused."""
    p = P.with_(source_hz=410.0, speed_tied=True)
    samples = _sound(monkeypatch, (-2.0, 1.5), p, 5, coherence_s=0.3)
    asked: list[Both] = []

    def both(sound: Sound, series: Refined) -> Both:
        asked.append(loud_tyre(sound, series))
        return asked[-1]

    # what lies beyond the pass, as it is looked at for a further one
    beyond = options(source_kind="wheel", start_s=p.passing_time_s + 4.0 * CROSSING_S)
    m = measure(Recording.from_array(samples, RATE), beyond, others=False, both=both)
    assert not m.found
    assert asked
    assert not any(asked)
