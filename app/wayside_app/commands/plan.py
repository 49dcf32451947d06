"""``wayside plan``: what to expect of a demonstration, and where to put everything."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from wayside.errors import InputError

if TYPE_CHECKING:
    from wayside.plan.request import PlanRequest


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.description = (
        "Plan a demonstration: what will be heard, where the far pitches can be read, how far "
        "apart the markers must be and where the microphone should stand. Numbers may carry a "
        "unit: 6, 6m/s, 22km/h, 80in."
    )
    add = parser.add_argument
    add("setup", metavar="SETUP.json", nargs="?", help="take source, speed and air from here")
    add("--pitch", metavar="F", help="pitch of the source (Hz)")
    add("--per-metre", type=float, metavar="N", help="pattern elements per metre of a wheel")
    add("--speed", nargs="+", metavar="V", help="speed, or lowest and highest speed (m/s)")
    add("--distance", metavar="D", help="from microphone to track (m)")
    add(
        "--run",
        dest="run_length",
        default="40",
        metavar="L",
        help="length of the run, half on each side (40 m)",
    )
    add("--before", metavar="L", help="run before the microphone, if not half (m)")
    add("--after", metavar="L", help="run after the microphone, if not half (m)")
    add("--temperature", metavar="T", help="air temperature (°C)")
    add("--want", type=float, metavar="P", help="wanted uncertainty of the speed (2 %%)")
    add("--markers", metavar="L", help="distance between the markers, if fixed (m)")
    add("--tape", metavar="U", help="uncertainty of that distance (2 cm)")
    add("--frames", nargs="+", type=float, metavar="R", help="frame rates of the camera")
    add("--picture", metavar="OUT.svg", help="write a picture of the track and the pitch")
    add("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Print the plan and return the exit code."""
    from wayside.plan.make import make_plan

    plan = make_plan(_request(args))
    if args.picture:
        from wayside.plan.picture import write_svg

        write_svg(plan, args.picture)
    if args.json:
        import json

        from wayside.plan.plan_json import plan_as_json

        print(json.dumps(plan_as_json(plan), indent=2, ensure_ascii=False))
    else:
        from wayside.plan.plan_text import plan_as_text

        print(plan_as_text(plan), end="")
    return 0


def _request(args: argparse.Namespace) -> PlanRequest:
    from dataclasses import replace

    from wayside.hand.predict import predict
    from wayside.hand.setup_file import read_setup
    from wayside.hand.units import Dimension, read_si
    from wayside.physics.air import ideal_gas
    from wayside.plan.from_setup import request_from
    from wayside.plan.request import PlanRequest

    def metres(option: str) -> float | None:
        text = getattr(args, option)
        return None if text is None else read_si(text, Dimension.LENGTH, f"--{option}")

    half = 0.5 * read_si(args.run_length, Dimension.LENGTH, "--run")
    before, after = metres("before") or half, metres("after") or half
    distance = metres("distance")
    speeds = [read_si(v, Dimension.SPEED, "--speed") for v in args.speed or ()]
    if len(speeds) > 2:
        raise InputError("Give one speed, or the lowest and the highest, after --speed.")
    pitch = None if args.pitch is None else read_si(args.pitch, Dimension.PITCH, "--pitch")
    if args.setup is not None:
        request = request_from(predict(read_setup(args.setup)), before, after, distance)
    else:
        if not speeds or distance is None:
            raise InputError("Give --speed and --distance, or a set-up file.")
        request = PlanRequest(
            min(speeds), max(speeds), distance, before, after, pitch, args.per_metre
        )
    changes: dict[str, Any] = {
        "wanted_percent": args.want,
        "markers_m": metres("markers"),
        "tape_u_m": metres("tape"),
        "frame_rates": tuple(args.frames) if args.frames else None,
        "speed_low_mps": min(speeds, default=None),
        "speed_high_mps": max(speeds, default=None),
    }
    if args.temperature is not None:
        temp_c = read_si(args.temperature, Dimension.TEMPERATURE, "--temperature")
        changes["sound_speed_mps"] = ideal_gas(temp_c)
    if args.setup is not None and (pitch is not None or args.per_metre is not None):
        request = replace(request, pitch_hz=pitch, cycles_per_metre=args.per_metre)
    return replace(request, **{k: v for k, v in changes.items() if v is not None})
