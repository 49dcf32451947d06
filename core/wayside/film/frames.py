"""Hands out frames: one thread talks to the decoding child and keeps neighbours ready.

A frame asked for comes first; then frames ahead and behind it are decoded in the background,
the direction of travel first. Stepping back needs the frames since the last key frame, so they
are fetched in one run before they are asked for.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from wayside.decoding.child import POLL_S, ChildLink, Silence
from wayside.errors import InputError, MediaError
from wayside.film.cache import PictureCache
from wayside.film.info import FilmInfo, Picture
from wayside.film.messages import unpack_picture

NEIGHBOURS = 30
REFILL_BELOW = 12
PATIENCE_S = 60.0


class FrameServer:
    """Frames of one film by index, from any thread.

    Parameters
    ----------
    link : ChildLink
        A child that serves frames; closed with this object.
    info : FilmInfo
    limit_bytes : int
        Memory for frames kept ready.

    Attributes
    ----------
    on_ready : callable or None
        Called with the index of every frame that becomes ready, from the worker's thread.
    """

    def __init__(self, link: ChildLink, info: FilmInfo, limit_bytes: int) -> None:
        self._link = link
        self._info = info
        self._cache = PictureCache(limit_bytes)
        self._state = threading.Condition()
        self._wanted: int | None = None
        self._centre: int | None = None
        self._backwards = False
        self._damaged: set[int] = set()
        self._failure: MediaError | None = None
        self._closed = False
        self.on_ready: Callable[[int], None] | None = None
        self._worker = threading.Thread(target=self._work, name="film frames", daemon=True)
        self._worker.start()

    @property
    def used_bytes(self) -> int:
        """Memory taken by frames kept ready."""
        with self._state:
            return self._cache.used_bytes

    def peek(self, index: int) -> Picture | None:
        """Return a frame if it is ready."""
        with self._state:
            return self._cache.get(index)

    def prepare(self, index: int) -> None:
        """Ask for a frame and its neighbours; returns at once."""
        self._check(index)
        with self._state:
            self._ask(index)

    def get(self, index: int, timeout_s: float) -> Picture:
        """Return a frame, waiting for it if need be."""
        self._check(index)
        deadline = time.monotonic() + timeout_s
        with self._state:
            while True:
                picture = self._cache.get(index)
                if picture is not None:
                    self._move_to(index)
                    return picture
                self._raise_trouble(index)
                # Asked anew on every turn, as another thread may want another frame meanwhile.
                if self._wanted is None:
                    self._ask(index)
                left = deadline - time.monotonic()
                if left <= 0:
                    raise MediaError(
                        f"Frame {index} of “{self._info.name}” takes too long to decode; try "
                        f"again, or export the film at a smaller size."
                    )
                self._state.wait(min(left, 0.5))

    def close(self) -> None:
        """Stop the worker and end the child."""
        with self._state:
            self._closed = True
            self._state.notify_all()
        self._worker.join()
        self._link.close()

    def _check(self, index: int) -> None:
        n = len(self._info.times)
        if not 0 <= index < n:
            raise InputError(f"The film has frames 0 to {n - 1}; there is no frame {index}.")

    def _raise_trouble(self, index: int) -> None:
        if self._closed:
            raise MediaError(f"“{self._info.name}” was closed.")
        if self._failure is not None:
            raise MediaError(str(self._failure))
        if index in self._damaged:
            raise MediaError(
                f"Frame {index} of “{self._info.name}” is damaged; step to the next one."
            )

    def _ask(self, index: int) -> None:
        if index not in self._cache:
            self._wanted = index
        self._move_to(index)

    def _move_to(self, index: int) -> None:
        if self._centre is not None and index != self._centre:
            self._backwards = index < self._centre
        if index != self._centre:
            self._centre = index
            self._state.notify_all()

    def _work(self) -> None:
        while True:
            with self._state:
                run = self._plan()
                while run is None and not self._closed:
                    self._state.wait()
                    run = self._plan()
                if self._closed or self._failure is not None:
                    self._state.notify_all()
                    return
            assert run is not None
            self._run(*run)

    def _plan(self) -> tuple[int, int] | None:
        """Return the next run of frames (first, stop) to decode, or None; state held."""
        if self._wanted is not None:
            if self._wanted in self._cache or self._wanted in self._damaged:
                self._wanted = None
                self._state.notify_all()
            else:
                return self._wanted, self._wanted + 1
        if self._centre is None:
            return None
        sides = (self._behind, self._ahead) if self._backwards else (self._ahead, self._behind)
        return sides[0]() or sides[1]()

    def _reach(self) -> int:
        side = max(1, len(self._cache))
        per_picture = self._cache.used_bytes // side if self._cache.used_bytes else 1
        return min(NEIGHBOURS, max(0, (self._cache.capacity(per_picture) - 4) // 3))

    def _ahead(self) -> tuple[int, int] | None:
        reach = self._reach()
        first = (self._centre or 0) + 1
        stop = min(len(self._info.times), first + reach)
        return self._missing(first, min(stop, first + REFILL_BELOW), first, stop)

    def _behind(self) -> tuple[int, int] | None:
        centre = self._centre or 0
        first = max(0, centre - self._reach())
        return self._missing(max(first, centre - REFILL_BELOW), centre, first, centre)

    def _missing(self, near: int, near_stop: int, first: int, stop: int) -> tuple[int, int] | None:
        """Return the missing part of first..stop if any of near..near_stop is missing."""
        if not any(self._lacks(k) for k in range(near, near_stop)):
            return None
        lacking = [k for k in range(first, stop) if self._lacks(k)]
        return lacking[0], lacking[-1] + 1

    def _lacks(self, index: int) -> bool:
        return index not in self._cache and index not in self._damaged

    def _run(self, first: int, stop: int) -> None:
        self._link.tell({"first": first, "stop": stop})
        came = first
        halted = False
        silent_since = time.monotonic()
        while True:
            try:
                message = self._link.receive(POLL_S)
            except Silence:
                if self._closed:
                    return
                if time.monotonic() - silent_since > PATIENCE_S:
                    self._fail("does not decode any further")
                    return
                continue
            silent_since = time.monotonic()
            if message is None or message[0] == b"X":
                self._fail("made the media library fail")
                return
            tag, payload = message
            with self._state:
                if self._closed:
                    return
                if tag == b"P":
                    picture = unpack_picture(payload, self._info.times)
                    self._cache.put(picture)
                    self._damaged.update(range(came, picture.index))
                    came = picture.index + 1
                    self._state.notify_all()
                elif tag == b"D":
                    if not halted:
                        self._damaged.update(range(came, stop))
                        self._state.notify_all()
                    return
                halted = halted or self._halt(came, stop)
            if tag == b"P" and self.on_ready is not None:
                self.on_ready(came - 1)

    def _halt(self, came: int, stop: int) -> bool:
        """Stop a run that will not bring the frame somebody waits for; state held."""
        wanted = self._wanted
        if wanted is None or wanted in self._cache or came <= wanted < stop:
            return False
        self._link.tell({"halt": True})
        return True

    def _fail(self, what: str) -> None:
        with self._state:
            self._failure = MediaError(
                f"“{self._info.name}” {what}, so it is probably damaged; copy it again, or export "
                f"it as MP4 (H.264)."
            )
            self._state.notify_all()
