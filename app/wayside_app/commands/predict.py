"""``wayside predict SETUP.json``: the worked prediction."""

from __future__ import annotations

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.add_argument("setup", metavar="SETUP.json", help="set-up file with hand measurements")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Print the prediction and return the exit code."""
    import json

    from wayside.hand.predict import predict
    from wayside.hand.prediction_json import prediction_as_json
    from wayside.hand.prediction_text import prediction_as_text
    from wayside.hand.setup_file import read_setup

    prediction = predict(read_setup(args.setup))
    if args.json:
        print(json.dumps(prediction_as_json(prediction), indent=2, ensure_ascii=False))
    else:
        print(prediction_as_text(prediction), end="")
    return 0
