"""Makes containers for the tests with the media library, from known samples."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

RATE = 48_000


def noise(seconds: float, rate: int = RATE, seed: int = 1) -> np.ndarray:
    """Noise below about 5 kHz, so that lossy codecs keep its shape."""
    white = np.random.default_rng(seed).standard_normal(int(seconds * rate))
    spectrum = np.fft.rfft(white)
    spectrum[int(5000 * seconds) :] = 0
    shaped = np.fft.irfft(spectrum, len(white))
    return (0.25 * shaped / shaped.std() / 4).astype(np.float32)


def encode_sound(
    path: Path,
    samples: np.ndarray,
    *,
    codec: str = "aac",
    sample_format: str = "fltp",
    rate: int = RATE,
    start: int = 0,
    hole: tuple[int, int] | None = None,
    picture_times_s: list[float] | None = None,
    sound_tracks: int = 1,
    options: dict[str, str] | None = None,
) -> Path:
    """Write `samples` (n,) or (n, 2) into a container; `hole` = (first sample after, length)."""
    data = samples[:, None] if samples.ndim == 1 else samples
    layout = {1: "mono", 2: "stereo"}[data.shape[1]]
    with av.open(str(path), "w", options={"movie_timescale": str(rate), **(options or {})}) as out:
        streams = [
            out.add_stream(codec, rate=rate, layout=layout, bit_rate=256_000)
            for _ in range(sound_tracks)
        ]
        if picture_times_s is not None:
            add_pictures(out, picture_times_s)
        for stream in streams:
            for first in range(0, len(data), 1024):
                block = data[first : first + 1024]
                if sample_format.startswith("s16"):
                    block = np.round(block * 2**15).astype(np.int16)
                elif sample_format.startswith("s32"):
                    block = np.round(block * 2**31).astype(np.int32)
                planar = sample_format.endswith("p")
                raw = np.ascontiguousarray(block.T) if planar else block.reshape(1, -1)
                frame = av.AudioFrame.from_ndarray(raw, format=sample_format, layout=layout)
                frame.sample_rate = rate
                frame.time_base = Fraction(1, rate)
                frame.pts = start + first + (hole[1] if hole and first >= hole[0] else 0)
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
    return path


def add_pictures(out: av.container.OutputContainer, times_s: list[float]) -> None:
    """Add a small picture track with a frame at each time (variable frame rate)."""
    stream = out.add_stream("libx264", rate=30, options={"preset": "ultrafast"})
    stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
    stream.codec_context.time_base = Fraction(1, 90_000)
    for number, time_s in enumerate(times_s):
        picture = np.full((48, 64, 3), (40 * number) % 255, dtype=np.uint8)
        frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
        frame.pts, frame.time_base = round(time_s * 90_000), Fraction(1, 90_000)
        out.mux(stream.encode(frame))
    out.mux(stream.encode(None))


@pytest.fixture
def make_noise() -> Callable[..., np.ndarray]:
    return noise


@pytest.fixture
def encode() -> Callable[..., Path]:
    return encode_sound


@pytest.fixture
def spoil_sound_track() -> Callable[[Path, int], None]:
    """Give the n-th sound track of an MP4 file a codec that nobody knows."""

    def change(path: Path, which: int) -> None:
        data = path.read_bytes()
        for code in (b"mp4a", b"esds"):
            position = -1
            for _ in range(which + 1):
                position = data.index(code, position + 1)
            data = data[:position] + b"zzzz" + data[position + 4 :]
        path.write_bytes(data)

    return change
