"""The sound of films and containers, decoded by a child process.

A crash or hang of the media library there becomes one clear sentence here, and a cancelled
job ends the child at once.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

from wayside.decoding.child import POLL_S, ChildLink, Silence
from wayside.errors import Cancelled, MediaError
from wayside.jobs import Job
from wayside.sound.recording import Recording
from wayside.sound.sink import Sink
from wayside.sound.soundtrack_events import Block, End, Event, Start
from wayside.sound.wire import unpack

CHILD = "wayside.sound.decode_child"
STALL_LIMIT_S = 60.0
TIME_LIMIT_S = 1800.0


def load_container(path: Path, job: Job) -> Recording:
    """Decode the sound track of a container.

    Raises
    ------
    MediaError
        It has no sound that can be used, or the media library crashed on it.
    """
    name = path.name
    sink: Sink | None = None
    claimed = 0.0
    for event in _events(path, job):
        if isinstance(event, Start):
            sink = Sink(name, event.rate_hz, event.n_channels, event.quantum, event.lossy)
            claimed = event.claimed_s * event.rate_hz
        elif sink is not None and isinstance(event, Block):
            sink.append(event.samples)
            job.step(min(1.0, sink.n_samples / claimed) if claimed else 0.0, "Reading the sound")
        elif sink is not None and isinstance(event, End):
            return sink.finish(event.start_s, event.gaps, event.notes)
    raise MediaError(
        f"“{name}” made the media library fail, so it is probably damaged; copy it again, or "
        f"export its sound as WAV."
    )


def _events(path: Path, job: Job) -> Iterator[Event]:
    began = heard = time.monotonic()
    n_channels = 1
    with ChildLink(CHILD, path) as link:
        while True:
            if job.cancelled():
                raise Cancelled("Stopped as you asked; nothing was changed.")
            try:
                message = link.receive(POLL_S)
            except Silence:
                now = time.monotonic()
                if now - heard > STALL_LIMIT_S or now - began > TIME_LIMIT_S:
                    raise MediaError(
                        f"Reading “{path.name}” takes too long, so it is probably damaged; export "
                        f"its sound as WAV and open that."
                    ) from None
                continue
            heard = time.monotonic()
            if message is None:
                return
            event = unpack(*message, n_channels)
            if isinstance(event, Start):
                n_channels = event.n_channels
            yield event
