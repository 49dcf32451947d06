"""Writing text files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from wayside.errors import SetupError


def write_whole(path: str | os.PathLike[str], text: str) -> None:
    """Write a text file; an old one is replaced only once the new one is complete.

    Raises
    ------
    SetupError
        If it cannot be written; an old file is then untouched.
    """
    target = Path(path)
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(temporary, _mode_of(target))
            os.replace(temporary, target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise SetupError(
            f"{target.name} cannot be written ({reason(error)}); choose another place."
        ) from None


def reason(error: OSError) -> str:
    """Return why the system refused, in lower case."""
    return (error.strerror or "unknown reason").lower()


def _mode_of(target: Path) -> int:
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
