"""WAV, FLAC, Ogg, MP3 and their kin, read block by block through soundfile."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import BinaryIO

import numpy as np
import soundfile

from wayside.decoding.sniff import is_ogg_cut_short, missing_wav_bytes
from wayside.errors import MediaError
from wayside.sound.events import Block, End, Event, Start
from wayside.sound.sink import LONGEST_S, too_long

BLOCK_VALUES = 1 << 18
_BITS = {"PCM_S8": 8, "PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}
_LOSSLESS_FLOAT = {"FLOAT", "DOUBLE"}


class Undecodable(MediaError):
    """soundfile cannot open this; another library might."""


class _Nameless:
    """A file without its name, as soundfile would trust the extension.

    A damaged header may ask for impossible places; an error raised from here would be printed.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.read = file.read
        self.readinto = file.readinto  # type: ignore[attr-defined]
        self.tell = file.tell

    def seek(self, offset: int, whence: int = 0) -> int:
        with suppress(OSError, ValueError, OverflowError):
            self._file.seek(offset, whence)
        return self._file.tell()


def read_plain(file: BinaryIO, name: str) -> Iterator[Event]:
    """Decode an open file.

    Parameters
    ----------
    file : binary file
        Open for reading; stays open.
    name : str
        File name for messages.

    Raises
    ------
    Undecodable
        The library does not know the format.
    MediaError
        The recording is too long.
    """
    is_short = missing_wav_bytes(file) > 0 or is_ogg_cut_short(file)
    file.seek(0)
    try:
        sound = soundfile.SoundFile(_Nameless(file))
    except (soundfile.LibsndfileError, RuntimeError, OSError) as error:
        raise Undecodable(
            f"“{name}” is damaged or in a format that cannot be read; export it as WAV or FLAC "
            f"and open that."
        ) from error
    with sound:
        promised = sound.frames if 0 < sound.frames < 2**62 else 0
        # Only uncompressed formats cannot promise more than the file holds.
        if sound.subtype in _BITS and not is_short and promised > LONGEST_S * sound.samplerate > 0:
            raise too_long(name)
        yield _start(sound, promised)
        n_samples = 0
        for block in _blocks(sound):
            n_samples += len(block.samples)
            yield block
        yield _end(sound.samplerate, n_samples, promised, is_short)


def _start(sound: soundfile.SoundFile, promised: int) -> Start:
    bits = _BITS.get(sound.subtype, 16)
    lossy = sound.subtype not in _BITS and sound.subtype not in _LOSSLESS_FLOAT
    rate = sound.samplerate
    return Start(rate, sound.channels, 2.0 ** (1 - bits), lossy, promised / rate if rate else 0.0)


def _blocks(sound: soundfile.SoundFile) -> Iterator[Block]:
    n_block = max(1, BLOCK_VALUES // max(1, sound.channels))
    while True:
        buffer = np.zeros((n_block, sound.channels), dtype=np.float32)
        try:
            block = sound.read(out=buffer)
        except (soundfile.LibsndfileError, RuntimeError):
            # What was decoded before the damage is in the buffer, the rest of it still zero.
            filled = np.flatnonzero(buffer.any(axis=1))
            if len(filled):
                yield Block(buffer[: filled[-1] + 1])
            return
        if not len(block):
            return
        yield Block(block if len(block) == n_block else block.copy())


def _end(rate_hz: int, n_samples: int, promised: int, is_short: bool) -> End:
    notes: tuple[str, ...] = ()
    if is_short or n_samples < promised - 0.1 * rate_hz:
        notes = (
            f"The file is cut short or damaged; the first {n_samples / rate_hz:.2f} s could be "
            f"read and are used.",
        )
    return End(0.0, (), notes)
