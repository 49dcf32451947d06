"""An open film: its information, and any frame by index, fast and from any thread.

A child process decodes, so that a crash or a memory grab of the media library on a bad file
costs no work of the user's.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, Self

import numpy as np

from wayside.decoding.child import POLL_S, ChildLink, Silence
from wayside.decoding.opening import not_media, open_checked
from wayside.decoding.sniff import HEAD_BYTES, sniff
from wayside.errors import MediaError
from wayside.film.cache import DEFAULT_LIMIT_BYTES
from wayside.film.frames import FrameServer
from wayside.film.info import FilmInfo, Picture, SoundSpan
from wayside.film.retime import suspicions
from wayside.film.times import FrameTimes
from wayside.jobs import QUIET, Job

CHILD = "wayside.film.film_child"
STALL_LIMIT_S = 60.0
DISPLAY_SIDE = 1920


class Film:
    """A film held open by a decoding child; use it in a ``with`` block or call `close`.

    Parameters
    ----------
    path : Path
    info : FilmInfo
    link : ChildLink
        The child, ready to serve frames.
    limit_bytes : int
        Memory for frames kept ready.
    """

    def __init__(self, path: Path, info: FilmInfo, link: ChildLink, limit_bytes: int) -> None:
        self.path = path
        self.info = info
        self._server = FrameServer(link, info, limit_bytes)

    @property
    def times(self) -> FrameTimes:
        """Presentation time of every frame."""
        return self.info.times

    def picture(self, index: int, timeout_s: float = STALL_LIMIT_S) -> Picture:
        """Return a frame, decoding it if it is not ready; its neighbours follow by themselves.

        Raises
        ------
        InputError
            No such frame.
        MediaError
            The frame is damaged, or the media library failed on it.
        """
        return self._server.get(index, timeout_s)

    def peek(self, index: int) -> Picture | None:
        """Return a frame if it is ready, without waiting."""
        return self._server.peek(index)

    def prepare(self, index: int) -> None:
        """Ask for a frame and its neighbours to be made ready; returns at once."""
        self._server.prepare(index)

    def when_ready(self, call: Callable[[int], None] | None) -> None:
        """Have `call(index)` called, from another thread, whenever a frame becomes ready."""
        self._server.on_ready = call

    @property
    def used_bytes(self) -> int:
        """Memory taken by frames kept ready."""
        return self._server.used_bytes

    def close(self) -> None:
        """Let go of the film; calls waiting for a frame end with an error."""
        self._server.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def open_film(
    path: str | os.PathLike[str],
    *,
    job: Job = QUIET,
    longest_side: int = DISPLAY_SIDE,
    limit_bytes: int = DEFAULT_LIMIT_BYTES,
) -> Film:
    """Open a film.

    Parameters
    ----------
    path : path
        MP4, MOV or another container with pictures. The content decides, not the extension.
    job : Job
        Progress and cancelling; a cancel is noticed within 200 ms.
    longest_side : int
        Larger pictures are handed out shrunk to this (pixels).
    limit_bytes : int
        Memory for frames kept ready.

    Raises
    ------
    MediaError
        The file cannot be used: one sentence says what, where and what to do.
    Cancelled
        The user stopped the job.
    """
    path = Path(path)
    check_film_file(path)
    link = ChildLink(CHILD, path, json.dumps({"serve": longest_side}), listens=True)
    try:
        info = _await_info(link, path.name, job)
        return Film(path, info, link, limit_bytes)
    except BaseException:
        link.close()
        raise


def check_film_file(path: Path) -> None:
    """Raise `MediaError` for a file that is certainly no film."""
    with open_checked(path) as file:
        content = sniff(file.read(HEAD_BYTES))
    if content.route == "neither" or not content.what:
        raise not_media(path.name, content.what)


def receive(link: ChildLink, name: str, job: Job) -> tuple[bytes, bytes]:
    """Return the child's next message, minding cancel, stall and crash.

    Raises
    ------
    Cancelled
        The user stopped the job.
    MediaError
        The child reported an error, crashed or hangs.
    """
    deadline = time.monotonic() + STALL_LIMIT_S
    while True:
        job.check()
        try:
            message = link.receive(POLL_S)
        except Silence:
            if time.monotonic() > deadline:
                raise MediaError(
                    f"Reading “{name}” takes too long, so it is probably damaged; export the film "
                    f"again as MP4 (H.264)."
                ) from None
            continue
        if message is None:
            raise crashed(name)
        if message[0] == b"X":
            raise MediaError(message[1].decode())
        return message


def crashed(name: str) -> MediaError:
    """Return the error for a child that ended without a word."""
    return MediaError(
        f"“{name}” made the media library fail, so it is probably damaged; copy it again, or "
        f"export it as MP4 (H.264)."
    )


def _await_info(link: ChildLink, name: str, job: Job) -> FilmInfo:
    ticks = keys = b""
    while True:
        tag, payload = receive(link, name, job)
        if tag == b"G":
            job.step(*json.loads(payload))
        elif tag == b"T":
            ticks = payload
        elif tag == b"K":
            keys = payload
        elif tag == b"I":
            return _info(name, ticks, keys, json.loads(payload))


def _info(name: str, ticks: bytes, keys: bytes, told: dict[str, Any]) -> FilmInfo:
    times = FrameTimes(
        np.frombuffer(ticks, dtype="<i8").astype(np.int64),
        Fraction(*told["time_base"]),
        np.frombuffer(keys, dtype=np.uint8).astype(bool),
    )
    sound = SoundSpan(*told["sound"]) if told["sound"] else None
    return FilmInfo(
        name=name,
        codec=told["codec"],
        width=told["width"],
        height=told["height"],
        rotation_deg=told["rotation_deg"],
        times=times,
        sound=sound,
        suspicions=suspicions(times, sound.duration_s if sound else None, told["stated_fps"]),
        notes=_notes(times, told),
    )


def _notes(times: FrameTimes, told: dict[str, Any]) -> tuple[str, ...]:
    notes = []
    read_s = float(times.seconds[-1] - times.seconds[0]) + times.typical_step_s
    if told["claimed_s"] - read_s > max(0.2, 2 * times.typical_step_s, 0.01 * read_s):
        notes.append(
            f"The film is cut short: it promises {told['claimed_s']:.2f} s and {read_s:.2f} s "
            f"could be read."
        )
    elif told["n_damaged"]:
        notes.append(f"{told['n_damaged']} damaged pieces of the film were left out.")
    if told["n_doubled"]:
        notes.append(f"{told['n_doubled']} frames share a time with another and were left out.")
    n_long = len(times.long_steps)
    if n_long:
        notes.append(
            f"Frames seem to be missing in {n_long} place{'s' if n_long > 1 else ''}; times stay "
            f"true, crossings there are less certain."
        )
    uneven = times.uneven_share()
    if uneven > 0.5:
        notes.append(
            f"The frames are not evenly spaced: counting frames would err by up to {uneven:.1f} "
            f"frames here, so use the frame times."
        )
    return tuple(notes)
