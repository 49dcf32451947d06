"""``wayside frames`` and ``wayside crossings`` on a film rendered from physics."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wayside.physics.passby import PassBy
from wayside.simulate.film import FilmOptions, write_film
from wayside.simulate.motion import Motion
from wayside_app.cli import main

SPEED, DISTANCE, PASSING = 4.0, 4.0, 1.5
WIDTH = 480


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    import numpy as np

    path = tmp_path_factory.mktemp("film") / "yard.mp4"
    motion = Motion(PassBy(400.0, SPEED, DISTANCE, PASSING))
    sound = (0.1 * np.random.default_rng(0).standard_normal((3 * 48_000, 1))).astype(np.float32)
    write_film(path, sound, 48_000, motion, FilmOptions(rotation_deg=90), seed=3)
    return path


def _line(x: float) -> str:
    # At the height of the hub, where the tyre reaches farthest forward.
    return f"{x:.1f},180,{x:.1f},192"


@pytest.fixture(scope="module")
def markers() -> tuple[str, str]:
    # Field of view 75 degrees: 480 / (2 tan 37.5) = 312.8 px, so 78.2 px a metre at 4 m.
    return _line(240 - 1.5 * 78.2), _line(240 + 1.5 * 78.2)


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_frames_lists_every_time(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = _json(capsys, "frames", str(film))
    assert told["format"] == "wayside-frames"
    times = [frame["time_s"] for frame in told["frames"]]
    assert len(times) == told["film"]["n_frames"]
    assert times == sorted(times)
    assert told["film"]["rotation_deg"] == 90
    some = _json(capsys, "frames", str(film), "--from", "1", "--to", "1.5")["frames"]
    assert [f["time_s"] for f in some] == [t for t in times if 1.0 <= t <= 1.5]


def test_frames_as_text(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["frames", str(film), "--to", "0.2"]) == 0
    text = capsys.readouterr().out
    assert "yard.mp4: 480 × 270 pixels, turned by 90°, h264" in text
    assert "      0      0.00000" in text


def test_crossings_are_proposed_and_then_confirmed(
    film: Path, markers: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    told = _json(
        capsys, "crossings", str(film), "--line", markers[0], "--line", markers[1],
        "--positions", "0,300cm",
    )  # fmt: skip
    assert told["confirmed"] is False
    # The tyre's outer edge is 0.29 m + half of its 0.045 m ahead of the hub.
    for place, crossing in zip((-1.5, 1.5), told["crossings"], strict=True):
        truth = PASSING + (place - 0.3125) / SPEED
        time = crossing["time_s"]
        assert abs(time["value"] - truth) < 3**0.5 * time["u"] + 0.25 / 78.2
    speed = told["speed"]["speed_mps"]
    assert abs(speed["value"] - SPEED) < 3 * speed["u"]

    pairs = [f"{c['before_frame']},{c['after_frame']}" for c in told["crossings"]]
    confirmed = _json(
        capsys, "crossings", str(film), "--pair", pairs[0], "--pair", pairs[1],
        "--positions", "0,3",
    )  # fmt: skip
    assert confirmed["confirmed"] is True
    assert confirmed["speed"]["speed_mps"] == speed


def test_proposals_say_that_they_are_that(
    film: Path, markers: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["crossings", str(film), "--line", markers[0]]) == 0
    text = capsys.readouterr().out
    assert "These are proposals" in text
    assert "moving right" in text
    assert "--pair" in text


def test_a_true_rate_scales_the_speed(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["crossings", str(film), "--pair", "20,21", "--pair", "50,51", "--positions", "0,3"]
    plain = _json(capsys, *words)["speed"]["speed_mps"]["value"]
    slow = _json(capsys, *words, "--true-rate", "240")
    assert slow["speed"]["speed_mps"]["value"] == pytest.approx(
        plain * slow["clock"]["film_seconds_per_second"]
    )
    assert slow["clock"]["film_seconds_per_second"] == pytest.approx(8.0, rel=0.02)


def test_nothing_crosses(film: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["crossings", str(film), "--line", "240,2,240,30"]) == 3
    assert "no crossing proposed" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ["crossings", "{film}"],
        ["crossings", "{film}", "--line", "1,2,3,4", "--pair", "1,2"],
        ["crossings", "{film}", "--line", "1,2,3"],
        ["crossings", "{film}", "--line", "900,1,900,60"],
        ["crossings", "{film}", "--pair", "5"],
        ["crossings", "{film}", "--pair", "9,8"],
        ["crossings", "{film}", "--pair", "5,100000"],
        ["crossings", "{film}", "--pair", "5,6", "--positions", "0,3"],
        ["crossings", "{film}", "--pair", "5,6", "--pair", "7,8", "--positions", "0,3 leagues"],
        ["crossings", "{film}", "--pair", "5,6", "--pair", "7,8", "--positions", "3,3"],
        ["crossings", "{film}", "--pair", "5,6", "--true-rate", "0"],
        ["crossings", "{film}.none", "--pair", "5,6"],
        ["frames", "{film}", "--from", "99"],
        ["frames", "{film}.none"],
    ],
)
def test_bad_input_is_one_sentence(
    film: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([word.format(film=film) for word in words]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("wayside: ")
    assert told.err.count("\n") == 1
