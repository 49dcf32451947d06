"""Named scenes: a cargo bike in a school courtyard, passing a phone on a stand.

The yard is closed to traffic, the rider wears a helmet and has a clear run-out.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.physics.air import AMBIENT_CO2, HUMID_AIR, STANDARD_PRESSURE_PA, sound_speed
from wayside.physics.passby import PassBy
from wayside.simulate.film import FilmOptions
from wayside.simulate.scene import Background, Microphone, Scene, Source
from wayside.simulate.store import make_sample

TEMP_C, HUMIDITY = 18.0, 0.5
_C = sound_speed(HUMID_AIR, TEMP_C, HUMIDITY, STANDARD_PRESSURE_PA, AMBIENT_CO2)

# a small rear-box wheel: 62 tread blocks a turn on a loaded radius of 0.243 m
TREADS, LOADED_RADIUS_M = 62, 0.243
_TREADS_PER_M = TREADS / (2 * 3.141592653589793 * LOADED_RADIUS_M)


@dataclass(frozen=True)
class Preset:
    """One named sample.

    Parameters
    ----------
    summary : str
        What it shows, one line.
    scene : Scene
    seed : int
    suffix : str
        File kind it is stored as.
    film : FilmOptions or None
    """

    summary: str
    scene: Scene
    seed: int
    suffix: str
    film: FilmOptions | None = None


def _tone(hz: float, v: float, d: float, at_s: float) -> PassBy:
    return PassBy(hz, v, d, at_s, _C)


def _tread(v: float, d: float, at_s: float, slowing: float) -> PassBy:
    return PassBy(_TREADS_PER_M * v, v, d, at_s, _C, -slowing, speed_tied=True)


PRESETS: dict[str, Preset] = {
    "courtyard-buzzer": Preset(
        "a buzzer on the bike, clean sound",
        Scene(
            (Source(_tone(1240.0, 6.2, 2.4, 3.1), (1.0, 0.0, 0.35, 0.0, 0.15), 0.12),),
            6.0,
            24000.0,
            background=Background(white_tnr_db=35.0),
        ),
        11,
        ".flac",
    ),
    "courtyard-windy": Preset(
        "the buzzer in wind and traffic, off hard ground, in stereo",
        Scene(
            (Source(_tone(930.0, 5.4, 3.0, 3.6), (1.0, 0.4, 0.3, 0.1), 0.08, height_m=0.8),),
            7.0,
            32000.0,
            Microphone(2, 0.14, 1.3),
            Background(8.0, -3.0, 3.0),
            ground_reflection=0.7,
        ),
        12,
        ".m4a",
    ),
    "courtyard-tread": Preset(
        "tread hum of a coasting, slowing bike",
        Scene(
            (
                Source(
                    _tread(6.6, 1.8, 2.9, 0.08),
                    (1.0, 0.8, 0.35, 0.2, 0.1),
                    0.1,
                    coherence_s=0.5,
                    height_m=0.02,
                    hiss_tnr_db=6.0,
                ),
            ),
            6.0,
            22050.0,
            background=Background(20.0, 12.0),
        ),
        13,
        ".flac",
    ),
    "courtyard-film": Preset(
        "a phone film of the tread hum, with two markers to cross",
        Scene(
            (
                Source(
                    _tread(5.8, 2.2, 2.6, 0.03),
                    (1.0, 0.6, 0.3, 0.15),
                    0.12,
                    coherence_s=1.0,
                    height_m=0.02,
                    hiss_tnr_db=10.0,
                ),
            ),
            5.4,
            48000.0,
            background=Background(22.0, 15.0),
        ),
        14,
        ".mp4",
        FilmOptions(frames_per_s=30.0, marker_distance_m=2.4),
    ),
}


def preset(name: str) -> Preset:
    """Return the preset of that name.

    Raises
    ------
    InputError
        If there is none.
    """
    if name not in PRESETS:
        raise InputError(f"There is no preset named {name}; choose from {', '.join(PRESETS)}.")
    return PRESETS[name]


def make_preset(
    name: str, path: Path, seed: int | None = None, force: bool = False, job: Job = QUIET
) -> dict[str, Any]:
    """Write the preset `name` to `path` with its truth beside it; return the truth."""
    chosen = preset(name)
    return make_sample(
        path,
        chosen.scene,
        chosen.seed if seed is None else seed,
        chosen.film,
        force=force,
        job=job,
    )
