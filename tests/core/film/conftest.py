"""Makes films with known crossing times: a dark disc that moves over a textured yard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

TICKS = 90_000
WIDTH, HEIGHT = 320, 180
RADIUS = 24.0


@dataclass(frozen=True)
class Drive:
    """The disc's front edge is at x(t) = start + speed t + acceleration t^2 / 2 (pixels).

    With a `rim_px` below the radius it is a hollow ring. `shake_px` moves the whole picture.
    """

    start_px: float = -30.0
    speed_px_s: float = 160.0
    acceleration_px_s2: float = 0.0
    row: float = 110.0
    rim_px: float = RADIUS
    shake_px: float = 0.0

    def front(self, t: float) -> float:
        return self.start_px + self.speed_px_s * t + 0.5 * self.acceleration_px_s2 * t * t

    def crossing_s(self, x: float) -> float:
        """Time at which the front edge is at `x`."""
        a, v, s = 0.5 * self.acceleration_px_s2, self.speed_px_s, self.start_px - x
        if a == 0:
            return -s / v
        return (-v + (v * v - 4 * a * s) ** 0.5) / (2 * a)


def draw(drive: Drive, t: float, noise: float = 2.0, seed: int = 0) -> np.ndarray:
    """Return the picture at time t: a disc whose rightmost point is the front edge."""
    x = np.arange(WIDTH)[None, :] + 0.5
    y = np.arange(HEIGHT)[:, None] + 0.5
    yard = 150 + 25 * np.sin(x / 9) * np.cos(y / 7)
    away = np.hypot(x - (drive.front(t) - RADIUS), y - drive.row)
    cover = np.clip(RADIUS + 0.5 - away, 0, 1)
    cover = np.minimum(cover, np.clip(away - RADIUS + drive.rim_px + 0.5, 0, 1))
    grey = yard * (1 - cover) + 30 * cover
    grey = grey + np.random.default_rng(seed).normal(0, noise, grey.shape)
    picture = np.repeat(np.clip(grey, 0, 255)[..., None], 3, axis=2)
    picture = np.roll(picture, round(drive.shake_px * np.sin(40 * t)), axis=1)
    # A red corner tells which way is up.
    picture[:20, :20] = (220, 20, 20)
    return picture.astype(np.uint8)


def write_film(
    path: Path,
    times_s: np.ndarray,
    paint: Callable[[float, int], np.ndarray],
    *,
    turns: int = 0,
    b_frames: int = 0,
    key_every: int = 30,
    codec: str = "libx264",
    sound: tuple[float, float] | None = None,
    metadata: dict[str, str] | None = None,
) -> Path:
    """Write frames at the given times; `sound` = (start, length) adds a tone.

    `turns` quarter turns clockwise are applied to the stored picture, with the flag that has
    players turn it back.
    """
    options = {"movie_timescale": "90000"}
    if metadata:
        options["movflags"] = "use_metadata_tags"
    with av.open(str(path), "w", options=options) as out:
        out.metadata.update(metadata or {})
        first = np.rot90(paint(float(times_s[0]), 0), -turns)
        stream = out.add_stream(codec, rate=30)
        stream.height, stream.width = first.shape[:2]
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS)
        stream.codec_context.thread_count = 1
        stream.codec_context.options = (
            {"preset": "ultrafast", "x265-params": "log-level=none"}
            if codec == "libx265"
            else {"crf": "20", "preset": "veryfast", "bf": str(b_frames), "g": str(key_every)}
        )
        if turns:
            stream.set_display_rotation(90 * turns)
        tone = out.add_stream("aac", rate=48_000, layout="mono") if sound else None
        for number, t in enumerate(times_s):
            stored = np.ascontiguousarray(np.rot90(paint(float(t), number), -turns))
            frame = av.VideoFrame.from_ndarray(stored, format="rgb24")
            frame.pts, frame.time_base = round(t * TICKS), Fraction(1, TICKS)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
        if tone is not None and sound is not None:
            for start in range(0, int(sound[1] * 48_000), 1024):
                wave = np.sin(np.arange(start, start + 1024) / 10).astype(np.float32)
                block = av.AudioFrame.from_ndarray(wave[None], format="fltp", layout="mono")
                block.sample_rate, block.time_base = 48_000, Fraction(1, 48_000)
                block.pts = start + round(sound[0] * 48_000)
                out.mux(tone.encode(block))
            out.mux(tone.encode(None))
    return path


def frame_times(kind: str, seconds: float = 2.5, rate: float = 30.0, seed: int = 0) -> np.ndarray:
    """Return frame times of a kind of film, as they will be stored (whole ticks)."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    if kind != "constant":
        t = t + np.clip(rng.normal(0, 0.004, len(t)), -0.012, 0.012)
        t[0] = 0.0
    if kind == "gap":
        t = t[(t < 0.9) | (t > 1.15)]
    return np.round(np.sort(t) * TICKS) / TICKS


@pytest.fixture
def drive() -> type[Drive]:
    return Drive


@pytest.fixture
def make_times() -> Callable[..., np.ndarray]:
    return frame_times


@pytest.fixture
def make_film() -> Callable[..., Path]:
    """``make_film(path, drive, times, **options)`` writes the disc's film."""

    def make(path: Path, drive: Drive, times: np.ndarray, **options: object) -> Path:
        return write_film(path, times, lambda t, k: draw(drive, t, seed=k), **options)

    return make


@pytest.fixture
def make_counting_film() -> Callable[..., Path]:
    """``make_counting_film(path, times, **options)``: frame k shows k in 12 black/white bars."""

    def paint(t: float, number: int) -> np.ndarray:
        picture = np.zeros((96, 192, 3), dtype=np.uint8)
        for bit in range(12):
            if number >> bit & 1:
                picture[:, 16 * bit : 16 * bit + 16] = 255
        return picture

    def make(path: Path, times: np.ndarray, **options: object) -> Path:
        return write_film(path, times, paint, **options)

    return make


@pytest.fixture
def read_number() -> Callable[[np.ndarray], int]:
    """Read the number of a counting film's frame."""

    def read(rgb: np.ndarray) -> int:
        columns = rgb.mean(axis=(0, 2))
        width = len(columns) / 12
        middles = (np.arange(12) + 0.5) * width
        return int(sum(1 << bit for bit, m in enumerate(middles) if columns[int(m)] > 127))

    return read
