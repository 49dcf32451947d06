"""Reads the sound track of a film or container: which track, its pieces, what was noticed.

The pieces come as a stream of `Start`, `Block` and `End`, so that the decoding may run in
this process or in a child (`wayside.sound.decode_child`).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from wayside.decoding import medialib
from wayside.decoding.opening import cannot_open, cut_short
from wayside.errors import MediaError
from wayside.sound.events import Block, End, Event, Start
from wayside.sound.timeline import Timeline

BLOCK_VALUES = 1 << 16
SLOW_MOTION_FPS = 100.0


def read_soundtrack(path: Path) -> Iterator[Event]:
    """Decode the sound of a container.

    Raises
    ------
    MediaError
        No sound track can be decoded.
    """
    name = path.name
    try:
        with medialib.open_media(path) as container:
            yield from _read(container, name)
    except medialib.MediaLibraryError as error:
        if isinstance(error, MediaError):
            raise cut_short(path) or error from None
        raise cannot_open(path) from error


def _read(container: object, name: str) -> Iterator[Event]:
    every = medialib.tracks(container)
    sounds = [t for t in every if t.kind == "sound"]
    if not sounds:
        what = "pictures but no sound track" if every else "neither sound nor pictures"
        raise MediaError(
            f"“{name}” holds {what}; choose a film recorded with sound, or its separate recording."
        )
    usable = sorted((t for t in sounds if t.codec), key=lambda t: not t.is_default)
    notes = _track_notes(every, sounds, usable)
    for number, track in enumerate(usable):
        reader = _TrackReader(container, track, notes)
        yield from reader.events()
        if reader.has_begun:
            return
        if number + 1 < len(usable):
            notes = (*notes, "A sound track that could not be decoded was passed over.")
    raise MediaError(
        f"The sound track of “{name}” cannot be decoded; export the film's sound as WAV or M4A "
        f"(AAC) and open that."
    )


def _track_notes(
    every: tuple[medialib.Track, ...], sounds: list[medialib.Track], usable: list[medialib.Track]
) -> tuple[str, ...]:
    notes = []
    if len(usable) < len(sounds):
        notes.append("The file also has a sound track no decoder here knows; it was left out.")
    if len(usable) > 1:
        notes.append(f"The file has {len(usable)} sound tracks; the main one is used.")
    pictures = [t for t in every if t.kind == "picture"]
    if any(t.average_fps >= SLOW_MOTION_FPS for t in pictures):
        notes.append(
            "The film has 100 frames a second or more: if it is a slow-motion clip, its sound may "
            "be stretched too, and every speed would be wrong."
        )
    elif pictures and usable and _lengths_differ(pictures[0].duration_s, usable[0].duration_s):
        notes.append(
            f"Picture ({pictures[0].duration_s:.2f} s) and sound ({usable[0].duration_s:.2f} s) "
            f"differ in length: the film may have been slowed, sped up or cut."
        )
    return tuple(notes)


def _lengths_differ(a_s: float, b_s: float) -> bool:
    return min(a_s, b_s) > 0 and abs(a_s - b_s) > max(0.5, 0.05 * max(a_s, b_s))


class _TrackReader:
    """Decodes one track into events; `has_begun` tells whether anything came."""

    def __init__(self, container: object, track: medialib.Track, notes: tuple[str, ...]) -> None:
        self._container = container
        self._track = track
        self._notes = list(notes)
        self._damaged = 0
        self._n_samples = 0
        self.has_begun = False

    def _on_damage(self) -> None:
        self._damaged += 1

    def events(self) -> Iterator[Event]:
        timeline: Timeline | None = None
        rate_hz = n_channels = 0
        pending: list[npt.NDArray[np.float32]] = []
        n_pending = 0
        for frame in medialib.decode_sound(self._container, self._track, self._on_damage):
            shape = (frame.rate_hz, frame.samples.shape[1])
            if timeline is None:
                rate_hz, n_channels = shape
                timeline = Timeline(rate_hz, n_channels, self._track.time_base)
                self.has_begun = True
                yield self._start(frame)
            elif shape != (rate_hz, n_channels):
                self._notes.append(
                    "The sound changes its format midway; only the part before is used."
                )
                break
            for piece in timeline.place(frame.ticks, frame.samples):
                pending.append(piece)
                n_pending += len(piece)
                self._n_samples += len(piece)
                if n_pending * n_channels >= BLOCK_VALUES:
                    yield Block(np.concatenate(pending))
                    pending, n_pending = [], 0
        if timeline is not None:
            if n_pending:
                yield Block(np.concatenate(pending))
            yield self._end(timeline, rate_hz)

    def _start(self, frame: medialib.SoundFrame) -> Start:
        lossy = not medialib.is_lossless(self._track.codec)
        return Start(
            frame.rate_hz, frame.samples.shape[1], frame.quantum, lossy, self._track.duration_s
        )

    def _end(self, timeline: Timeline, rate_hz: int) -> End:
        notes = list(self._notes)
        start_s = float(timeline.start or 0)
        read_s = self._n_samples / rate_hz
        if self._track.duration_s - read_s > max(0.2, 0.001 * read_s):
            notes.append(
                f"The file is cut short: it promises {self._track.duration_s:.2f} s of sound, and "
                f"the {read_s:.2f} s that could be read are used."
            )
        elif self._damaged:
            notes.append(f"{self._damaged} damaged pieces of sound were left out.")
        if timeline.gaps:
            total_s = sum(g.duration_s for g in timeline.gaps)
            notes.append(
                f"The sound has {_holes(len(timeline.gaps))}, {total_s:.3f} s in all, filled with "
                f"silence so that the rest keeps its time."
            )
        if timeline.overlap_s > 0:
            notes.append(f"{timeline.overlap_s:.3f} s of overlapping sound were trimmed.")
        if timeline.restarts:
            notes.append("The clock of the sound jumps back: times after that are uncertain.")
        elif abs(timeline.drift_s) > 0.002:
            notes.append(
                f"Sound and film clocks drift apart by {abs(timeline.drift_s) * 1e3:.0f} ms over "
                f"the recording."
            )
        if medialib.format_name(self._container) == "aac":
            notes.append("Raw AAC tells no start time: times may be late by up to 50 ms.")
        return End(start_s, tuple(timeline.gaps), tuple(notes))


def _holes(n: int) -> str:
    return "a hole" if n == 1 else f"{n} holes"
