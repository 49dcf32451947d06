"""What a file holds, told by its first bytes; its name is never trusted."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Literal

HEAD_BYTES = 4096
Route = Literal["plain", "container", "neither"]

_PLAIN = {
    b"fLaC": "a FLAC recording",
    b"OggS": "an Ogg recording",
    b"RF64": "a WAV recording",
    b"RIFX": "a WAV recording",
    b"caff": "a CAF recording",
    b".snd": "an AU recording",
    b"riff": "a W64 recording",
}
_CONTAINER = {
    b"\x1a\x45\xdf\xa3": "a Matroska or WebM film",
    b"\x30\x26\xb2\x75": "a Windows Media file",
    b"#!AMR": "an AMR recording",
    b"FLV\x01": "a Flash film",
    b"\x00\x00\x01\xba": "an MPEG film",
}
_NEITHER = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"BM": "a picture",
    b"II*\x00": "a picture",
    b"MM\x00*": "a picture",
    b"%PDF": "a PDF document",
    b"PK\x03\x04": "an archive or office document",
    b"\x1f\x8b": "a compressed archive",
    b"7z\xbc\xaf": "a compressed archive",
    b"\x7fELF": "a program",
    b"MZ": "a program",
    b"SQLite format 3": "a data base",
}
_UNCOMPRESSED = {
    "a WAV recording", "an AIFF recording", "an AU recording", "a W64 recording",
}  # fmt: skip
_ATOMS = {b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"}
_STILL_BRANDS = {b"heic", b"heix", b"mif1", b"avif"}


@dataclass(frozen=True)
class Content:
    """What a file is.

    Parameters
    ----------
    route : {"plain", "container", "neither"}
        Which decoder to ask; "neither" when no decoder could use it.
    what : str
        In words, with article, e.g. ``"a text file"``; ``""`` when unknown.
    """

    route: Route
    what: str

    @property
    def is_uncompressed(self) -> bool:
        """Whether the file usually holds samples as they are."""
        return self.what in _UNCOMPRESSED


def sniff(head: bytes) -> Content:
    """Tell what a file is from its first bytes.

    Parameters
    ----------
    head : bytes
        The first `HEAD_BYTES` bytes, or the whole file if shorter.
    """
    if head[:4] == b"RIFF":
        if head[8:12] == b"WAVE":
            return Content("plain", "a WAV recording")
        if head[8:12] == b"AVI ":
            return Content("container", "an AVI film")
        return Content("neither", "a picture" if head[8:12] == b"WEBP" else "")
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        return Content("plain", "an AIFF recording")
    if head[4:8] in _ATOMS:
        if head[8:12] in _STILL_BRANDS:
            return Content("neither", "a picture")
        return Content("container", "an MP4 or MOV file")
    if head[:2] in (b"\xff\xfe", b"\xfe\xff") and 0 in head[2:4]:
        return Content("neither", "a text file")
    if len(head) > 376 and head[0] == head[188] == head[376] == 0x47:
        return Content("container", "an MPEG film")
    for table, route in ((_PLAIN, "plain"), (_CONTAINER, "container"), (_NEITHER, "neither")):
        for magic, what in table.items():
            if head.startswith(magic):
                return Content(route, what)  # type: ignore[arg-type]
    if head[:3] == b"ID3":
        return Content("plain", "an MP3 recording")
    return _sniff_frames(head) or _sniff_text(head) or Content("plain", "")


def _sniff_frames(head: bytes) -> Content | None:
    if len(head) < 4 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return None
    if head[1] & 0xF6 == 0xF0:
        return Content("container", "an AAC recording")
    if head[1] & 0x06 and head[2] & 0xF0 != 0xF0:
        return Content("plain", "an MP3 recording")
    return None


def _sniff_text(head: bytes) -> Content | None:
    if not head.strip(b"\x00"):
        return Content("neither", "a file of zeros")
    if len(head) >= HEAD_BYTES:
        # The cut may fall inside a character.
        while head and head[-1] >= 0x80:
            head = head[:-1]
    try:
        text = head.decode("utf-8")
    except UnicodeDecodeError:
        return None
    odd = sum(1 for c in text if ord(c) < 32 and c not in "\t\n\r\f")
    return Content("neither", "a text file") if odd == 0 else None


def missing_wav_bytes(file: BinaryIO) -> int:
    """Count the bytes of sound that a WAV header promises and the file does not hold.

    Returns
    -------
    int
        0 when the file is whole, not a WAV file, or the header leaves the length open.
    """
    file.seek(0, 2)
    end = file.tell()
    file.seek(0)
    if file.read(4) != b"RIFF":
        return 0
    position = 12
    for _ in range(1000):
        file.seek(position)
        header = file.read(8)
        if len(header) < 8:
            return 0
        size = struct.unpack("<I", header[4:])[0]
        if header[:4] == b"data":
            is_open = size in (0, 0xFFFFFFFF, 0x7FFFFFFF)
            return 0 if is_open else max(0, position + 8 + size - end)
        position += 8 + size + size % 2
    return 0


def is_ogg_cut_short(file: BinaryIO) -> bool:
    """Tell whether an Ogg file lacks the flag of its last page (RFC 3533, section 6)."""
    file.seek(0)
    if file.read(4) != b"OggS":
        return False
    file.seek(0, 2)
    file.seek(max(0, file.tell() - (1 << 17)))
    tail = file.read()
    last = tail.rfind(b"OggS")
    return last < 0 or len(tail) < last + 6 or not tail[last + 5] & 0x04


def has_film_index(path: Path) -> bool:
    """Tell whether an MP4 or MOV file still holds its index (the ``moov`` box).

    Phones write it last, so a file cut short has lost it.
    """
    with path.open("rb") as file:
        file.seek(0, 2)
        end = file.tell()
        position = 0
        for _ in range(1000):
            file.seek(position)
            header = file.read(16)
            if len(header) < 8:
                return False
            size = int.from_bytes(header[:4], "big")
            if header[4:8] == b"moov":
                return size == 0 or position + size <= end
            if size == 1 and len(header) == 16:
                size = int.from_bytes(header[8:], "big")
            if size < 8:
                return False
            position += size
    return False
