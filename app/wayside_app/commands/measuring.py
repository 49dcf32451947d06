"""Arguments shared by the commands that measure a recording, and the options they make."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from wayside.errors import InputError

if TYPE_CHECKING:
    from wayside.measure.options import MeasureOptions
    from wayside.quantity import Quantity


def add_stretch_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare where in the recording to look."""
    add = parser.add_argument
    add("--from", dest="start_s", type=float, metavar="S", help="look only after this time (s)")
    add("--to", dest="stop_s", type=float, metavar="S", help="look only before this time (s)")
    add("--band", nargs=2, type=float, metavar=("LOW", "HIGH"), help="pitches to look for (Hz)")


def add_knowledge_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what is known about source, air and place."""
    add = parser.add_argument
    add(
        "--source",
        choices=("unknown", "tone", "wheel"),
        default="unknown",
        help="tone: pitch fixed (buzzer, horn); wheel: pitch tied to the speed (tread hum)",
    )
    add("--temperature", metavar="T", help="air temperature, e.g. 18C or 64F (default 20C)")
    add("--distance", type=float, metavar="M", help="taped distance from microphone to track (m)")
    add("--distance-u", type=float, metavar="M", default=0.05, help="its uncertainty (m)")


def band_of(args: argparse.Namespace) -> tuple[float, float] | None:
    """Return the pitch band asked for (Hz), or None."""
    if args.band is None:
        return None
    low, high = (_finite(value, "--band") for value in args.band)
    return low, high


def stretch_of(args: argparse.Namespace) -> tuple[float | None, float | None]:
    """Return the stretch asked for: start and stop (s), each None where open."""
    start, stop = (
        None if value is None else _finite(value, name)
        for value, name in ((args.start_s, "--from"), (args.stop_s, "--to"))
    )
    if start is not None and stop is not None and start >= stop:
        raise InputError(
            f"--from {start:g} s is not before --to {stop:g} s; give the earlier time first."
        )
    return start, stop


def options_of(args: argparse.Namespace) -> MeasureOptions:
    """Return the options of a measurement.

    Raises
    ------
    InputError
        If one of them cannot be used.
    """
    from wayside.measure.options import DEFAULT_SOUND_SPEED, MeasureOptions
    from wayside.quantity import Quantity

    start, stop = stretch_of(args)
    closest = None
    if args.distance is not None:
        if not (0 < args.distance < math.inf and 0 < args.distance_u < math.inf):
            raise InputError("--distance and --distance-u must be above 0 m; give both in metres.")
        closest = Quantity(args.distance, args.distance_u, "m")
    return MeasureOptions(
        sound_speed=(_sound_speed(args.temperature) if args.temperature else DEFAULT_SOUND_SPEED),
        start_s=start,
        stop_s=stop,
        band_hz=band_of(args),
        source_kind=args.source,
        closest=closest,
    )


def _finite(value: float, option: str) -> float:
    if not math.isfinite(value):
        raise InputError(f"{option} must be a plain number, not {value:g}.")
    return value


def _sound_speed(text: str) -> Quantity:
    """Return the speed of sound in ordinary air of a temperature known to 1 °C."""
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
