"""The one module that touches the media library: containers, tracks, packets and frames.

Times leave this module as whole ticks of the track's time base, so that nothing is rounded
before it has to be. Only known file formats are opened, and only from the disk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
import numpy.typing as npt

FORMATS = (
    "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mpegts,mpeg,aac,amr,amrnb,amrwb,flv,asf,"
    "ogg,wav,w64,caf,mp3,flac,aiff,au"
)
_QUANTA = {"u8": 2.0**-7, "s16": 2.0**-15, "s32": 2.0**-23}
_AHEAD_S = 10
_LOSSLESS = ("pcm_", "alac", "flac")

MediaLibraryError = (av.error.FFmpegError, OSError, ValueError, RuntimeError, IndexError)
"""What the library may raise on a damaged file."""


@dataclass(frozen=True)
class Track:
    """One sound or picture track.

    Parameters
    ----------
    index : int
        Position in the container.
    kind : {"sound", "picture"}
    codec : str
        Short codec name; ``""`` when no decoder knows the track.
    time_base : Fraction
        Length of one tick (s).
    duration_s : float
        Length the container claims (s), 0 when unknown.
    is_default : bool
        Whether the container marks the track as the one to play.
    average_fps : float
        Claimed mean frame rate of a picture track (1/s), 0 when unknown.
    """

    index: int
    kind: str
    codec: str
    time_base: Fraction
    duration_s: float
    is_default: bool
    average_fps: float = 0.0


@dataclass(frozen=True)
class SoundFrame:
    """A few milliseconds of decoded sound.

    Parameters
    ----------
    ticks : int or None
        Presentation time of the first sample, in ticks of the track.
    rate_hz : int
    samples : ndarray, shape (n, n_channels)
        Full scale 1.
    quantum : float
        Step of the sample format.
    """

    ticks: int | None
    rate_hz: int
    samples: npt.NDArray[np.float32]
    quantum: float


@contextmanager
def open_media(path: Path) -> Iterator[Any]:
    """Open a container for reading; yields the library's container, to hand back to this module."""
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    with av.open(str(path.absolute()), options=options, metadata_errors="ignore") as container:
        yield container


def format_name(container: Any) -> str:
    """Return the container format's short name, e.g. ``"aac"`` for raw AAC."""
    return str(container.format.name)


def tracks(container: Any) -> tuple[Track, ...]:
    """List the sound and picture tracks; cover pictures are left out."""
    found = []
    for stream in container.streams:
        if stream.type not in ("audio", "video"):
            continue
        is_cover = bool(int(stream.disposition) & int(av.stream.Disposition.attached_pic))
        if is_cover:
            continue
        found.append(_track(stream))
    return tuple(found)


def _track(stream: Any) -> Track:
    context = stream.codec_context
    base = stream.time_base or Fraction(1, 1000)
    rate = stream.average_rate if stream.type == "video" and context is not None else None
    return Track(
        index=stream.index,
        kind="sound" if stream.type == "audio" else "picture",
        codec=context.name if context is not None else "",
        time_base=base,
        duration_s=float(stream.duration * base) if stream.duration else 0.0,
        is_default=bool(int(stream.disposition) & int(av.stream.Disposition.default)),
        average_fps=float(rate) if rate else 0.0,
    )


def is_lossless(codec: str) -> bool:
    """Tell whether a sound codec keeps every sample exactly."""
    return codec.startswith(_LOSSLESS)


def decode_sound(
    container: Any, track: Track, on_damage: Callable[[], None]
) -> Iterator[SoundFrame]:
    """Decode a sound track from the start.

    Parameters
    ----------
    container : container from `open_media`
    track : Track
        Its codec must not be empty: the library crashes on a track without a decoder.
    on_damage : callable
        Called for every packet that cannot be decoded, and once if reading stops early.
    """
    stream = container.streams[track.index]
    for packet in _packets(container, stream, on_damage):
        frames = []
        try:
            frames = packet.decode()
        except MediaLibraryError:
            on_damage()
        for frame in frames:
            if frame.samples:
                yield _sound_frame(frame)


def _packets(container: Any, stream: Any, on_damage: Callable[[], None]) -> Iterator[Any]:
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except StopIteration:
            return
        except MediaLibraryError:
            on_damage()
            return
        yield packet


def _sound_frame(frame: Any) -> SoundFrame:
    raw = frame.to_ndarray()
    n_channels = frame.layout.nb_channels
    values = raw.T if frame.format.is_planar else raw.reshape(-1, n_channels)
    kind = frame.format.name.removesuffix("p")
    return SoundFrame(frame.pts, frame.sample_rate, _as_float(values), _QUANTA.get(kind, 2.0**-15))


def _as_float(values: npt.NDArray[Any]) -> npt.NDArray[np.float32]:
    if values.dtype == np.uint8:
        values = values.astype(np.int16) - 128
        return np.ascontiguousarray(values, dtype=np.float32) / np.float32(128)
    scale = 1.0
    if np.issubdtype(values.dtype, np.integer):
        scale = 1.0 / -float(np.iinfo(values.dtype).min)
    with np.errstate(over="ignore"):
        return np.ascontiguousarray(values.astype(np.float64) * scale, dtype=np.float32)


@dataclass(frozen=True)
class PictureTrack:
    """What is known of a picture track before decoding.

    Parameters
    ----------
    track : Track
    width, height : int
        Stored size (pixels), before rotation.
    stated_fps : float
        Capture rate the file states for itself (1/s), 0 when not stated.
    """

    track: Track
    width: int
    height: int
    stated_fps: float


def picture_track(container: Any, track: Track) -> PictureTrack:
    """Return the details of a picture track that has a decoder, and ready it for decoding."""
    stream = container.streams[track.index]
    context = stream.codec_context
    with suppress(RuntimeError):
        stream.thread_type = "AUTO"
    stated = 0.0
    for key, value in container.metadata.items():
        if key.endswith("capture.fps"):
            with suppress(ValueError):
                stated = float(value)
    if not (0 < stated < 1e5):
        stated = 0.0
    return PictureTrack(track, context.width, context.height, stated)


def sound_start_s(container: Any, track: Track) -> float:
    """Return where a sound track starts on the film's clock according to the container (s)."""
    start = container.streams[track.index].start_time
    return float(start * track.time_base) if start is not None else 0.0


@dataclass(frozen=True)
class Stamp:
    """Time stamp of one stored picture: presentation ticks (None if missing) and key flag."""

    ticks: int | None
    is_key: bool


def picture_stamps(container: Any, track: Track, on_damage: Callable[[], None]) -> Iterator[Stamp]:
    """Yield the time stamp of every picture that is to be shown, in decoding order."""
    stream = container.streams[track.index]
    for packet in _packets(container, stream, on_damage):
        if packet.size and not packet.is_discard:
            yield Stamp(packet.pts, packet.is_keyframe)


def decode_pictures(
    container: Any, track: Track, from_ticks: int | None, on_damage: Callable[[], None]
) -> Iterator[Any]:
    """Decode pictures from the key picture at or before `from_ticks` (None: from the start).

    Yields
    ------
    picture
        To hand to `picture_ticks`, `as_rgb` or `as_grey`.
    """
    stream = container.streams[track.index]
    if from_ticks is None:
        # Some formats seek by decoding time, which comes before the first picture's own.
        from_ticks = (stream.start_time or 0) - int(_AHEAD_S / track.time_base)
    container.seek(from_ticks, stream=stream, backward=True)
    for packet in _packets(container, stream, on_damage):
        pictures = []
        try:
            pictures = packet.decode()
        except MediaLibraryError:
            on_damage()
        yield from pictures


def picture_ticks(picture: Any) -> int | None:
    """Return the presentation time of a decoded picture in ticks of its track."""
    ticks = picture.pts
    return None if ticks is None else int(ticks)


def quarter_turns(picture: Any) -> int:
    """Return how many quarter turns counter-clockwise bring the picture upright, 0 to 3."""
    return int(round(float(picture.rotation) / 90.0) % 4)


def as_rgb(picture: Any, longest_side: int) -> npt.NDArray[np.uint8]:
    """Return a picture upright as RGB, shape (height, width, 3), shrunk to `longest_side`."""
    turns = quarter_turns(picture)
    shrink = min(1.0, longest_side / max(picture.width, picture.height))
    if shrink < 1.0:
        picture = picture.reformat(
            width=max(2, round(picture.width * shrink)),
            height=max(2, round(picture.height * shrink)),
            format="rgb24",
        )
    pixels = picture.to_ndarray(format="rgb24")
    return np.ascontiguousarray(np.rot90(pixels, turns))


def as_grey(picture: Any) -> npt.NDArray[np.uint8]:
    """Return a picture's brightness, upright, shape (height, width), values 0 to 255."""
    return np.rot90(picture.to_ndarray(format="gray"), quarter_turns(picture))
