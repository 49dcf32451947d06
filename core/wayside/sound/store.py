"""Samples of long recordings in a temporary file without a name, read by offset."""

from __future__ import annotations

import contextlib
import os
import tempfile
import threading
import weakref
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import platformdirs

from wayside.errors import MediaError


def _scratch_folder() -> Path | None:
    # /tmp is memory on many systems, which would defeat the purpose.
    folder = Path(platformdirs.user_cache_dir("wayside", appauthor=False))
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        if os.access(folder, os.W_OK):
            return folder
    return None


class FileStore:
    """Samples in a temporary file that vanishes with this object.

    Parameters
    ----------
    n_channels : int
    """

    def __init__(self, n_channels: int) -> None:
        self._n_channels = n_channels
        self._lock = threading.Lock()
        try:
            descriptor, name = tempfile.mkstemp(prefix="samples-", dir=_scratch_folder())
        except OSError as error:
            raise MediaError(
                f"A long recording needs room on the disk, but no temporary file could be made "
                f"({error.strerror}); free some space and try again."
            ) from error
        self._file = descriptor
        leftover = ""
        try:
            os.unlink(name)
        except OSError:
            leftover = name
        self._finalizer = weakref.finalize(self, _discard, descriptor, leftover)

    def write(self, blocks: Iterable[npt.NDArray[np.float32]]) -> None:
        """Append blocks of shape (n, n_channels)."""
        try:
            with self._lock:
                os.lseek(self._file, 0, os.SEEK_END)
                for block in blocks:
                    rest = np.ascontiguousarray(block, dtype=np.float32).data.cast("B")
                    while rest:
                        rest = rest[os.write(self._file, rest) :]
        except OSError as error:
            raise MediaError(
                f"The recording does not fit on the disk ({error.strerror}); free some space or "
                f"cut the recording down to the pass-by."
            ) from error

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        """Return samples `start` to `stop` as float32, shape (stop - start, n_channels)."""
        size = 4 * self._n_channels
        out = np.empty((max(0, stop - start), self._n_channels), dtype=np.float32)
        if not out.size:
            return out
        rest = out.data.cast("B")
        with self._lock:
            os.lseek(self._file, start * size, os.SEEK_SET)
            while rest:
                chunk = os.read(self._file, min(len(rest), 1 << 24))
                if not chunk:
                    raise MediaError("The temporary file of the recording was cut; open it again.")
                rest[: len(chunk)] = chunk
                rest = rest[len(chunk) :]
        return out


def _discard(descriptor: int, leftover: str) -> None:
    os.close(descriptor)
    if leftover:
        with contextlib.suppress(OSError):
            os.unlink(leftover)
