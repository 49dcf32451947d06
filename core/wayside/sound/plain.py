"""WAV, FLAC, Ogg, MP3 and their kin, read block by block through soundfile."""

from __future__ import annotations

from typing import BinaryIO

import numpy as np
import soundfile

from wayside.decoding.sniff import missing_wav_bytes
from wayside.errors import MediaError
from wayside.jobs import Job
from wayside.sound.recording import Recording
from wayside.sound.sink import LONGEST_S, Sink, too_long

BLOCK_VALUES = 1 << 18
_BITS = {"PCM_S8": 8, "PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}
_LOSSLESS_FLOAT = {"FLOAT", "DOUBLE"}


class Undecodable(MediaError):
    """soundfile cannot open this; another library might."""


class _Nameless:
    """A file without its name, as soundfile would trust the extension."""

    def __init__(self, file: BinaryIO) -> None:
        self.read = file.read
        self.readinto = file.readinto  # type: ignore[attr-defined]
        self.seek = file.seek
        self.tell = file.tell


def load_plain(file: BinaryIO, name: str, job: Job) -> Recording:
    """Decode an open file.

    Parameters
    ----------
    file : binary file
        Open for reading; stays open.
    name : str
        File name for messages.
    job : Job

    Raises
    ------
    Undecodable
        The library does not know the format.
    MediaError
        The recording cannot be used.
    """
    missing = missing_wav_bytes(file)
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
        if sound.subtype in _BITS and not missing and promised > LONGEST_S * sound.samplerate > 0:
            raise too_long(name)
        sink = _sink(sound, name)
        broken = _copy(sound, sink, promised, job)
        notes = _notes(sound.samplerate, sink.n_samples, promised, missing > 0 or broken)
    return sink.finish(notes=notes)


def _sink(sound: soundfile.SoundFile, name: str) -> Sink:
    bits = _BITS.get(sound.subtype, 16)
    lossy = sound.subtype not in _BITS and sound.subtype not in _LOSSLESS_FLOAT
    return Sink(name, sound.samplerate, sound.channels, 2.0 ** (1 - bits), lossy)


def _copy(sound: soundfile.SoundFile, sink: Sink, promised: int, job: Job) -> bool:
    n_block = max(1, BLOCK_VALUES // sound.channels)
    while True:
        job.step(min(1.0, sink.n_samples / promised) if promised else 0.0, "Reading the recording")
        buffer = np.zeros((n_block, sound.channels), dtype=np.float32)
        try:
            block = sound.read(out=buffer)
        except (soundfile.LibsndfileError, RuntimeError):
            # What was decoded before the damage is in the buffer, the rest of it still zero.
            filled = np.flatnonzero(buffer.any(axis=1))
            sink.append(buffer[: filled[-1] + 1] if len(filled) else buffer[:0])
            return True
        if not len(block):
            return False
        sink.append(block if len(block) == n_block else block.copy())


def _notes(rate_hz: int, n_samples: int, promised: int, broken: bool) -> tuple[str, ...]:
    if not broken and n_samples >= promised - 0.1 * rate_hz:
        return ()
    return (
        f"The file is cut short or damaged; the first {n_samples / rate_hz:.2f} s could be read "
        f"and are used.",
    )
