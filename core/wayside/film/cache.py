"""Frames kept ready: the least recently used ones go when the memory limit is reached."""

from __future__ import annotations

from collections import OrderedDict

from wayside.film.info import Picture

DEFAULT_LIMIT_BYTES = 384 * 2**20


class PictureCache:
    """A bounded store of frames; not locked, its owner does that.

    Parameters
    ----------
    limit_bytes : int
        Upper limit of the pixels kept. At least one picture is kept whatever its size.
    """

    def __init__(self, limit_bytes: int = DEFAULT_LIMIT_BYTES) -> None:
        self.limit_bytes = limit_bytes
        self.used_bytes = 0
        self._pictures: OrderedDict[int, Picture] = OrderedDict()

    def __contains__(self, index: int) -> bool:
        return index in self._pictures

    def __len__(self) -> int:
        return len(self._pictures)

    def get(self, index: int) -> Picture | None:
        """Return a frame and count it as just used; None when it is not here."""
        picture = self._pictures.get(index)
        if picture is not None:
            self._pictures.move_to_end(index)
        return picture

    def put(self, picture: Picture) -> None:
        """Add a frame, dropping the least recently used ones as needed."""
        self.discard(picture.index)
        self._pictures[picture.index] = picture
        self.used_bytes += picture.rgb.nbytes
        while self.used_bytes > self.limit_bytes and len(self._pictures) > 1:
            _, oldest = self._pictures.popitem(last=False)
            self.used_bytes -= oldest.rgb.nbytes

    def discard(self, index: int) -> None:
        """Drop a frame if it is here."""
        picture = self._pictures.pop(index, None)
        if picture is not None:
            self.used_bytes -= picture.rgb.nbytes

    def touch(self, index: int) -> None:
        """Count a frame as just used."""
        if index in self._pictures:
            self._pictures.move_to_end(index)

    def capacity(self, picture_bytes: int) -> int:
        """Return how many frames of that size fit, at least 1."""
        return max(1, self.limit_bytes // max(1, picture_bytes))
