"""Reads a film's pictures: the table of frame times, then any frame exactly.

Runs in the child process. A seek lands on a key frame, so decoding goes on from there to the
frame wanted; the time stamp, not a count, tells which frame it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from wayside.decoding import medialib
from wayside.errors import MediaError
from wayside.film.times import FrameTimes
from wayside.jobs import QUIET, Job

MOST_FRAMES = 2_000_000
LONGEST_S = 4 * 3600.0
LARGEST_SIDE = 8192
REPORT_EVERY = 500


def choose_track(container: Any, name: str) -> medialib.Track:
    """Return the picture track to use.

    Raises
    ------
    MediaError
        There is none, or none that can be decoded.
    """
    every = medialib.tracks(container)
    pictures = [t for t in every if t.kind == "picture"]
    if not pictures:
        raise MediaError(
            f"“{name}” holds sound but no pictures; choose a film, or measure the sound alone."
            if every
            else f"“{name}” holds neither sound nor pictures; choose a film."
        )
    usable = sorted((t for t in pictures if t.codec), key=lambda t: not t.is_default)
    if not usable:
        raise MediaError(
            f"The pictures of “{name}” cannot be decoded; export the film as MP4 (H.264) and open "
            f"that."
        )
    return usable[0]


class PictureSource:
    """The frames of one picture track.

    Parameters
    ----------
    container : container from `wayside.decoding.medialib.open_media`
    track : Track
    name : str
        File name for messages.
    job : Job
        Progress of reading the time stamps.

    Attributes
    ----------
    times : FrameTimes
    n_doubled, n_damaged : int
        Frames left out because they share a time stamp; packets that could not be read.

    Raises
    ------
    MediaError
        No usable frames, or too many or too large.
    """

    def __init__(self, container: Any, track: medialib.Track, name: str, job: Job = QUIET) -> None:
        self._container = container
        self._track = track
        self._name = name
        self.n_damaged = 0
        self.n_doubled = 0
        details = medialib.picture_track(container, track)
        if max(details.width, details.height) > LARGEST_SIDE:
            raise MediaError(
                f"“{name}” has pictures of {details.width} × {details.height} pixels; export it at "
                f"a size of at most {LARGEST_SIDE} on a side."
            )
        self.stated_fps = details.stated_fps
        self.times = self._read_times(job)
        self._pictures: Iterator[Any] = iter(())
        self._next = -1

    def _on_damage(self) -> None:
        self.n_damaged += 1

    def _read_times(self, job: Job) -> FrameTimes:
        ticks: list[int] = []
        keys: list[bool] = []
        base = self._track.time_base
        claimed = self._track.duration_s / float(base)
        for stamp in medialib.picture_stamps(self._container, self._track, self._on_damage):
            if stamp.ticks is None:
                raise MediaError(
                    f"“{self._name}” does not tell when its frames were taken; export it as MP4 "
                    f"and open that."
                )
            ticks.append(stamp.ticks)
            keys.append(stamp.is_key)
            if len(ticks) > MOST_FRAMES:
                raise self._too_long()
            if len(ticks) % REPORT_EVERY == 0:
                done = min(1.0, max(0.0, stamp.ticks / claimed)) if claimed > 0 else 0.0
                job.step(done, "Reading the frame times")
        if not ticks:
            raise MediaError(
                f"“{self._name}” holds no frame that can be read; copy it from the phone again."
            )
        return self._table(np.array(ticks, dtype=np.int64), np.array(keys))

    def _table(self, ticks: Any, keys: Any) -> FrameTimes:
        base = self._track.time_base
        order = np.argsort(ticks, kind="stable")
        ticks, keys = ticks[order], keys[order]
        is_new = np.concatenate(([True], np.diff(ticks) > 0))
        self.n_doubled = int((~is_new).sum())
        times = FrameTimes(ticks[is_new], base, keys[is_new])
        if times.seconds[-1] - times.seconds[0] > LONGEST_S:
            raise self._too_long()
        return times

    def _too_long(self) -> MediaError:
        return MediaError(
            f"“{self._name}” is longer than {LONGEST_S / 3600:.0f} hours; cut out the pass-by and "
            f"open that."
        )

    def frames(self, first: int, stop: int) -> Iterator[tuple[int, Any]]:
        """Yield (index, picture) for frames ``first .. stop - 1``; undecodable ones are missing."""
        if not self._goes_on_to(first):
            self._pictures = self._from_key_before(first)
        ticks = self.times.ticks
        for picture in self._pictures:
            stamp = medialib.picture_ticks(picture)
            if stamp is None:
                continue
            index = int(np.searchsorted(ticks, stamp))
            if index >= len(ticks) or ticks[index] != stamp:
                continue
            self._next = index + 1
            if index >= stop:
                # It came early because a frame is missing: start afresh next time.
                self._next = -1
                return
            if index >= first:
                yield index, picture
            if index == stop - 1:
                return
        self._next = -1

    def _goes_on_to(self, first: int) -> bool:
        if not 0 <= self._next <= first:
            return False
        return not self.times.is_key[self._next + 1 : first + 1].any()

    def _from_key_before(self, first: int) -> Iterator[Any]:
        keys = np.flatnonzero(self.times.is_key[: first + 1])
        ticks = self.times.ticks
        for key in keys[::-1][:3]:
            pictures = self._decode(int(ticks[key]))
            head = next(pictures, None)
            stamp = None if head is None else medialib.picture_ticks(head)
            if stamp is not None and stamp <= ticks[first]:
                return _chain(head, pictures)
        return self._decode(None)

    def _decode(self, from_ticks: int | None) -> Iterator[Any]:
        return medialib.decode_pictures(self._container, self._track, from_ticks, self._on_damage)


def _chain(head: Any, rest: Iterator[Any]) -> Iterator[Any]:
    yield head
    yield from rest
