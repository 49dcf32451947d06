"""``wayside open``: the window."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from wayside.errors import InputError

_SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument(
        "file", nargs="?", metavar="FILE", help="recording, film, set-up or session to open"
    )
    parser.add_argument(
        "--language",
        choices=("en", "de"),
        default="",
        help="language of the window; otherwise the one chosen there, or the system's",
    )
    parser.add_argument("--setup", metavar="SETUP.json", help="set-up file to fill the form from")


def run(args: argparse.Namespace) -> int:
    """Open the window; return 0 when it is closed."""
    file = _existing(args.file)
    setup = _existing(args.setup)
    if sys.platform.startswith("linux") and not any(os.environ.get(name) for name in _SCREENS):
        raise InputError(
            "There is no screen to open a window on; start this from a desktop, or use "
            "wayside measure, predict and compare."
        )
    try:
        from wayside_app.window.run import run_window
    except ImportError as error:
        raise InputError(
            f"The window's library cannot be loaded ({error}); install the packages named in "
            "the README."
        ) from error
    return run_window(file, setup, language=args.language)


def _existing(name: str | None) -> Path | None:
    if not name:
        return None
    path = Path(name)
    try:
        found = path.is_file()
    except (OSError, ValueError):
        found = False
    if not found:
        raise InputError(f"There is no file {name}; check its name and folder.")
    return path
