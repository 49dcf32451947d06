"""Every unusable file ends in one sentence that names it and says what to do."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import Cancelled, MediaError
from wayside.jobs import Job
from wayside.sound.media import load_recording


def _refused(path: Path, words: str) -> None:
    with pytest.raises(MediaError) as caught:
        load_recording(path)
    sentence = str(caught.value)
    assert path.name in sentence
    assert str(path.parent) not in sentence
    assert words in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence


def test_missing(tmp_path: Path) -> None:
    _refused(tmp_path / "none.wav", "does not exist")


def test_folder(tmp_path: Path) -> None:
    (tmp_path / "clips").mkdir()
    _refused(tmp_path / "clips", "is a folder")


def test_empty(tmp_path: Path) -> None:
    (tmp_path / "a.wav").touch()
    _refused(tmp_path / "a.wav", "is empty")


def test_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.wav")
    _refused(tmp_path / "a.wav", "not an ordinary file")


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Simulated: the tests may run as a user whom permissions do not bind.
    (tmp_path / "a.wav").write_bytes(b"RIFF")

    def deny(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", deny)
    _refused(tmp_path / "a.wav", "may not be read")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"time;speed\n1;2\n" * 50, "is a text file"),
        ("Geschwindigkeit über Grund\n".encode() * 500, "is a text file"),
        ("metres\n".encode("utf-16"), "is a text file"),
        (b"x", "is a text file"),
        (bytes(5_000), "is a file of zeros"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "is a picture"),
        (b"%PDF-1.7\n" + bytes(range(256)), "is a PDF document"),
        (np.random.default_rng(5).bytes(20_000), "not in a format"),
        (b"RIFF\x00\x00\x00\x00WAVE", "a.wav"),
        (b"RIFF" + np.random.default_rng(5).bytes(20_000), "not in a format"),
        (b"RIFF\xff\xff\xff\xffWAVE" + np.random.default_rng(6).bytes(20_000), "damaged"),
        (b"fLaC" + np.random.default_rng(7).bytes(20_000), "damaged"),
        (b"OggS" + np.random.default_rng(8).bytes(20_000), "damaged"),
        (b"ID3\x04" + np.random.default_rng(9).bytes(20_000), "a.wav"),
        (b"\xff\xfb\x90\x64" + np.random.default_rng(9).bytes(20_000), "a.wav"),
        (b"\xff\xf1\x50\x80" + np.random.default_rng(10).bytes(20_000), "a.wav"),
        (b"\x00\x00\x00\x18ftypmp42" + np.random.default_rng(11).bytes(20_000), "lost its index"),
        (b"\x1a\x45\xdf\xa3" + np.random.default_rng(12).bytes(20_000), "damaged"),
        (b"#EXTM3U\nhttp://localhost/a.ts\n", "is a text file"),
    ],
)
def test_content_that_is_no_recording(tmp_path: Path, content: bytes, words: str) -> None:
    (tmp_path / "a.wav").write_bytes(content)
    _refused(tmp_path / "a.wav", words)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_samples_that_are_not_numbers(tmp_path: Path, make_noise, bad: float) -> None:
    samples = make_noise(1.0)
    samples[24_000] = bad
    soundfile.write(tmp_path / "a.wav", samples, 48_000, subtype="FLOAT")
    _refused(tmp_path / "a.wav", "not numbers, first at 0.500 s")


@pytest.mark.parametrize(("n", "words"), [(0, "0 s"), (1, "1 sample"), (4_000, "0.0833 s")])
def test_too_short(tmp_path: Path, make_noise, n: int, words: str) -> None:
    soundfile.write(tmp_path / "a.wav", make_noise(1.0)[:n], 48_000)
    _refused(tmp_path / "a.wav", words)


@pytest.mark.parametrize("level", [0.0, 0.25])
def test_silent(tmp_path: Path, level: float) -> None:
    soundfile.write(tmp_path / "a.flac", np.full((48_000, 2), level), 48_000)
    _refused(tmp_path / "a.flac", "is silent")


def test_all_clipped(tmp_path: Path, make_noise) -> None:
    soundfile.write(tmp_path / "a.wav", np.clip(make_noise(1.0) * 1e6, -1, 1), 48_000)
    _refused(tmp_path / "a.wav", "clipped throughout")


@pytest.mark.parametrize("rate", [4_000, 384_000])
def test_rate_out_of_range(tmp_path: Path, make_noise, rate: int) -> None:
    soundfile.write(tmp_path / "a.wav", make_noise(1.0), rate)
    _refused(tmp_path / "a.wav", "8 to 192 kHz")


def test_film_without_sound(tmp_path: Path, encode: Callable[..., Path], make_noise) -> None:
    import av

    with av.open(str(tmp_path / "a.mp4"), "w") as out:
        stream = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for _ in range(10):
            out.mux(stream.encode(av.VideoFrame(64, 48, "yuv420p")))
        out.mux(stream.encode(None))
    _refused(tmp_path / "a.mp4", "no sound track")


def test_film_with_undecodable_sound(
    tmp_path: Path, encode: Callable[..., Path], make_noise, spoil_sound_track
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(1.0))
    spoil_sound_track(path, 0)
    _refused(path, "cannot be decoded")


def test_film_cut_short(tmp_path: Path, encode: Callable[..., Path], make_noise) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(2.0))
    path.write_bytes(path.read_bytes()[:20_000])
    _refused(path, "lost its index")


def test_silent_film(tmp_path: Path, encode: Callable[..., Path]) -> None:
    _refused(encode(tmp_path / "a.mp4", np.zeros(48_000, np.float32)), "is silent")


def test_cancel_before_the_start(tmp_path: Path, make_noise) -> None:
    soundfile.write(tmp_path / "a.wav", make_noise(1.0), 48_000)
    with pytest.raises(Cancelled):
        load_recording(tmp_path / "a.wav", job=Job(cancelled=lambda: True))


@pytest.mark.parametrize("seed", range(20))
def test_a_film_with_random_damage_never_crashes(
    tmp_path: Path, encode: Callable[..., Path], make_noise, seed: int
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(0.5), options={"movflags": "faststart"})
    data = bytearray(path.read_bytes())
    rng = np.random.default_rng(seed)
    for position in rng.integers(0, len(data) if seed % 2 else 1_500, 30):
        data[position] = rng.integers(256)
    path.write_bytes(data)
    outcome = ""
    try:
        assert np.isfinite(load_recording(path).mono()).all()
    except MediaError as error:
        outcome = str(error)
    assert not outcome or "a.mp4" in outcome
