"""Opens any recording: tells what the file holds, and hands it to the decoder that reads it."""

from __future__ import annotations

import os
from contextlib import closing, suppress
from pathlib import Path

from wayside.decoding.opening import not_media, open_checked
from wayside.decoding.sniff import HEAD_BYTES, sniff
from wayside.jobs import QUIET, Job
from wayside.sound.child_reader import read_in_child
from wayside.sound.collect import collect
from wayside.sound.recording import Recording


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
        content = sniff(file.read(HEAD_BYTES))
        if content.route == "neither":
            raise not_media(path.name, content.what)
        if content.is_uncompressed:
            from wayside.sound.plain import Undecodable, read_plain

            # Nothing to decode, so nothing to fear: no child is needed.
            with suppress(Undecodable):
                return collect(read_plain(file, path.name), path.name, job)
    # an error that is kept keeps what it was raised in: the child must end before
    with closing(read_in_child(path, job)) as events:
        return collect(events, path.name, job)
