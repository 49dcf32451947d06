"""``wayside demo``: prediction, measurement and comparison on the bundled sample."""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from wayside.errors import InputError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of this command."""
    parser.description = (
        "Run the whole job on the bundled sample: predict the pitches from hand measurements, "
        "measure the recording, and set both side by side."
    )
    parser.add_argument(
        "--keep", metavar="FOLDER", type=Path, help="leave the sample's files in this folder"
    )


def run(args: argparse.Namespace) -> int:
    """Print the three stages and what to try next; return the exit code."""
    from wayside.compare.compare import compare, options_for
    from wayside.compare.comparison_text import comparison_as_text
    from wayside.hand.predict import predict
    from wayside.hand.prediction_text import results_text
    from wayside.hand.setup_file import read_setup
    from wayside.jobs import QUIET
    from wayside.measure.pipeline import measure
    from wayside.measure.report_text import measurement_as_text
    from wayside.simulate.bundle import DEMO, make_bundle
    from wayside.sound.media import load_recording
    from wayside_app.cli import DONE, NO_PASS_BY

    with _folder(args.keep) as folder:
        bundle = make_bundle(DEMO, folder)
        _heading(1, "Prediction from the hand measurements", f"predict {bundle.setup.name}")
        prediction = predict(read_setup(bundle.setup))
        print(results_text(prediction))
        _heading(2, "Measurement of the recording", f"measure {bundle.recording.name}")
        options = options_for(prediction)
        measurement = measure(load_recording(bundle.recording, job=QUIET), options, QUIET)
        print(measurement_as_text(measurement).rstrip())
        if not measurement.found:
            return NO_PASS_BY
        _heading(3, "Side by side", f"compare {bundle.setup.name} {bundle.recording.name}")
        comparison = compare(prediction, measurement, closest_used=options.closest is not None)
        print(comparison_as_text(comparison).rstrip())
        facts = json.loads(bundle.truth.read_text(encoding="utf-8"))
    print(f"\n{_truth_sentence(facts)}\n")
    print(_next(args.keep, bundle.setup.name, bundle.recording.name))
    return DONE


@contextmanager
def _folder(keep: Path | None) -> Iterator[Path]:
    if keep is None:
        with tempfile.TemporaryDirectory(prefix="wayside-demo-") as name:
            yield Path(name)
        return
    try:
        keep.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"The folder {keep} cannot be made ({error.strerror}); name another."
        ) from error
    yield keep


def _heading(number: int, title: str, command: str) -> None:
    print(f"{chr(10) if number > 1 else ''}--- {number}. {title} (wayside {command})\n")


def _truth_sentence(facts: dict[str, dict[str, float]]) -> str:
    return (
        "The sample is simulated, so the truth is known: "
        f"{facts['speed_mps']['value']:g} m/s, source pitch {facts['source_hz']['value']:g} Hz, "
        f"{facts['closest_m']['value']:g} m from the microphone."
    )


def _next(keep: Path | None, setup: str, recording: str) -> str:
    if keep is None:
        return (
            "Next: keep these files and look at them in the window:\n"
            "    wayside demo --keep courtyard\n"
            f"    wayside open --setup courtyard/{setup} courtyard/{recording}\n"
            "or measure a film of your own: wayside measure FILM"
        )
    return (
        f"The files are in {keep}. Next, look at them in the window:\n"
        f"    wayside open --setup {keep / setup} {keep / recording}\n"
        "or change a number in the set-up file and compare again, or measure a film of your own:\n"
        "    wayside measure FILM"
    )
