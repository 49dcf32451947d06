"""Decodes in a child process and passes its events on.

A crash or hang of a media library there ends as one clear sentence here, and a cancelled job
ends the child at once.
"""

from __future__ import annotations

import time
from collections.abc import Generator
from pathlib import Path

from wayside.decoding.child import POLL_S, ChildLink, Silence
from wayside.errors import MediaError
from wayside.jobs import Job
from wayside.sound.events import Event, Start
from wayside.sound.wire import unpack

CHILD = "wayside.sound.decode_child"
STALL_LIMIT_S = 60.0
TIME_LIMIT_S = 1800.0


def read_in_child(path: Path, job: Job) -> Generator[Event, None, None]:
    """Yield the events of any recording or film; they break off if the child crashes.

    Raises
    ------
    MediaError
        The child reported an error, or hangs.
    Cancelled
        The user stopped the job.
    """
    began = heard = time.monotonic()
    n_channels = 1
    with ChildLink(CHILD, path) as link:
        while True:
            job.check()
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
