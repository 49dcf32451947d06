"""Sound files and films to damage: small ones in many formats, and the bundled samples."""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import soundfile

from wayside.film.geometry import Line, Point
from wayside.film.marks import Clap, FilmMarks, Marker, Ruler, Sighting, Typed
from wayside.session.document import session_to_json
from wayside.session.session import Entry, MediaRef, Session, Windows

ROOT = Path(__file__).resolve().parents[2]
_RATE = 16_000
_PLAIN = {
    "wav": ("WAV", "PCM_16"), "float.wav": ("WAV", "FLOAT"), "flac": ("FLAC", "PCM_16"),
    "ogg": ("OGG", "VORBIS"), "opus.ogg": ("OGG", "OPUS"), "mp3": ("MP3", "MPEG_LAYER_III"),
    "aiff": ("AIFF", "PCM_16"), "au": ("AU", "PCM_16"), "w64": ("W64", "PCM_16"),
    "caf": ("CAF", "PCM_16"), "rf64": ("RF64", "PCM_24"), "adpcm.wav": ("WAV", "IMA_ADPCM"),
}  # fmt: skip
_FILMS = {
    "mp4": "aac",
    "mov": "pcm_s16le",
    "mkv": "pcm_s16le",
    "avi": "mp2",
    "ts": "aac",
    "webm": "opus",
}


def media_seeds(folder: Path, *, bundled: bool = False, films: bool = False) -> list[Path]:
    """Write small recordings and films into `folder` and return them.

    Parameters
    ----------
    folder : Path
    bundled : bool
        Add the bundled samples, which are longer.
    films : bool
        Only files with pictures.
    """
    found = []
    sound = _sound(0.5)
    for end, (container, subtype) in ({} if films else _PLAIN).items():
        rate = 48_000 if "OPUS" in subtype else _RATE
        soundfile.write(folder / f"s.{end}", sound, rate, format=container, subtype=subtype)
        found.append(folder / f"s.{end}")
    for end, codec in _FILMS.items():
        _film(folder / f"f.{end}", codec)
        found.append(folder / f"f.{end}")
    for end, codec in ({} if films else {"m4a": "aac", "aac": "aac"}).items():
        _film(folder / f"t.{end}", codec, pictures=False)
        found.append(folder / f"t.{end}")
    if bundled:
        ends = {".mp4"} if films else {".flac", ".m4a", ".mp4"}
        found += sorted(p for p in (ROOT / "sample_media").iterdir() if p.suffix in ends)
    return found


def _sound(seconds: float) -> np.ndarray:
    t = np.arange(int(seconds * _RATE)) / _RATE
    noise = np.random.default_rng(3).normal(0, 0.02, t.size)
    return (0.3 * np.sin(2 * np.pi * 440.0 * t) + noise).astype(np.float32)


def _film(path: Path, codec: str, *, pictures: bool = True) -> None:
    rate = 48_000 if codec == "opus" else _RATE
    with av.open(str(path), "w") as out:
        audio = out.add_stream("libopus" if codec == "opus" else codec, rate=rate, layout="mono")
        video = None
        if pictures:
            video = out.add_stream("libvpx" if path.suffix == ".webm" else "libx264", rate=15)
            video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
            for i in range(8):
                picture = np.full((48, 64, 3), 20 + 20 * i, np.uint8)
                out.mux(video.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        values = (_sound(0.5) * 32767).astype(np.int16)[None, :]
        frame = av.AudioFrame.from_ndarray(values, format="s16", layout="mono")
        frame.sample_rate = rate
        resampler = av.AudioResampler(audio.format, "mono", rate, audio.frame_size or None)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            out.mux(audio.encode(piece))
        for stream in (audio, video):
            if stream is not None:
                out.mux(stream.encode(None))


def setup_seeds() -> list[str]:
    """Return the texts of set-up files of every kind of source."""
    kept = sorted((ROOT / "tests" / "core" / "hand" / "version1").glob("*.json"))
    kept += sorted((ROOT / "sample_media").glob("*.setup.json"))
    return [path.read_text(encoding="utf-8") for path in kept]


def session_seeds() -> list[str]:
    """Return the texts of session files, bare and full, and one of the first version."""
    film = MediaRef("/films/pass.mp4", 12345, "ab" * 32)
    full = Session().with_media(film).with_windows(Windows((0.5, 1.5), (4.0, 5.5)))
    full = full.with_entry("motion.marker_distance", Entry("6,1", "m", "0.02"))
    full = full.with_entry("source.count", Entry("62", "", "", "u", (("tool", "tape"),)))
    full = full.with_entry("plan.speed", Entry("5 8", "m/s", "", "half_width"))
    full = full.with_entry("tools.tape", Entry("0", "%", "0.1")).with_choice("source.kind", "wheel")
    full = full.with_film_file(film).with_film(_marks())
    values = [session_to_json(s, Path("/films")) for s in (Session(), full)]
    kept = (Path(__file__).parent / "session-version1.json").read_text(encoding="utf-8")
    return [*(json.dumps(v, ensure_ascii=False) for v in values), kept]


def _marks() -> FilmMarks:
    marker = Marker(
        Line(Point(10.0, 5.0), Point(12.0, 90.0)),
        Sighting(1.20, Point(9.0, 40.0)),
        Sighting(1.2333, None),
        Typed("0", "m", "0.01"),
        True,
    )
    clap = Clap(0.5, 0.533, Typed("0.52", "s", "0.001"), Typed("3", "m", "0.1"))
    ruler = Ruler(Point(1.0, 1.0), Point(50.0, 1.0), Typed("1", "m", "0.005"))
    return FilmMarks((marker, marker), "front hub", "240", clap, ruler)
