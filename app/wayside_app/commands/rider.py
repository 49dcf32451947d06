"""``wayside rider FILE OUT.wav``: what the rider heard, and whether the speed was constant."""

from __future__ import annotations

import argparse
from pathlib import Path

from wayside_app.commands.measuring import (
    add_knowledge_arguments,
    add_stretch_arguments,
    options_of,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.description = (
        "Resample a recording into the time of the passing source itself, so that the Doppler "
        "shift is taken out and the sound is what the rider heard. At constant speed the pitch "
        "is then level; its drift is printed with its uncertainty."
    )
    add = parser.add_argument
    add("file", metavar="FILE", help="recording or film of the pass-by")
    add("out", metavar="OUT", help="sound to write, ending in .wav or .flac")
    add_stretch_arguments(parser)
    add_knowledge_arguments(parser)
    add("--whole", action="store_true", help="the whole recording, not only the pass-by")
    add(
        "--most-gain",
        type=float,
        default=12.0,
        metavar="DB",
        help="raise far sound by at most this much (default 12 dB)",
    )
    add("--force", action="store_true", help="replace OUT if it exists")
    add("--json", action="store_true", help="print JSON (docs/json-output.md)")


def run(args: argparse.Namespace) -> int:
    """Write the sound and print the drift; 3 when there is no pass-by."""
    from wayside.listen.export import check_target, write_sound
    from wayside.listen.report import not_found_as_json, rider_as_json, rider_as_text
    from wayside.listen.rider import limited, motion_of, rider_sound
    from wayside.listen.steadiness import constant_speed_test
    from wayside.measure.pipeline import measure
    from wayside.sound.media import load_recording
    from wayside_app.cli import NO_PASS_BY

    path = Path(args.out)
    check_target(path, args.force, source=Path(args.file))
    options = options_of(args)
    recording = load_recording(args.file)
    measurement = measure(recording, options)
    if not measurement.found:
        if args.json:
            _print_json(not_found_as_json(measurement))
        else:
            print(measurement.detection.reason)
        return NO_PASS_BY
    start, stop = measurement.start_s, measurement.stop_s
    if args.whole:
        start = recording.start_s if options.start_s is None else options.start_s
        end = recording.start_s + recording.duration_s
        stop = end if options.stop_s is None else options.stop_s
    rider = limited(rider_sound(recording, motion_of(measurement), start, stop, args.most_gain))
    test = constant_speed_test(recording, measurement, options)
    write_sound(path, rider.sound, args.force)
    if args.json:
        _print_json(rider_as_json(rider, test, measurement, path.name))
    else:
        print(rider_as_text(rider, test, measurement, str(path)))
    return 0


def _print_json(values: dict[str, object]) -> None:
    import json

    print(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False))
