"""Opening a media file, and the sentence for each way in which that can fail."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO, cast

from wayside.decoding.sniff import HEAD_BYTES, has_film_index, sniff
from wayside.errors import MediaError


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


def not_media(name: str, what: str) -> MediaError:
    """Return the error for a file that is neither a recording nor a film."""
    what = what or "not in a format this program knows"
    return MediaError(
        f"“{name}” is {what}, whatever its name says; choose a recording (WAV, FLAC, Ogg, MP3, "
        f"M4A) or a film with sound (MP4, MOV)."
    )


def cannot_open(path: Path, *, is_film: bool = False) -> MediaError:
    """Return the error for a container that the media library could not open."""
    what, remedy = ("film", "it as MP4 (H.264)") if is_film else ("recording", "its sound as WAV")
    return cut_short(path) or MediaError(
        f"“{path.name}” is damaged or not a {what} that can be read; copy it again, or export "
        f"{remedy}."
    )


def cut_short(path: Path) -> MediaError | None:
    """Return the error for an MP4 or MOV file that has lost its index; None if it has one."""
    with open_checked(path) as file:
        content = sniff(file.read(HEAD_BYTES))
    if content.what != "an MP4 or MOV file" or has_film_index(path):
        return None
    return MediaError(
        f"“{path.name}” was cut short and has lost its index, so nothing in it can be found; copy "
        f"the film from the phone or camera again."
    )
