"""Films show the wheel where the truth says; files are written whole or not at all."""

from __future__ import annotations

import json
import math
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from wayside.errors import Cancelled, InputError
from wayside.jobs import Job
from wayside.physics.passby import PassBy
from wayside.simulate.film import FilmOptions, frame_ticks, write_aac
from wayside.simulate.motion import Motion
from wayside.simulate.picture import View
from wayside.simulate.presets import PRESETS, make_preset
from wayside.simulate.render import render
from wayside.simulate.scene import Recorder, Scene, Source, simple_scene
from wayside.simulate.store import make_sample, truth_path
from wayside.simulate.truth import crossing_time

PASS = PassBy(880.0, 6.0, 3.0, 1.0, 343.0)


@pytest.mark.parametrize("direction", [1, -1])
def test_front_wheel_is_drawn_where_a_pinhole_sees_it(direction: int) -> None:
    # pinhole camera: x px = x m * (half width / tan(half field)) / distance (elementary optics)
    view = View(480, 270, 3.0, 75.0, (-1.5, 1.5))
    place = 0.4
    changed = np.any(view.draw(place, direction) != view.background, axis=2)
    columns = np.flatnonzero(changed.any(axis=0))
    front = (columns.max() + 1) if direction > 0 else columns.min()
    scale = 240 / math.tan(math.radians(37.5)) / 3.0
    wheel_edge = 240 + (place + direction * 0.31) * scale
    assert front == pytest.approx(wheel_edge, abs=2.5)


def test_crossing_time_of_a_slowing_source() -> None:
    # x = v t - a t^2 / 2 solved by the quadratic formula
    motion = Motion(PASS.with_(acceleration_mps2=-0.5), -1)
    t = (6.0 - math.sqrt(36 - 2 * 0.5 * 1.5)) / 0.5
    assert crossing_time(motion, -1.5) == pytest.approx(1.0 + t, abs=1e-9)


def test_frame_times_are_uneven_rising_and_of_the_right_rate() -> None:
    times = np.array(frame_ticks(FilmOptions(), 20.0, 3)) / 90000
    steps = np.diff(times)
    assert (steps > 0).all()
    assert steps.std() > 0.001
    assert times[0] == 0
    assert len(times) == pytest.approx(20 * 30 * 0.98, abs=20)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_film_keeps_frame_times_rotation_and_sound(tmp_path: Path, rotation: int) -> None:
    path = tmp_path / "pass.mp4"
    options = FilmOptions(rotation_deg=rotation)
    scene = simple_scene(PASS, 2.0, 48000.0)
    facts = make_sample(path, scene, 5, options)
    expected = np.array(frame_ticks(options, 2.0, 5)) / 90000
    with av.open(str(path)) as film:
        frames = list(film.decode(video=0))
    assert [f.time for f in frames] == pytest.approx(expected, abs=1e-9)
    assert facts["film"]["frames"] == len(frames)
    # the flag turns the stored picture back to the one that was drawn
    shown = np.rot90(frames[0].to_ndarray(format="rgb24"), frames[0].rotation // 90)
    drawn = View(480, 270, 3.0, 75.0, (-1.5, 1.5)).background
    assert shown.shape == drawn.shape
    assert np.mean(np.abs(shown[:, 60:].astype(float) - drawn[:, 60:])) < 6
    with av.open(str(path)) as film:
        blocks = [f for f in film.decode(audio=0)]
    assert blocks[0].pts == 0
    heard = np.concatenate([b.to_ndarray()[0] for b in blocks])[: scene.n_samples]
    assert np.corrcoef(heard, render(scene, 5)[: len(heard), 0])[0, 1] > 0.999


def test_film_truth_names_the_frame_that_first_shows_the_crossing(tmp_path: Path) -> None:
    facts = make_sample(tmp_path / "a.mp4", simple_scene(PASS, 2.0), 1, FilmOptions())
    first, second = facts["film"]["crossings"]
    assert (first["time_s"], second["time_s"]) == pytest.approx((0.75, 1.25))
    with av.open(str(tmp_path / "a.mp4")) as film:
        times = [f.time for f in film.decode(video=0)]
    for crossing in (first, second):
        index = crossing["first_frame"]
        assert times[index - 1] < crossing["time_s"] <= times[index]


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".ogg", ".mp3"])
def test_sound_files_hold_the_rendering(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"pass{suffix}"
    scene = simple_scene(PASS, 1.5, 44100.0)
    make_sample(path, scene, 2)
    sound, rate = soundfile.read(path, always_2d=True)
    assert rate == 44100
    n = min(len(sound), scene.n_samples)
    assert np.corrcoef(sound[:n, 0], render(scene, 2)[:n, 0])[0, 1] > 0.99


def test_aac_alone(tmp_path: Path) -> None:
    scene = simple_scene(PASS, 1.0, 44100.0)
    write_aac(tmp_path / "a.m4a", render(scene), 44100.0, 64_000)
    with av.open(str(tmp_path / "a.m4a")) as container:
        heard = np.concatenate([f.to_ndarray()[0] for f in container.decode(audio=0)])
    assert np.corrcoef(heard[:44100], render(scene)[:, 0])[0, 1] > 0.99


def test_truth_is_strict_json_with_the_names_of_a_measurement(tmp_path: Path) -> None:
    scene = Scene((Source(PASS.with_(speed_tied=True), wobble=0.01),), 1.0)
    make_sample(tmp_path / "a.wav", scene, 4)
    facts = json.loads(
        truth_path(tmp_path / "a.wav").read_text(encoding="utf-8"), parse_constant=pytest.fail
    )
    assert facts["speed_mps"] == {"value": 6.0, "u": 0.0, "unit": "m/s"}
    assert facts["approach_hz"]["value"] == pytest.approx(880 * 343 / (343 - 6))
    assert facts["cycles_per_metre"]["value"] == pytest.approx(880 / 6)
    assert facts["speed_at_passing_mps"]["value"] != 6.0


def test_loud_sound_is_turned_down_not_clipped(tmp_path: Path) -> None:
    make_sample(tmp_path / "a.wav", Scene((Source(PASS, level_rms=5.0),), 1.0))
    sound, _ = soundfile.read(tmp_path / "a.wav")
    assert np.max(np.abs(sound)) == pytest.approx(0.9, abs=1e-3)
    make_sample(
        tmp_path / "b.wav", Scene((Source(PASS),), 1.0, recorder=Recorder(clip_at=0.5)), force=True
    )
    sound, _ = soundfile.read(tmp_path / "b.wav")
    assert np.mean(np.abs(sound) > 0.999) > 0.01


def test_nothing_is_overwritten_and_nothing_is_left_half_done(tmp_path: Path) -> None:
    scene = simple_scene(PASS, 0.5)
    path = tmp_path / "a.wav"
    make_sample(path, scene)
    before = path.read_bytes()
    with pytest.raises(InputError, match="exists"):
        make_sample(path, scene, 9)
    assert path.read_bytes() == before
    truth_path(path).unlink()
    truth_path(path).write_text("mine")
    path.unlink()
    with pytest.raises(InputError, match="exists"):
        make_sample(path, scene)
    assert truth_path(path).read_text() == "mine"

    calls = iter([False, False, True])
    with pytest.raises(Cancelled):
        make_sample(tmp_path / "b.wav", scene, job=Job(cancelled=lambda: next(calls, True)))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.wav.truth.json"]


@pytest.mark.parametrize(
    ("name", "scene", "words"),
    [
        ("a.txt", simple_scene(PASS, 0.5), "kind of file"),
        ("a.m4a", simple_scene(PASS, 0.5, 30000.0), "44100 or 48000"),
        ("a.wav", simple_scene(PASS, 0.5, 30000.5), "whole numbers"),
        ("none/a.wav", simple_scene(PASS, 0.5), "no folder"),
    ],
)
def test_targets_that_cannot_be_written(
    tmp_path: Path, name: str, scene: Scene, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        make_sample(tmp_path / name, scene)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", PRESETS)
def test_presets_are_reproducible_and_small(tmp_path: Path, name: str) -> None:
    chosen = PRESETS[name]
    files = [tmp_path / f"{i}{chosen.suffix}" for i in (1, 2)]
    facts = [make_preset(name, f) for f in files]
    assert facts[0] == facts[1]
    assert files[0].stat().st_size < 300_000
    source = chosen.scene.sources[0].passby
    # room to read both ends: the file goes well beyond three closest distances
    for end in (source.passing_time_s, chosen.scene.duration_s - source.passing_time_s):
        assert end * source.speed_mps > 5 * source.closest_m
