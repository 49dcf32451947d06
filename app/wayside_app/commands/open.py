"""``wayside open``: the window."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="recording, film or set-up to open")
    parser.add_argument("--setup", metavar="SETUP.json", help="set-up file to fill the form from")


def run(args: argparse.Namespace) -> int:
    """Open the window; return 0 when it is closed."""
    from wayside_app.window.run import run_window

    file = Path(args.file) if args.file else None
    setup = Path(args.setup) if args.setup else None
    return run_window(file, setup)
