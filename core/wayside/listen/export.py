"""Writing sound to WAV or FLAC block by block, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.sound.recording import Recording

SUFFIXES = {".wav": "WAV", ".flac": "FLAC"}
_BLOCK_S = 5.0
_MOST_CHANNELS = 8


def check_target(path: Path, force: bool, source: Path | None = None) -> None:
    """Raise `InputError` unless sound may be written to `path`.

    Parameters
    ----------
    path : Path
    force : bool
        Whether a file of that name may be replaced.
    source : Path, optional
        The recording itself, which is never replaced.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"“{path.name}” does not end in .wav or .flac; name such a file.")
    if not path.parent.is_dir():
        raise InputError(f"There is no folder “{path.parent}”; make it first or name another.")
    if path.is_dir():
        raise InputError(f"“{path}” is a folder; name a file.")
    if source is not None and path.exists() and source.exists() and path.samefile(source):
        raise InputError(f"“{path.name}” is the recording itself; name another file.")
    if path.exists() and not force:
        raise InputError(f"“{path}” exists; name another file, or add --force to replace it.")


def write_sound(path: Path, sound: Recording, force: bool = False, job: Job = QUIET) -> None:
    """Write `sound` with 24 bits a sample; the name's ending chooses WAV or FLAC.

    Raises
    ------
    InputError
        If the file may not or cannot be written; an old one is then untouched.
    Cancelled
        If the job was stopped; no file is left behind.
    """
    import soundfile

    check_target(path, force)
    kind = SUFFIXES[path.suffix.lower()]
    if kind == "FLAC" and sound.n_channels > _MOST_CHANNELS:
        raise InputError(
            f"FLAC files hold at most {_MOST_CHANNELS} channels, not {sound.n_channels}; "
            "write a WAV file."
        )
    block = int(_BLOCK_S * sound.rate_hz)
    with (
        _staged(path) as part,
        soundfile.SoundFile(
            str(part), "w", round(sound.rate_hz), sound.n_channels, "PCM_24", format=kind
        ) as out,
    ):
        for first in range(0, sound.n_samples, block):
            job.step(first / sound.n_samples, "Writing the sound")
            out.write(sound.read(first, first + block))
    job.report(1.0, "Writing the sound")


@contextmanager
def _staged(path: Path) -> Iterator[Path]:
    """Give a passing name beside `path` that takes its place only when all went well."""
    try:
        handle, name = tempfile.mkstemp(prefix=".", suffix=path.suffix, dir=path.parent)
    except OSError as error:
        raise _unwritable(path, error) from error
    os.close(handle)
    part = Path(name)
    try:
        yield part
        part.chmod(_mode_of(path))
        part.replace(path)
    except (OSError, RuntimeError) as error:
        # the sound library's own errors are RuntimeErrors
        raise _unwritable(path, error) from error
    finally:
        with suppress(OSError):
            part.unlink()


def _unwritable(path: Path, error: Exception) -> InputError:
    why = getattr(error, "strerror", None) or str(error)
    return InputError(
        f"“{path.name}” cannot be written ({why}); choose another place or make room there."
    )


def _mode_of(path: Path) -> int:
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
