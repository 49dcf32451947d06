"""The ``wayside`` command: picks a command module and turns errors into one sentence."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence

from wayside import __version__
from wayside.errors import Cancelled, WaysideError
from wayside_app.commands import COMMANDS

DONE, BAD_INPUT, NO_PASS_BY, SOME_FAILED, STOPPED = 0, 2, 3, 4, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Returns
    -------
    int
        0 done, 2 bad input or usage, 3 no pass-by found, 4 some of many failed,
        130 stopped by the user.
    """
    # the matrices are small: threads of the algebra library only wait for each other, and on
    # a busy machine make a measurement ten times slower; set before that library is loaded
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    words = list(sys.argv[1:] if argv is None else argv)
    chosen = next((w for w in words if not w.startswith("-")), None)
    parser = _parser(chosen)
    try:
        args = parser.parse_args(words)
    except SystemExit as stop:
        return int(stop.code or 0)
    if not hasattr(args, "run"):
        parser.print_help()
        return DONE
    try:
        return int(args.run(args))
    except (Cancelled, KeyboardInterrupt):
        print("wayside: stopped as you asked.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        return DONE
    except WaysideError as error:
        print(f"wayside: {error}", file=sys.stderr)
        return BAD_INPUT


def _parser(chosen: str | None) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="wayside",
        description="Predict, measure and compare the Doppler effect of a filmed pass-by.",
    )
    parser.add_argument("--version", action="version", version=f"wayside {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    for name, summary in COMMANDS.items():
        sub = commands.add_parser(name, help=summary, description=summary.capitalize() + ".")
        if name == chosen:
            module = importlib.import_module(f"wayside_app.commands.{name}")
            module.add_arguments(sub)
            sub.set_defaults(run=module.run)
    return parser
