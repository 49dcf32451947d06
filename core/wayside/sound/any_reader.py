"""Reads any recording or film in this process: the right decoder for the content."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from wayside.decoding.opening import not_media, open_checked
from wayside.decoding.sniff import HEAD_BYTES, sniff
from wayside.sound.events import Event


def read_any(path: Path) -> Iterator[Event]:
    """Yield the events of a recording, or of a film's sound track.

    Raises
    ------
    MediaError
        No decoder can use the file.
    """
    with open_checked(path) as file:
        content = sniff(file.read(HEAD_BYTES))
        if content.route == "neither":
            raise not_media(path.name, content.what)
        if content.route == "plain":
            from wayside.sound.plain import Undecodable, read_plain

            try:
                yield from read_plain(file, path.name)
            except Undecodable:
                if not content.what:
                    raise not_media(path.name, "") from None
            else:
                return
    from wayside.sound.soundtrack import read_soundtrack

    yield from read_soundtrack(path)
