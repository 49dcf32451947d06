"""The sound of films and containers, decoded by a child process.

A crash or hang of the media library there becomes one clear sentence here, and a cancelled
job ends the child at once.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, cast

from wayside.decoding.child import start_child
from wayside.errors import Cancelled, MediaError
from wayside.jobs import Job
from wayside.sound import wire
from wayside.sound.recording import Recording
from wayside.sound.sink import Sink
from wayside.sound.soundtrack_events import Block, End, Event, Start

CHILD = "wayside.sound.decode_child"
POLL_S = 0.05
STALL_LIMIT_S = 60.0
TIME_LIMIT_S = 1800.0


class _Ended:
    """The child closed its output."""


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
    began = time.monotonic()
    with _child(path) as messages:
        heard = began
        while True:
            if job.cancelled():
                raise Cancelled("Stopped as you asked; nothing was changed.")
            try:
                message = messages.get(timeout=POLL_S)
            except queue.Empty:
                now = time.monotonic()
                if now - heard > STALL_LIMIT_S or now - began > TIME_LIMIT_S:
                    raise MediaError(
                        f"Reading “{path.name}” takes too long, so it is probably damaged; export "
                        f"its sound as WAV and open that."
                    ) from None
                continue
            heard = time.monotonic()
            if isinstance(message, _Ended):
                return
            if isinstance(message, MediaError):
                raise message
            yield message


@contextmanager
def _child(path: Path) -> Iterator[queue.Queue[Event | MediaError | _Ended]]:
    child = start_child(CHILD, path)
    messages: queue.Queue[Event | MediaError | _Ended] = queue.Queue(maxsize=8)
    stop = threading.Event()
    stream = cast(BinaryIO, child.stdout)
    reader = threading.Thread(target=_listen, args=(stream, messages, stop), daemon=True)
    reader.start()
    try:
        yield messages
    finally:
        stop.set()
        child.kill()
        child.wait()
        reader.join()
        stream.close()


def _listen(
    stream: BinaryIO,
    messages: queue.Queue[Event | MediaError | _Ended],
    stop: threading.Event,
) -> None:
    n_channels = 1
    message: Event | MediaError | _Ended
    while not stop.is_set():
        try:
            message = wire.receive(stream, n_channels) or _Ended()
        except MediaError as error:
            message = error
        except (OSError, ValueError, TypeError, KeyError):
            message = _Ended()
        if isinstance(message, Start):
            n_channels = message.n_channels
        while not stop.is_set():
            try:
                messages.put(message, timeout=POLL_S)
                break
            except queue.Full:
                continue
        if isinstance(message, _Ended | MediaError | End):
            return
