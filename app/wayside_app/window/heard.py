"""A recording that was read in, and a shelf of the last few, so that turning back is instant."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from pathlib import Path
from weakref import WeakValueDictionary

from wayside.jobs import Job
from wayside.session.media import fingerprint
from wayside.session.run import MediaRef
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture, PictureRequest, draw
from wayside_app.window.services import Services

_OVERVIEW_COLUMNS, _OVERVIEW_ROWS = 3000, 512
_OVERVIEW_STEP_S = 0.02
_KEPT = 4


@dataclass(frozen=True, eq=False)
class Heard:
    """A recording that was read in, with its picture of the whole."""

    recording: Recording
    overview: Picture
    media: MediaRef


def read_in(services: Services, path: Path, job: Job) -> Heard:
    """Read a recording or film and draw it as a whole."""
    media = fingerprint(path, job.part(0.0, 0.1))
    recording = services.load(path, job.part(0.1, 0.8))
    request = PictureRequest(
        recording.start_s,
        recording.start_s + recording.duration_s,
        0.0,
        min(recording.rate_hz / 2.0, 6000.0),
        min(_OVERVIEW_COLUMNS, max(64, round(recording.duration_s / _OVERVIEW_STEP_S))),
        _OVERVIEW_ROWS,
        0.085,
    )
    return Heard(recording, draw(recording, request, job.part(0.8, 1.0)), media)


class Shelf:
    """Recordings by content: the last few, and whatever an undo step still holds."""

    def __init__(self) -> None:
        self._by_content: WeakValueDictionary[str, Heard] = WeakValueDictionary()
        self._last: deque[Heard] = deque(maxlen=_KEPT)

    def put(self, heard: Heard) -> None:
        """Keep a recording at hand."""
        self._by_content[heard.media.sha256] = heard
        if heard not in self._last:
            self._last.append(heard)

    def find(self, media: MediaRef) -> Heard | None:
        """Return the recording of this content, if it is still at hand."""
        return self._by_content.get(media.sha256) if media.sha256 else None
