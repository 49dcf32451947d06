"""A second pass in the same recording is told, and what it says about the wind."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.core.measure.recordings import RATE, TONE, options, recorded
from tests.core.review.runs import measured, refused

from wayside.measure.comb import Comb
from wayside.measure.hunt import Sighting
from wayside.measure.others import with_others
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.measure.search import Candidate
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

FIRST = TONE.with_(passing_time_s=2.5)


def _measured(second: PassBy, way: int, wind: float = 0.0, kind: str = "tone") -> Measurement:
    middle = 0.5 * (FIRST.passing_time_s + second.passing_time_s)
    tones = (1.0, 0.5)
    scene = Scene(
        (Source(FIRST, tones, off_s=middle), Source(second, tones, direction=way, on_s=middle)),
        second.passing_time_s + 2.5,
        RATE,
        background=Background(30.0),
        wind_mps=wind,
    )
    recording = Recording.from_array(render(scene, 3)[:, 0], RATE)
    got = measure(recording, options(source_kind=kind))
    assert got.found
    return got


def _told(m: Measurement) -> str:
    found = [w for w in m.warnings if ("passes" in w and "measured here" in w) or "again" in w]
    assert len(found) == 1, m.warnings
    return found[0]


@pytest.mark.parametrize("wind", [5.0, -4.0])
def test_out_and_back_shows_the_wind(wind: float) -> None:
    got = _measured(FIRST.with_(passing_time_s=8.5, speed_mps=7.0), -1, wind)
    told = _told(got)
    assert "If it came back the other way" in told
    value, u = map(float, re.search(r"wind of ([\d.]+) ± ([\d.]+) m/s", told).groups())  # type: ignore[union-attr]
    assert abs(value - abs(wind)) < 2.0 * u
    assert u < 1.5
    assert ("from behind on the way out" in told) == (wind > 0)


def test_calm_air_is_told_as_no_wind() -> None:
    assert "no wind along the track shows" in _told(_measured(FIRST.with_(passing_time_s=8.5), -1))


def test_another_source_is_told_as_one() -> None:
    other = PassBy(933.0, 6.0, 1.5, 8.5, FIRST.sound_speed_mps)
    told = _told(_measured(other, 1))
    assert "Another source" in told
    assert "--from" in told


def test_one_pass_is_told_as_one() -> None:
    assert not any("again" in w or "Another" in w for w in measure(recorded(), options()).warnings)


def test_looking_can_be_left_out() -> None:
    scene = Scene(
        (
            Source(FIRST, off_s=5.0),
            Source(FIRST.with_(passing_time_s=8.5), direction=-1, on_s=5.0),
        ),
        11.0,
        RATE,
        background=Background(30.0),
    )
    recording = Recording.from_array(render(scene, 3)[:, 0], RATE)
    got = measure(recording, options(), others=False)
    assert not any("again" in w for w in got.warnings)


def _sighting(at: float, evidence: float = 100.0) -> Sighting:
    candidate = Candidate(700.0, 0.02, 0.3, at, 2.0 * evidence, evidence, 0)
    return Sighting(candidate, Comb(1, (1,), 100.0))


def _at(time_s: float) -> Measurement:
    return measured(700.0, passing_s=time_s)


def test_what_cannot_be_measured_apart_is_still_told() -> None:
    asked = []

    def again(
        start: float, stop: float, own: bool, band: tuple[float, float] | None
    ) -> Measurement:
        asked.append((start, stop, own))
        # seen once, and lost when looked at in its own part
        return _at(12.0) if len(asked) == 1 else refused()

    (told,) = with_others(_at(4.0), [_sighting(12.0)], 30.0, again).warnings
    assert "at about 12 s" in told
    # its own part and that of the first meet half-way
    assert asked[1][1] == asked[2][0] == pytest.approx(8.0)


def test_nothing_else_in_sight_costs_nothing() -> None:
    def again(*asked: object) -> Measurement:
        raise AssertionError("looked again")

    m = _at(4.0)
    assert with_others(m, [_sighting(4.1), _sighting(20.0, 10.0)], 30.0, again) == m


def test_two_passes_of_a_hum_tell_no_wind() -> None:
    def hum(m: Measurement) -> Measurement:
        assert m.fit is not None
        return replace(m, fit=replace(m.fit, source_model="speed-tied"))

    def again(start: float, stop: float, own: bool, band: object) -> Measurement:
        return hum(_at(12.0 if start < 12.0 < stop else 4.0))

    (told,) = with_others(hum(_at(4.0)), [_sighting(12.0)], 30.0, again).warnings
    assert "A source passes again at 12.0 s" in told
    assert "wind" not in told
