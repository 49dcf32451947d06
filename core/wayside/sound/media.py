"""Opens any recording: tells what the file holds, and hands it to the decoder that reads it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO, cast

from wayside.errors import MediaError
from wayside.jobs import QUIET, Job
from wayside.sound.recording import Recording
from wayside.sound.sniff import HEAD_BYTES, sniff


def load_recording(path: str | os.PathLike[str], *, job: Job = QUIET) -> Recording:
    """Decode a recording, or the sound of a film.

    Recordings above 64 MB of samples live in a temporary file, so that memory stays bounded.

    Parameters
    ----------
    path : path
        WAV, FLAC, Ogg, MP3 and kin, or a container with sound (M4A, MP4, MOV, raw AAC, ...).
        The content decides, not the extension.
    job : Job
        Progress and cancelling; a cancel is noticed within 200 ms.

    Returns
    -------
    Recording
        Full scale 1; sample 0 at ``start_s`` on the film's clock.

    Raises
    ------
    MediaError
        The file cannot be used: one sentence says what, where and what to do.
    Cancelled
        The user stopped the job.
    """
    path = Path(path)
    job.step(0.0, "Opening the recording")
    with open_checked(path) as file:
        head = file.read(HEAD_BYTES)
        content = sniff(head)
        if content.route == "neither":
            raise _not_sound(path.name, content.what)
        if content.route == "plain":
            from wayside.sound.plain import Undecodable, load_plain

            try:
                return load_plain(file, path.name, job)
            except Undecodable:
                if not content.what:
                    raise _not_sound(path.name, "") from None
    from wayside.sound.container import load_container

    return load_container(path, job)


def open_checked(path: Path) -> BinaryIO:
    """Open a media file for reading, or say in one sentence why that is not possible.

    Raises
    ------
    MediaError
        Missing, a folder, not an ordinary file, empty, or not readable.
    """
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise MediaError(f"“{name}” is a folder; choose a recording inside it.")
        if not path.exists():
            raise MediaError(
                f"“{name}” does not exist in “{path.absolute().parent.name}”; check the name and "
                f"the folder."
            )
        if not path.is_file():
            raise MediaError(f"“{name}” is not an ordinary file; choose a recording on the disk.")
        if path.stat().st_size == 0:
            raise MediaError(
                f"“{name}” is empty (0 bytes); copy it again from the phone or camera."
            )
        return cast(BinaryIO, path.open("rb"))
    except MediaError:
        raise
    except PermissionError as error:
        raise MediaError(
            f"“{name}” may not be read by you; change its permissions or copy it to your own "
            f"folder."
        ) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not valid"
        raise MediaError(
            f"“{name}” cannot be opened ({reason}); copy it to this computer's disk and try again."
        ) from error


def _not_sound(name: str, what: str) -> MediaError:
    what = what or "not in a format this program knows"
    return MediaError(
        f"“{name}” is {what}, whatever its name says; choose a recording (WAV, FLAC, Ogg, MP3, "
        f"M4A) or a film with sound (MP4, MOV)."
    )
