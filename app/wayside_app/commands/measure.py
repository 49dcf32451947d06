"""``wayside measure FILE``: find the pass-by in a recording or film and measure it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wayside.measure.options import MeasureOptions
    from wayside.quantity import Quantity


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add = parser.add_argument
    add("file", metavar="FILE", help="recording or film (WAV, FLAC, OGG, MP3, M4A, MP4, MOV …)")
    add("--from", dest="start_s", type=float, metavar="S", help="look only after this time (s)")
    add("--to", dest="stop_s", type=float, metavar="S", help="look only before this time (s)")
    add("--band", nargs=2, type=float, metavar=("LOW", "HIGH"), help="pitches to look for (Hz)")
    add(
        "--source",
        choices=("unknown", "tone", "wheel"),
        default="unknown",
        help="tone: pitch fixed (buzzer, horn); wheel: pitch tied to the speed (tread hum)",
    )
    add("--temperature", metavar="T", help="air temperature, e.g. 18C or 64F (default 20C)")
    add("--distance", type=float, metavar="M", help="taped distance from microphone to track (m)")
    add("--distance-u", type=float, metavar="M", default=0.05, help="its uncertainty (m)")
    add("--json", action="store_true", help="print JSON (docs/json-output.md)")


def run(args: argparse.Namespace) -> int:
    """Measure and print; 3 when there is no pass-by."""
    from wayside.measure.pipeline import measure
    from wayside.measure.report_json import measurement_as_json
    from wayside.measure.report_text import measurement_as_text
    from wayside.sound.media import load_recording

    options = _options(args)
    measurement = measure(load_recording(args.file), options)
    if args.json:
        import json

        print(json.dumps(measurement_as_json(measurement), indent=2, allow_nan=False))
    else:
        print(measurement_as_text(measurement))
    return 0 if measurement.found else 3


def _options(args: argparse.Namespace) -> MeasureOptions:
    from wayside.errors import InputError
    from wayside.measure.options import DEFAULT_SOUND_SPEED, MeasureOptions
    from wayside.quantity import Quantity

    closest = None
    if args.distance is not None:
        if not (args.distance > 0 and args.distance_u > 0):
            raise InputError("--distance and --distance-u must be above 0 m; give both in metres.")
        closest = Quantity(args.distance, args.distance_u, "m")
    return MeasureOptions(
        sound_speed=(_sound_speed(args.temperature) if args.temperature else DEFAULT_SOUND_SPEED),
        start_s=args.start_s,
        stop_s=args.stop_s,
        band_hz=tuple(args.band) if args.band else None,
        source_kind=args.source,
        closest=closest,
    )


def _sound_speed(text: str) -> Quantity:
    """Return the speed of sound in ordinary air of a temperature known to 1 °C."""
    from wayside.errors import InputError
    from wayside.hand.units import Dimension, read_si
    from wayside.physics.air import (
        AMBIENT_CO2,
        HUMID_AIR,
        STANDARD_PRESSURE_PA,
        model_uncertainty,
        sound_speed,
    )
    from wayside.quantity import Quantity

    temp_c = read_si(text, Dimension.TEMPERATURE, "--temperature")
    if not -60.0 <= temp_c <= 60.0:
        raise InputError(f"--temperature {text} is out of range; give one between -60 and 60 °C.")

    def at(t: float, humidity: float) -> float:
        return sound_speed(HUMID_AIR, t, humidity, STANDARD_PRESSURE_PA, AMBIENT_CO2)

    c = at(temp_c, 0.5)
    u_temp = at(temp_c + 1.0, 0.5) - c
    u_model = model_uncertainty(HUMID_AIR, temp_c)
    # humidity is not asked for here: anything from dry to saturated, rectangular
    u_humidity = (at(temp_c, 1.0) - at(temp_c, 0.0)) / 12**0.5
    return Quantity(float(c), float((u_temp**2 + u_humidity**2 + u_model**2) ** 0.5), "m/s")
