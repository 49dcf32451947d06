"""Make the bundled samples: ``python -m wayside.simulate.bundle [FOLDER]``.

Each comes with its truth and, where there is a pass-by, the hand measurements that go with
it. Making them again gives the same samples.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path

from wayside.errors import InputError, WaysideError
from wayside.simulate.negatives import negative
from wayside.simulate.presets import PRESETS, make_preset, preset
from wayside.simulate.setups import setup_of
from wayside.simulate.store import truth_path, write_sound

DEMO = "courtyard-buzzer"
STANDING_SIREN = "courtyard-siren-standing"


@dataclass(frozen=True)
class Bundle:
    """The files of one sample."""

    recording: Path
    setup: Path
    truth: Path


def make_bundle(name: str, folder: Path, force: bool = False) -> Bundle:
    """Write recording, set-up and truth of the preset `name` into `folder`.

    Raises
    ------
    InputError
        If there is no such preset, or a file exists and `force` is False.
    """
    recording = folder / f"{name}{preset(name).suffix}"
    setup = folder / f"{name}.setup.json"
    if setup.exists() and not force:
        raise InputError(f"{setup} exists; choose another folder.")
    facts = make_preset(name, recording, force=force)
    text = json.dumps(setup_of(name, facts), indent=2, ensure_ascii=False, allow_nan=False)
    setup.write_text(text + "\n", encoding="utf-8")
    return Bundle(recording, setup, truth_path(recording))


def make_standing_siren(folder: Path) -> Path:
    """Write a siren that stands still: a recording in which no pass-by must be found."""
    path = folder / f"{STANDING_SIREN}.flac"
    write_sound(path, negative("siren", 4, 4.0, 16000.0), 16000.0)
    facts = {"format": "wayside-truth", "version": 1, "found": False, "kind": "siren"}
    truth_path(path).write_text(json.dumps(facts, indent=2) + "\n", encoding="utf-8")
    return path


def make_all(folder: Path) -> list[Path]:
    """Make every bundled sample in `folder`, replacing those that are there."""
    folder.mkdir(parents=True, exist_ok=True)
    made = [make_bundle(name, folder, force=True).recording for name in PRESETS]
    return [*made, make_standing_siren(folder)]


def main(words: list[str] | None = None) -> int:
    """Make the samples from the command line; return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m wayside.simulate.bundle", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path("sample_media"))
    folder = parser.parse_args(words).folder
    try:
        for path in make_all(folder):
            print(f"{path}  {path.stat().st_size / 1000:.0f} kB")
    except (OSError, WaysideError) as error:
        print(f"The samples cannot be made in {folder}: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
