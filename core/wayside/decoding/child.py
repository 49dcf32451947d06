"""Child processes that decode: started with this program's own source, kept on a short leash.

A crash or a memory grab of the media library on a hostile file then costs a child, not the
user's session.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Self, cast

import wayside
from wayside.decoding.framing import read_message
from wayside.errors import MediaError

POLL_S = 0.05
Message = tuple[bytes, bytes]


class Silence(Exception):
    """The child sent nothing within the time asked for."""


class ChildLink:
    """A running ``python -m module PATH OPTIONS`` and the messages it sends.

    Parameters
    ----------
    module : str
        Module with a ``main``.
    path : Path
        The file to decode.
    *options : str
        Further arguments.
    listens : bool
        Whether the child takes commands, see `tell`.
    """

    def __init__(self, module: str, path: Path, *options: str, listens: bool = False) -> None:
        self._child = _start(module, path, options, listens)
        self._stream = cast(BinaryIO, self._child.stdout)
        self._messages: queue.Queue[Message | None] = queue.Queue(maxsize=8)
        self._stop = threading.Event()
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()

    def receive(self, timeout_s: float) -> Message | None:
        """Return the next message as (tag, payload); None once the child has ended.

        Raises
        ------
        Silence
            Nothing came in time.
        """
        try:
            message = self._messages.get(timeout=timeout_s)
        except queue.Empty:
            raise Silence from None
        if message is None:
            # So that asking again gives the same answer.
            self._messages.put_nowait(None)
        return message

    def tell(self, command: object) -> None:
        """Send one command as a line of JSON; a child that has ended does not hear it."""
        stdin = cast(BinaryIO, self._child.stdin)
        with suppress(OSError, ValueError):
            stdin.write(json.dumps(command).encode() + b"\n")
            stdin.flush()

    def close(self) -> None:
        """End the child at once."""
        self._stop.set()
        self._child.kill()
        self._child.wait()
        self._listener.join()
        self._stream.close()
        if self._child.stdin is not None:
            with suppress(OSError):
                self._child.stdin.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _listen(self) -> None:
        while not self._stop.is_set():
            try:
                message = read_message(self._stream)
            except (OSError, ValueError):
                message = None
            while not self._stop.is_set():
                try:
                    self._messages.put(message, timeout=POLL_S)
                    break
                except queue.Full:
                    continue
            if message is None:
                return


def _start(
    module: str, path: Path, options: tuple[str, ...], listens: bool
) -> subprocess.Popen[bytes]:
    source_root = str(Path(wayside.__file__).parent.parent)
    paths = [source_root, os.environ.get("PYTHONPATH", "")]
    # -P: the current folder must not shadow installed modules.
    command = [sys.executable, "-P", "-m", module, str(path.absolute()), *options]
    try:
        return subprocess.Popen(
            command,
            stdin=subprocess.PIPE if listens else subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in paths if p)},
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except OSError as error:
        raise MediaError(
            f"The decoder for “{path.name}” could not be started ({error.strerror}); close other "
            f"programs and try again."
        ) from error


def limit_memory(n_bytes: int) -> None:
    """Keep this process below `n_bytes` of memory, where the system can do that."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (n_bytes, n_bytes))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
