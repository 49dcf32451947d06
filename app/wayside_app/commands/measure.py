"""``wayside measure FILE``: find the pass-by in a recording or film and measure it."""

from __future__ import annotations

import argparse

from wayside_app.commands.measuring import (
    add_knowledge_arguments,
    add_stretch_arguments,
    options_of,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add = parser.add_argument
    add("file", metavar="FILE", help="recording or film (WAV, FLAC, OGG, MP3, M4A, MP4, MOV …)")
    add_stretch_arguments(parser)
    add_knowledge_arguments(parser)
    add("--json", action="store_true", help="print JSON (docs/json-output.md)")


def run(args: argparse.Namespace) -> int:
    """Measure and print; 3 when there is no pass-by."""
    from wayside.measure.pipeline import measure
    from wayside.measure.report_json import measurement_as_json
    from wayside.measure.report_text import measurement_as_text
    from wayside.sound.media import load_recording

    options = options_of(args)
    measurement = measure(load_recording(args.file), options)
    if args.json:
        import json

        print(json.dumps(measurement_as_json(measurement), indent=2, allow_nan=False))
    else:
        print(measurement_as_text(measurement))
    return 0 if measurement.found else 3
