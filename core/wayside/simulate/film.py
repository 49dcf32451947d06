"""Write a phone-style MP4: H.264 picture with uneven frame times, AAC sound, rotation flag.

The only module besides the decoder that touches the media library.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.physics.passby import FloatArray
from wayside.simulate.motion import Motion
from wayside.simulate.picture import View

_TICKS_PER_S = 90_000
_AAC_BLOCK = 1024


@dataclass(frozen=True)
class FilmOptions:
    """How the film is made.

    Parameters
    ----------
    frames_per_s : float
        Nominal frame rate; the true times vary about it as on a phone.
    jitter_s : float
        Standard deviation of a frame's time about its nominal place (s).
    drop_fraction : float
        Share of frames left out.
    rotation_deg : int
        0, 90, 180 or 270: the picture is stored turned, with a flag to turn it back.
    width, height : int
        Size as shown (pixels).
    field_deg : float
        Horizontal field of view (°).
    marker_distance_m : float
        Distance between the two posts, set evenly about the closest point (m).
    sound_bits_per_s : int
        Bit rate of the AAC sound.
    """

    frames_per_s: float = 30.0
    jitter_s: float = 0.002
    drop_fraction: float = 0.02
    rotation_deg: int = 0
    width: int = 480
    height: int = 270
    field_deg: float = 75.0
    marker_distance_m: float = 3.0
    sound_bits_per_s: int = 128_000

    def __post_init__(self) -> None:
        if self.rotation_deg not in (0, 90, 180, 270):
            raise InputError(
                f"The film's rotation, {self.rotation_deg}°, must be 0, 90, 180 or 270."
            )
        if not 1 <= self.frames_per_s <= 240:
            raise InputError(
                f"The frame rate, {self.frames_per_s:g} a second, must be between 1 and 240."
            )
        if self.marker_distance_m <= 0:
            raise InputError("The distance between the markers must be above 0 m.")

    @property
    def markers_m(self) -> tuple[float, float]:
        """Places of the posts along the track (m)."""
        return (-self.marker_distance_m / 2, self.marker_distance_m / 2)


def frame_ticks(options: FilmOptions, duration_s: float, seed: int) -> list[int]:
    """Return the presentation time of each frame in ticks of 1/90000 s, rising."""
    rng = np.random.default_rng([seed, 90])
    count = max(1, int(duration_s * options.frames_per_s))
    nominal = np.arange(count) / options.frames_per_s
    limit = 0.3 / options.frames_per_s
    jitter = np.clip(rng.normal(0, options.jitter_s, count), -limit, limit)
    jitter[0] = 0.0
    keep = rng.random(count) >= options.drop_fraction
    keep[0] = True
    return [round(t * _TICKS_PER_S) for t in (nominal + jitter)[keep]]


def write_film(
    path: Path,
    sound: npt.NDArray[np.float32],
    rate_hz: float,
    motion: Motion,
    options: FilmOptions,
    seed: int = 0,
    job: Job = QUIET,
) -> FloatArray:
    """Write the film and return its frame times (s), shape (n_frames,).

    Parameters
    ----------
    path : Path
        The MP4 to write.
    sound : ndarray, shape (n_samples, n_channels)
        Full scale 1.
    rate_hz : float
        A sample rate AAC knows, e.g. 44100 or 48000 (Hz).
    motion : Motion
        Where the front wheel is at any time.
    options : FilmOptions
    seed : int
        Names the frame times.
    job : Job
        Progress and cancelling.
    """
    ticks = frame_ticks(options, len(sound) / rate_hz, seed)
    with av.open(str(path), "w", format="mp4") as film:
        picture_track = _picture_track(film, options)
        sound_track = _sound_track(film, rate_hz, sound.shape[1], options.sound_bits_per_s)
        blocks = _sound_frames(sound, int(rate_hz))
        heard_s = 0.0
        for index, frame in enumerate(_pictures(motion, options, ticks)):
            job.step(index / len(ticks), "drawing the film")
            film.mux(picture_track.encode(frame))
            # phones interleave: sound is written as far as the picture has come
            while heard_s <= ticks[index] / _TICKS_PER_S and (block := next(blocks, None)):
                heard_s += block.samples / rate_hz
                film.mux(sound_track.encode(block))
        for block in blocks:
            film.mux(sound_track.encode(block))
        film.mux(picture_track.encode(None))
        film.mux(sound_track.encode(None))
    return np.array(ticks) / _TICKS_PER_S


def write_aac(
    path: Path, sound: npt.NDArray[np.float32], rate_hz: float, bits_per_s: int = 128_000
) -> None:
    """Write sound alone as AAC in an MP4 container (.m4a), shape (n_samples, n_channels)."""
    with av.open(str(path), "w", format="mp4") as container:
        track = _sound_track(container, rate_hz, sound.shape[1], bits_per_s)
        for block in _sound_frames(sound, int(rate_hz)):
            container.mux(track.encode(block))
        container.mux(track.encode(None))


def _picture_track(film: Any, options: FilmOptions) -> Any:
    track = film.add_stream("libx264", rate=round(options.frames_per_s))
    turned = options.rotation_deg in (90, 270)
    track.width = options.height if turned else options.width
    track.height = options.width if turned else options.height
    track.pix_fmt = "yuv420p"
    # one thread, or the bytes of the film would depend on the machine's core count
    track.codec_context.thread_count = 1
    track.codec_context.options = {"crf": "27", "preset": "medium"}
    track.codec_context.time_base = Fraction(1, _TICKS_PER_S)
    track.time_base = Fraction(1, _TICKS_PER_S)
    if options.rotation_deg:
        track.set_display_rotation(options.rotation_deg)
    return track


def _sound_track(container: Any, rate_hz: float, channels: int, bits_per_s: int) -> Any:
    track = container.add_stream("aac", rate=int(rate_hz))
    track.codec_context.layout = "mono" if channels == 1 else "stereo"
    track.codec_context.bit_rate = bits_per_s
    return track


def _pictures(motion: Motion, options: FilmOptions, ticks: list[int]) -> Iterator[Any]:
    view = View(
        options.width,
        options.height,
        motion.passby.closest_m,
        options.field_deg,
        options.markers_m,
    )
    times = np.array(ticks) / _TICKS_PER_S
    places = motion.direction * motion.travelled(times)
    turns = options.rotation_deg // 90
    for tick, place in zip(ticks, places.tolist(), strict=True):
        stored = np.ascontiguousarray(np.rot90(view.draw(place, motion.direction), -turns))
        frame = av.VideoFrame.from_ndarray(stored, format="rgb24")
        frame.pts = tick
        frame.time_base = Fraction(1, _TICKS_PER_S)
        yield frame


def _sound_frames(sound: npt.NDArray[np.float32], rate_hz: int) -> Iterator[Any]:
    layout = "mono" if sound.shape[1] == 1 else "stereo"
    for start in range(0, len(sound), _AAC_BLOCK):
        planes = np.ascontiguousarray(sound[start : start + _AAC_BLOCK].T)
        frame = av.AudioFrame.from_ndarray(planes, format="fltp", layout=layout)
        frame.sample_rate = rate_hz
        frame.pts = start
        frame.time_base = Fraction(1, rate_hz)
        yield frame
