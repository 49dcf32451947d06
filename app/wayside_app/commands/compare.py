"""``wayside compare SETUP.json FILE``: prediction and recording side by side."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from wayside.errors import InputError
from wayside_app.commands.measuring import add_stretch_arguments, band_of, stretch_of

if TYPE_CHECKING:
    from wayside.hand.predict import Prediction


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    add = parser.add_argument
    add("setup", metavar="SETUP.json", help="set-up file with hand measurements")
    add("file", metavar="FILE", nargs="?", help="recording or film of the pass-by")
    add_stretch_arguments(parser)
    add(
        "--heard",
        nargs=3,
        type=float,
        metavar=("APPROACH", "RECEDE", "U"),
        help="instead of FILE: the two pitches heard and their standard uncertainty (Hz)",
    )
    add("--harmonic", type=int, default=1, metavar="N", help="harmonic that was measured")
    add("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Print the comparison and return the exit code."""
    from wayside.compare.compare import check_comparable
    from wayside.hand.predict import predict
    from wayside.hand.setup_file import read_setup

    if (args.file is None) == (args.heard is None):
        raise InputError("Give either a recording or the two pitches after --heard.")
    prediction = predict(read_setup(args.setup))
    check_comparable(prediction.setup)
    return _by_ear(prediction, args) if args.heard else _in_recording(prediction, args)


def _by_ear(prediction: Prediction, args: argparse.Namespace) -> int:
    from wayside.compare.compare import compare_heard
    from wayside.compare.comparison_json import comparison_as_json
    from wayside.compare.comparison_text import comparison_as_text
    from wayside.compare.heard import heard_by_ear
    from wayside.quantity import Quantity

    approach, recede, u = args.heard
    heard = heard_by_ear(Quantity(approach, u, "Hz"), Quantity(recede, u, "Hz"))
    comparison = compare_heard(prediction, heard, args.harmonic)
    if args.json:
        _print_json({**comparison_as_json(comparison), "measurement": None})
    else:
        print(comparison_as_text(comparison), end="")
    return 0


def _in_recording(prediction: Prediction, args: argparse.Namespace) -> int:
    from wayside.compare.compare import compare, options_for
    from wayside.compare.comparison_json import comparison_as_json
    from wayside.compare.comparison_text import comparison_as_text
    from wayside.jobs import QUIET
    from wayside.measure.pipeline import measure
    from wayside.measure.report_json import measurement_as_json
    from wayside.sound.media import load_recording
    from wayside_app.cli import NO_PASS_BY

    start, stop = stretch_of(args)
    options = options_for(prediction, start_s=start, stop_s=stop, band_hz=band_of(args))
    measurement = measure(load_recording(args.file, job=QUIET), options, QUIET)
    if not measurement.found:
        if args.json:
            head = {"format": "wayside-comparison", "version": 1, "found": False}
            _print_json({**head, "measurement": measurement_as_json(measurement)})
        else:
            reason = measurement.detection.reason
            print(f"No pass-by was found, so there is nothing to compare. {reason}")
        return NO_PASS_BY
    comparison = compare(prediction, measurement, args.harmonic, options.closest is not None)
    if args.json:
        values = comparison_as_json(comparison)
        _print_json({**values, "measurement": measurement_as_json(measurement)})
    else:
        print(comparison_as_text(comparison), end="")
    return 0


def _print_json(values: dict[str, Any]) -> None:
    import json

    print(json.dumps(values, indent=2, ensure_ascii=False))
