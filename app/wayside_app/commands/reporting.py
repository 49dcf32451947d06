"""What ``report`` and ``data`` share: which files, and the command line that repeats it all."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from wayside.errors import InputError
from wayside_app.commands.measuring import (
    add_knowledge_arguments,
    add_stretch_arguments,
    band_of,
    options_of,
    stretch_of,
)

if TYPE_CHECKING:
    from wayside.measure.result import Measurement
    from wayside.report.material import Bundle, Made, Material

_KNOWLEDGE = {"source": "unknown", "temperature": None, "distance": None}


def add_input_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what is read and how it is measured."""
    add = parser.add_argument
    add("file", metavar="FILE", help="recording, film, session (.wayside.json) or set-up")
    add("--setup", metavar="SETUP.json", help="set-up file with hand measurements")
    add("--run", dest="run_name", metavar="NAME", default="", help="which run of a session")
    add_stretch_arguments(parser)
    add_knowledge_arguments(parser)


def bundle_of(args: argparse.Namespace, command: str, date: str = "") -> Bundle:
    """Return what the named files hold, measured and compared.

    Raises
    ------
    InputError
        If one of them cannot be used, or the options contradict them.
    """
    from wayside.report.material import Bundle, Made, versions
    from wayside.session.document import is_session_file

    made = Made(command, versions(), date)
    path = Path(args.file)
    is_json = path.suffix.lower() == ".json"
    if is_json and is_session_file(path):
        return _of_session(args, path, made)
    if args.run_name:
        raise InputError("--run names a run of a session; give a session file with it.")
    if is_json and args.setup:
        raise InputError(f"{path.name} is no recording; give one set-up file only.")
    if is_json:
        return Bundle(_gathered(args, None, args.file), made=made)
    return Bundle(_gathered(args, path, args.setup), made=made)


def command_line(name: str, args: argparse.Namespace, more: Sequence[str]) -> str:
    """Return the command that repeats this one beside the files, without their folders.

    Parameters
    ----------
    name : str
        Of the command.
    args : Namespace
    more : sequence of str
        The command's own options.
    """
    words = ["wayside", name, name_beside(Path(args.file))]
    words += ["--setup", name_beside(Path(args.setup))] if args.setup else []
    words += ["--run", args.run_name] if args.run_name else []
    for option, value in (("--from", args.start_s), ("--to", args.stop_s)):
        words += [option, repr(value)] if value is not None else []
    words += ["--band", *(repr(x) for x in args.band)] if args.band else []
    words += ["--source", args.source] if args.source != "unknown" else []
    words += ["--temperature", args.temperature] if args.temperature else []
    if args.distance is not None:
        words += ["--distance", repr(args.distance), "--distance-u", repr(args.distance_u)]
    return shlex.join([*words, *more])


def name_beside(path: Path) -> str:
    """Return a file's name for a command run beside it, told from an option."""
    return f"./{path.name}" if path.name.startswith("-") else path.name


def _gathered(args: argparse.Namespace, recording: Path | None, setup: str | None) -> Material:
    from wayside.compare.compare import options_for
    from wayside.hand.predict import predict
    from wayside.hand.setup_file import read_setup
    from wayside.report.material import gather

    if setup is None:
        return gather(recording, None, options_of(args))
    for name, usual in _KNOWLEDGE.items():
        if getattr(args, name) != usual:
            raise InputError(f"The set-up says what --{name} would; leave one of them out.")
    read = read_setup(setup)
    start, stop = stretch_of(args)
    options = options_for(predict(read), start_s=start, stop_s=stop, band_hz=band_of(args))
    return gather(recording, read, options)


def _of_session(args: argparse.Namespace, path: Path, made: Made) -> Bundle:
    from wayside.report.from_session import gather_session
    from wayside.session.document import read_document

    given = [name for name, usual in _KNOWLEDGE.items() if getattr(args, name) != usual]
    more = {"setup": args.setup, "from": args.start_s, "to": args.stop_s, "band": args.band}
    given += [name for name, value in more.items() if value is not None]
    if given:
        raise InputError(f"The session says it all; leave --{given[0]} out.")
    document = read_document(path)
    return gather_session(document.session, path.parent, made, args.run_name, document.results)


def ended(measurement: Measurement | None) -> int:
    """Say why there is no pass-by, if there is none, and return the exit code."""
    from wayside_app.cli import DONE, NO_PASS_BY

    if measurement is None or measurement.found:
        return DONE
    print(measurement.detection.reason)
    return NO_PASS_BY
