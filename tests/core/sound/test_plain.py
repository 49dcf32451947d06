"""Plain recordings: every sample exactly as written (reference: the integers themselves)."""

from __future__ import annotations

import io
import struct
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import MediaError
from wayside.sound.media import load_recording

BITS = {"PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32}


def _integers(bits: int, n: int, channels: int) -> np.ndarray:
    rng = np.random.default_rng(bits)
    top = 2 ** (bits - 1)
    values = rng.integers(-top, top, size=(n, channels), dtype=np.int64)
    values[:2] = [[-top] * channels, [top - 1] * channels]
    return values


def _write(path: Path, values: np.ndarray, bits: int, rate: int, subtype: str, kind: str) -> None:
    """Write integers exactly: left-justified in 32 bit, as the sound file library expects."""
    left = (values << (32 - bits)).astype(np.int32)
    soundfile.write(path, left, rate, subtype=subtype, format=kind)


@pytest.mark.parametrize("rate", [8_000, 44_100, 192_000])
@pytest.mark.parametrize("channels", [1, 2, 6])
@pytest.mark.parametrize(
    ("kind", "subtype"),
    [("WAV", "PCM_U8"), ("WAV", "PCM_16"), ("WAV", "PCM_24"), ("WAV", "PCM_32"),
     ("FLAC", "PCM_16"), ("FLAC", "PCM_24"), ("AIFF", "PCM_16"), ("RF64", "PCM_24")],
)  # fmt: skip
def test_integer_samples_are_exact(
    tmp_path: Path, kind: str, subtype: str, channels: int, rate: int
) -> None:
    bits = BITS[subtype]
    values = _integers(bits, rate // 4, channels)
    path = tmp_path / "clip.bin"
    _write(path, values, bits, rate, subtype, kind)
    recording = load_recording(path)
    assert (recording.rate_hz, recording.n_channels) == (rate, channels)
    assert recording.n_samples == len(values)
    assert recording.start_s == 0.0
    assert recording.notes == ()
    # A float32 holds 24 bits exactly; 32-bit integers are rounded to it.
    expected = (values / 2.0 ** (bits - 1)).astype(np.float32)
    np.testing.assert_array_equal(recording.read(0, len(values)), expected)


@pytest.mark.parametrize("subtype", ["FLOAT", "DOUBLE"])
def test_float_samples_are_exact_even_beyond_full_scale(tmp_path: Path, subtype: str) -> None:
    values = np.random.default_rng(0).normal(0, 1, (9_000, 2)).astype(np.float32)
    soundfile.write(tmp_path / "a.wav", values, 48_000, subtype=subtype)
    recording = load_recording(tmp_path / "a.wav")
    np.testing.assert_array_equal(recording.read(0, 9_000), values)


@pytest.mark.parametrize(("kind", "subtype"), [("OGG", "VORBIS"), ("OGG", "OPUS"), ("MP3", None)])
def test_lossy_recordings_keep_time_and_shape(
    tmp_path: Path, make_noise, kind: str, subtype: str | None
) -> None:
    samples = make_noise(2.0)
    soundfile.write(tmp_path / "a", samples, 48_000, format=kind, subtype=subtype)
    recording = load_recording(tmp_path / "a")
    decoded = recording.mono()[: len(samples)]
    spectra = np.fft.rfft(decoded, 2 * len(samples)) * np.fft.rfft(samples, 2 * len(samples)).conj()
    assert np.argmax(np.fft.irfft(spectra)) in (0, 1, 2 * len(samples) - 1)
    assert np.corrcoef(decoded, samples)[0, 1] > 0.9


@pytest.mark.parametrize(("kind", "name"), [("FLAC", "a.wav"), ("WAV", "a.mp4"), ("WAV", "a.raw")])
def test_content_decides_not_the_name(tmp_path: Path, make_noise, kind: str, name: str) -> None:
    soundfile.write(tmp_path / name, make_noise(0.5), 48_000, format=kind)
    assert load_recording(tmp_path / name).n_samples == 24_000


@pytest.mark.parametrize("keep", [0.5, 0.7])
@pytest.mark.parametrize(
    # Ogg pages hold about a second each, and only whole ones can be used.
    ("kind", "tolerance"),
    [("WAV", 0.1), ("FLAC", 0.2), ("MP3", 0.2), ("OGG", 1.2)],
)
def test_a_truncated_recording_is_used_as_far_as_it_goes(
    tmp_path: Path, make_noise, kind: str, tolerance: float, keep: float
) -> None:
    samples = make_noise(4.0)
    buffer = io.BytesIO()
    soundfile.write(buffer, samples, 48_000, format=kind)
    whole = buffer.getvalue()
    path = tmp_path / "cut.wav"
    path.write_bytes(whole[: int(keep * len(whole))])
    recording = load_recording(path)
    assert recording.duration_s == pytest.approx(4.0 * keep, abs=tolerance)
    n = min(24_000, recording.n_samples)
    assert np.corrcoef(recording.mono(0, n), samples[:n])[0, 1] > 0.9
    assert any("cut short" in note for note in recording.notes)


def test_a_damaged_recording_prints_nothing(
    tmp_path: Path, make_noise, capfd: pytest.CaptureFixture[str]
) -> None:
    soundfile.write(tmp_path / "a.mp3", make_noise(2.0), 48_000)
    data = bytearray((tmp_path / "a.mp3").read_bytes())
    data[9_000:9_600] = np.random.default_rng(0).bytes(600)
    (tmp_path / "a.mp3").write_bytes(data)
    assert load_recording(tmp_path / "a.mp3").duration_s == pytest.approx(2.0, abs=0.2)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("kind", ["WAV", "AIFF"])
def test_damaged_headers_print_nothing(
    tmp_path: Path, make_noise, kind: str, seed: int, capfd: pytest.CaptureFixture[str]
) -> None:
    soundfile.write(tmp_path / "a.bin", make_noise(0.3), 48_000, format=kind)
    data = bytearray((tmp_path / "a.bin").read_bytes())
    rng = np.random.default_rng(seed)
    # Past the four letters that tell the format, within the header and its chunk sizes.
    for position in rng.integers(12, 60, 4):
        data[position] = rng.integers(256)
    (tmp_path / "a.bin").write_bytes(data)
    with suppress(MediaError):
        assert np.isfinite(load_recording(tmp_path / "a.bin").mono()).all()
    assert capfd.readouterr() == ("", "")


def test_a_header_that_claims_hours_allocates_nothing(tmp_path: Path, make_noise) -> None:
    soundfile.write(tmp_path / "a.wav", make_noise(1.0), 48_000)
    data = bytearray((tmp_path / "a.wav").read_bytes())
    position = data.index(b"data") + 4
    data[position : position + 4] = struct.pack("<I", 0xF0000000)
    (tmp_path / "a.wav").write_bytes(data)
    recording = load_recording(tmp_path / "a.wav")
    assert recording.n_samples == 48_000
    assert any("cut short" in note for note in recording.notes)


def test_too_long_is_refused_before_reading(tmp_path: Path) -> None:
    path = tmp_path / "long.wav"
    soundfile.write(path, np.zeros(8, np.int16), 8_000, subtype="PCM_U8")
    n = 5 * 3600 * 8_000
    data = bytearray(path.read_bytes())
    position = data.index(b"data") + 4
    data[position : position + 4] = struct.pack("<I", n)
    with path.open("wb") as file:
        file.write(data)
        file.truncate(len(data) + n)
    with pytest.raises(MediaError, match="longer than 4 hours"):
        load_recording(path)
