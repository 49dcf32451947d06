"""Turns the events of a sound track into a `Recording`, wherever they were decoded."""

from __future__ import annotations

from collections.abc import Iterable

from wayside.errors import MediaError
from wayside.jobs import Job
from wayside.sound.events import Block, End, Event, Start
from wayside.sound.recording import Recording
from wayside.sound.sink import Sink


def collect(events: Iterable[Event], name: str, job: Job) -> Recording:
    """Collect a sound track.

    Parameters
    ----------
    events : iterable of Event
        One `Start`, blocks, one `End`; breaking off before `End` means that the decoder failed.
    name : str
        File name for messages.
    job : Job

    Raises
    ------
    MediaError
        The recording cannot be used, or the decoder failed.
    """
    sink: Sink | None = None
    claimed = 0.0
    for event in events:
        if isinstance(event, Start):
            sink = Sink(name, event.rate_hz, event.n_channels, event.quantum, event.lossy)
            claimed = event.claimed_s * event.rate_hz
        elif sink is not None and isinstance(event, Block):
            sink.append(event.samples)
            done = min(1.0, sink.n_samples / claimed) if claimed else 0.0
            job.step(done, "Reading the recording")
        elif sink is not None and isinstance(event, End):
            return sink.finish(event.start_s, event.gaps, event.notes)
    raise MediaError(
        f"“{name}” made the media library fail, so it is probably damaged; copy it again, or "
        f"export its sound as WAV."
    )
