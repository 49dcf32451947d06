"""Writing text files whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from wayside.errors import SetupError
from wayside.files import write_atomically


def write_whole(path: str | os.PathLike[str], text: str) -> None:
    """Write a text file; an old one is replaced only once the new one is complete.

    Raises
    ------
    SetupError
        If it cannot be written; an old file is then untouched.
    """
    target = Path(path)
    try:
        write_atomically(target, text.encode())
    except OSError as error:
        raise SetupError(
            f"{target.name} cannot be written ({reason(error)}); choose another place."
        ) from None


def reason(error: OSError) -> str:
    """Return why the system refused, in lower case."""
    return (error.strerror or "unknown reason").lower()
