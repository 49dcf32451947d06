"""``wayside sample``: render a pass-by from physics, with its truth beside it."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wayside.errors import InputError

if TYPE_CHECKING:
    from wayside.hand.units import Dimension
    from wayside.simulate.film import FilmOptions
    from wayside.simulate.scene import Scene, Source

_SOUND = ".wav .flac .ogg .mp3 .m4a, or .mp4 .mov for a film"
_PITCH_HZ = {"tone": 1100.0, "wheel": 270.0}
_HARMONICS = {"tone": "1,0.3,0.2", "wheel": "1,0.7,0.35,0.2"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of this command."""
    parser.description = (
        "Render the sound (or film) of a source passing a fixed microphone. The truth is "
        "written beside it as OUT.truth.json. Numbers may carry a unit: 6, 6m/s, 22km/h, "
        "80in. Levels of background sound are in dB: tone power at the closest point over the "
        "power of that background."
    )
    parser.add_argument("out", metavar="OUT", nargs="?", help=f"file to write: {_SOUND}")
    add = parser.add_argument
    add("--preset", metavar="NAME", help="a named scene; --preset list shows them")
    add("--kind", choices=("tone", "wheel"), help="fixed pitch, or a pitch tied to the speed")
    add("--speed", metavar="V", help="source speed at the closest point (default 6 m/s)")
    add("--pitch", metavar="F", help="source pitch there (default 1100 Hz; wheel 270 Hz)")
    add("--distance", metavar="D", help="from microphone to track (default 2.5 m)")
    add("--passing", metavar="T", help="when the source passes (default mid-recording)")
    add("--duration", metavar="T", help="length of the recording (default 6 s)")
    add("--slowing", type=float, metavar="A", help="how fast the source slows (m/s², default 0)")
    add("--temperature", metavar="T", help="of the air (default 20 °C)")
    add("--harmonics", metavar="A,B,…", help="relative amplitudes of harmonic 1, 2, …")
    add("--coherence", metavar="T", help="coherence time of the source (default: steady)")
    add("--wobble", type=float, metavar="W", help="slow random change of speed, e.g. 0.01")
    add("--on", metavar="T", help="the tone switches on at this time")
    add("--back", metavar="T", help="the source passes again, the other way, at this time")
    add("--rate", type=float, metavar="R", help="samples a second (default 48000)")
    add("--channels", type=int, choices=(1, 2), help="mono or stereo")
    add("--spacing", metavar="S", help="distance between the two microphones (default 15 cm)")
    add("--white", type=float, metavar="DB", help="white noise (default 30; none: inf)")
    add("--wind", type=float, metavar="DB", help="wind noise on the microphone")
    add("--traffic", type=float, metavar="DB", help="distant road traffic")
    add("--hum", type=float, metavar="DB", help="mains hum")
    add("--hum-pitch", metavar="F", help="mains frequency (default 50 Hz)")
    add("--ground", type=float, metavar="R", help="reflection coefficient of the ground, 0 to 1")
    add("--along-wind", type=float, metavar="W", help="wind along the track (m/s)")
    add("--gain-control", action="store_true", help="automatic gain, as on a phone")
    add("--clip", type=float, metavar="X", help="clip at this fraction of the peak")
    add("--pan", action="store_true", help="the camera turns after the source")
    add("--film", action="store_true", help="write a film (OUT ends in .mp4 or .mov)")
    add("--frame-rate", type=float, metavar="R", help="frames a second of the film (default 30)")
    add("--rotation", type=int, choices=(0, 90, 180, 270), help="stored turn of the picture")
    add("--markers", metavar="D", help="distance between the two markers (default 3 m)")
    add("--seed", type=int, metavar="N", help="names the random numbers (default 0)")
    add("--force", action="store_true", help="replace files that exist")


def run(args: argparse.Namespace) -> int:
    """Write the sample and say what it holds."""
    from wayside.simulate.presets import PRESETS, make_preset
    from wayside.simulate.store import FILM_SUFFIXES, make_sample, truth_path

    if args.preset == "list":
        for name, item in PRESETS.items():
            print(f"{name:20s} {item.suffix:6s} {item.summary}")
        return 0
    if args.out is None:
        raise InputError(f"Name the file to write; it ends in {_SOUND}.")
    path = Path(args.out)
    if args.seed is not None and args.seed < 0:
        raise InputError("--seed must be 0 or more.")
    if args.preset:
        _refuse_beside_preset(args)
        facts = make_preset(args.preset, path, args.seed, args.force)
    else:
        film = _film(args, path.suffix.lower() in FILM_SUFFIXES)
        facts = make_sample(path, _scene(args), args.seed or 0, film, force=args.force)
    print(_summary(path, truth_path(path), facts))
    return 0


def _summary(path: Path, beside: Path, facts: dict[str, Any]) -> str:
    def value(key: str) -> float:
        return float(facts[key]["value"])

    lines = [
        f"Wrote {path} and its truth, {beside.name}.",
        f"  speed {value('speed_mps'):g} m/s, source pitch {value('source_hz'):.4g} Hz, "
        f"closest {value('closest_m'):g} m at {value('passing_time_s'):g} s",
        f"  far limits: {value('approach_hz'):.2f} Hz coming, {value('recede_hz'):.2f} Hz going "
        f"(speed of sound {value('sound_speed_mps'):.2f} m/s)",
    ]
    for crossing in facts.get("film", {}).get("crossings", []):
        shown = crossing["first_frame"]
        frame = f"frame {shown}" if shown is not None else "not filmed"
        place, when = crossing["marker_m"], crossing["time_s"]
        lines.append(f"  marker at {place:+g} m crossed at {when:.4f} s ({frame})")
    return "\n".join(lines)


def _refuse_beside_preset(args: argparse.Namespace) -> None:
    own = {"out", "preset", "seed", "force", "run"}
    given = [k for k, v in vars(args).items() if k not in own and v not in (None, False)]
    if given:
        raise InputError(
            f"--{given[0].replace('_', '-')} cannot be used with --preset; leave one of them out."
        )


def _scene(args: argparse.Namespace) -> Scene:
    from wayside.hand.units import Dimension
    from wayside.physics.air import AMBIENT_CO2, HUMID_AIR, STANDARD_PRESSURE_PA, sound_speed
    from wayside.physics.passby import PassBy
    from wayside.simulate.scene import Background, Microphone, Recorder, Scene, Source

    kind = args.kind or "tone"
    duration = _number(args.duration, "--duration", Dimension.TIME, 6.0)
    temp = _number(args.temperature, "--temperature", Dimension.TEMPERATURE, 20.0)
    if not -40 <= temp <= 60:
        raise InputError(f"--temperature is {temp:g} °C; give the air between -40 and 60 °C.")
    passby = PassBy(
        source_hz=_number(args.pitch, "--pitch", Dimension.PITCH, _PITCH_HZ[kind]),
        speed_mps=_number(args.speed, "--speed", Dimension.SPEED, 6.0),
        closest_m=_number(args.distance, "--distance", Dimension.LENGTH, 2.5),
        passing_time_s=_number(args.passing, "--passing", Dimension.TIME, duration / 2),
        sound_speed_mps=sound_speed(HUMID_AIR, temp, 0.5, STANDARD_PRESSURE_PA, AMBIENT_CO2),
        acceleration_mps2=-_finite(args.slowing, "--slowing", 0.0),
        speed_tied=kind == "wheel",
    )
    first = Source(
        passby,
        harmonics=_harmonics(args.harmonics or _HARMONICS[kind]),
        coherence_s=_number(args.coherence, "--coherence", Dimension.TIME, math.inf),
        wobble=_finite(args.wobble, "--wobble", 0.0),
        on_s=_number(args.on, "--on", Dimension.TIME, -math.inf),
        height_m=0.02 if kind == "wheel" else 0.8,
    )
    channels = args.channels or 1
    spacing = _number(args.spacing, "--spacing", Dimension.LENGTH, 0.15)
    return Scene(
        sources=_with_return(first, args),
        duration_s=duration,
        rate_hz=_finite(args.rate, "--rate", 48000.0),
        microphone=Microphone(
            channels,
            spacing if channels == 2 else 0.0,
            directivity=0.3 if args.pan else 0.0,
            pan="follow" if args.pan else "fixed",
            arm_m=0.3 if args.pan else 0.0,
        ),
        background=Background(
            white_tnr_db=_level(args.white, "--white", 30.0),
            wind_tnr_db=_level(args.wind, "--wind", None),
            traffic_tnr_db=_level(args.traffic, "--traffic", None),
            hum_tnr_db=_level(args.hum, "--hum", None),
            hum_hz=_number(args.hum_pitch, "--hum-pitch", Dimension.PITCH, 50.0),
        ),
        recorder=Recorder(args.gain_control, args.clip),
        ground_reflection=_finite(args.ground, "--ground", 0.0),
        wind_mps=_finite(args.along_wind, "--along-wind", 0.0),
    )


def _with_return(first: Source, args: argparse.Namespace) -> tuple[Source, ...]:
    from dataclasses import replace

    from wayside.hand.units import Dimension

    if args.back is None:
        return (first,)
    when = _number(args.back, "--back", Dimension.TIME, 0.0)
    again = first.passby.with_(passing_time_s=when)
    middle = (when + first.passby.passing_time_s) / 2
    # the bike turns round half-way, out of hearing
    out, back = ("off_s", "on_s") if when > first.passby.passing_time_s else ("on_s", "off_s")
    return (
        replace(first, **{out: middle}),  # type: ignore[arg-type]
        replace(first, passby=again, direction=-1, **{back: middle}),  # type: ignore[arg-type]
    )


def _film(args: argparse.Namespace, film_name: bool) -> FilmOptions | None:
    from wayside.hand.units import Dimension
    from wayside.simulate.film import FilmOptions

    asked = args.film or args.frame_rate or args.rotation is not None or args.markers
    if not asked:
        return None
    if not film_name:
        raise InputError(f"A film needs a name ending in .mp4 or .mov; {args.out} does not.")
    return FilmOptions(
        frames_per_s=_finite(args.frame_rate, "--frame-rate", 30.0),
        rotation_deg=args.rotation or 0,
        marker_distance_m=_number(args.markers, "--markers", Dimension.LENGTH, 3.0),
    )


def _number(text: str | None, option: str, dimension: Dimension, default: float) -> float:
    """Read ``"22 km/h"`` as SI; a bare number is already in the SI unit."""
    from wayside.hand.units import read_si

    return default if text is None else read_si(text, dimension, option)


def _finite(value: float | None, option: str, default: float) -> float:
    if value is None:
        return default
    if not math.isfinite(value):
        raise InputError(f"{option} must be a plain number.")
    return value


def _level(value: float | None, option: str, default: float | None) -> float | None:
    if value is None:
        return default
    if value == math.inf:
        return None
    if not -60 <= value <= 200:
        raise InputError(f"{option} is {value:g} dB; give a level between -60 and 200, or inf.")
    return value


def _harmonics(text: str) -> tuple[float, ...]:
    try:
        values = tuple(float(part) for part in text.split(","))
    except ValueError:
        raise InputError(
            f'--harmonics is "{text}"; give amplitudes separated by commas, e.g. 1,0.5,0.3.'
        ) from None
    if len(values) > 40:
        raise InputError("--harmonics has more than 40 amplitudes; give fewer.")
    return values
