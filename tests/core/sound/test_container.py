"""Sound out of films and containers, against the samples that went in."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from wayside.errors import Cancelled, MediaError
from wayside.jobs import Job
from wayside.sound import child_reader
from wayside.sound.media import load_recording

RATE = 48_000
Encode = Callable[..., Path]


def _lag(heard: np.ndarray, original: np.ndarray) -> float:
    """Samples by which `heard` lags `original`: peak of the cross-correlation, parabola fit."""
    n = len(heard) + len(original)
    spectra = np.fft.rfft(heard, n) * np.fft.rfft(original, n).conj()
    r = np.fft.irfft(spectra, n)
    k = int(np.argmax(r))
    a, b, c = r[k - 1], r[k], r[(k + 1) % n]
    return (k if k < n // 2 else k - n) + 0.5 * float((a - c) / (a - 2 * b + c))


@pytest.mark.parametrize("seconds_late", [0.0, 0.5, 1.2345])
@pytest.mark.parametrize(
    ("suffix", "codec", "sample_format"),
    [(".m4a", "aac", "fltp"), (".mov", "aac", "fltp"), (".m4a", "alac", "s16p"),
     (".mov", "pcm_s16le", "s16"), (".mkv", "aac", "fltp")],
)  # fmt: skip
def test_sound_lies_where_the_film_puts_it(
    tmp_path: Path,
    encode: Encode,
    make_noise,
    suffix: str,
    codec: str,
    sample_format: str,
    seconds_late: float,
) -> None:
    original = make_noise(2.0)
    start = round(seconds_late * RATE)
    path = encode(
        tmp_path / f"a{suffix}", original, codec=codec, sample_format=sample_format, start=start
    )
    recording = load_recording(path)
    lag = recording.start_s * RATE + _lag(recording.mono(), original)
    # Matroska rounds every time stamp to 1 ms.
    tolerance = 48.0 if suffix == ".mkv" else 1.0
    assert lag == pytest.approx(start, abs=tolerance)
    assert recording.gaps == ()


@pytest.mark.parametrize(("codec", "fmt"), [("alac", "s16p"), ("pcm_s16le", "s16")])
@pytest.mark.parametrize("channels", [1, 2])
def test_lossless_sound_is_sample_exact(
    tmp_path: Path, encode: Encode, codec: str, fmt: str, channels: int
) -> None:
    integers = np.random.default_rng(3).integers(-(2**15), 2**15, (30_000, channels))
    samples = integers / 2.0**15
    recording = load_recording(encode(tmp_path / "a.mov", samples, codec=codec, sample_format=fmt))
    np.testing.assert_array_equal(recording.read(0, 30_000), samples.astype(np.float32))


def test_a_hole_is_filled_and_listed(tmp_path: Path, encode: Encode, make_noise) -> None:
    original = make_noise(2.0)
    first = 4096 * 10  # a whole number of the codec's blocks
    path = encode(
        tmp_path / "a.m4a", original, codec="alac", sample_format="s16p", hole=(first, 12_000)
    )
    recording = load_recording(path)
    assert len(recording.gaps) == 1
    assert recording.gaps[0].start_s == pytest.approx(first / RATE, abs=1e-6)
    assert recording.gaps[0].duration_s == pytest.approx(0.25, abs=1e-6)
    sound = recording.mono()
    assert not sound[first : first + 12_000].any()
    np.testing.assert_allclose(sound[first + 12_000 :], original[first:], atol=2e-5)
    assert any("hole" in note for note in recording.notes)


def test_a_hole_in_aac_keeps_the_rest_on_time(tmp_path: Path, encode: Encode, make_noise) -> None:
    original = make_noise(2.0)
    first = 1024 * 40
    recording = load_recording(encode(tmp_path / "a.mp4", original, hole=(first, 12_000)))
    assert sum(g.duration_s for g in recording.gaps) == pytest.approx(0.25, abs=0.001)
    late = recording.mono(first + 16_000)
    assert _lag(late, original[first + 4_000 :]) == pytest.approx(0.0, abs=1.0)


def test_a_phone_film_with_uneven_frames_and_late_sound(
    tmp_path: Path, encode: Encode, make_noise
) -> None:
    original = make_noise(2.0)
    rng = np.random.default_rng(2)
    times = list(np.cumsum(rng.uniform(0.02, 0.06, 60)))
    path = encode(tmp_path / "a.mp4", original, start=4_800, picture_times_s=times)
    recording = load_recording(path)
    lag = recording.start_s * RATE + _lag(recording.mono(), original)
    assert lag == pytest.approx(4_800, abs=1.0)


def test_an_undecodable_extra_track_is_left_out(
    tmp_path: Path, encode: Encode, make_noise, spoil_sound_track
) -> None:
    original = make_noise(1.0)
    path = encode(tmp_path / "a.mp4", original, sound_tracks=2)
    spoil_sound_track(path, 1)
    recording = load_recording(path)
    assert _lag(recording.mono(), original) == pytest.approx(0, abs=1)
    assert any("no decoder" in note for note in recording.notes)


def test_an_undecodable_first_track_is_passed_over(
    tmp_path: Path, encode: Encode, make_noise, spoil_sound_track
) -> None:
    original = make_noise(1.0)
    path = encode(tmp_path / "a.mp4", original, sound_tracks=2)
    spoil_sound_track(path, 0)
    assert _lag(load_recording(path).mono(), original) == pytest.approx(0, abs=1)


def test_raw_aac(tmp_path: Path, encode: Encode, make_noise) -> None:
    original = make_noise(2.0)
    recording = load_recording(encode(tmp_path / "a.aac", original))
    # The format has no place for the encoder's delay of 1024 samples.
    assert _lag(recording.mono(), original) == pytest.approx(1024, abs=1)
    assert any("Raw AAC" in note for note in recording.notes)


def test_slow_motion_is_pointed_out(tmp_path: Path, encode: Encode, make_noise) -> None:
    times = [k / 240 for k in range(240)]
    path = encode(tmp_path / "a.mp4", make_noise(1.0), picture_times_s=times)
    assert any("slow-motion" in note for note in load_recording(path).notes)


def test_sound_and_picture_of_different_length_are_pointed_out(
    tmp_path: Path, encode: Encode, make_noise
) -> None:
    times = [k / 30 for k in range(150)]
    path = encode(tmp_path / "a.mp4", make_noise(1.0), picture_times_s=times)
    assert any("differ in length" in note for note in load_recording(path).notes)


def test_a_truncated_film_with_its_index_in_front(
    tmp_path: Path, encode: Encode, make_noise
) -> None:
    original = make_noise(4.0)
    path = encode(tmp_path / "a.mp4", original, options={"movflags": "faststart"})
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    recording = load_recording(path)
    assert 1.0 < recording.duration_s < 3.5
    assert any("cut short" in note for note in recording.notes)
    assert _lag(recording.mono(), original[: recording.n_samples]) == pytest.approx(0, abs=1)


def test_damage_in_the_middle_keeps_the_rest_on_time(
    tmp_path: Path, encode: Encode, make_noise
) -> None:
    original = make_noise(4.0)
    path = encode(tmp_path / "a.mp4", original)
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 4_000] = np.random.default_rng(0).bytes(4_000)
    path.write_bytes(data)
    recording = load_recording(path)
    late = recording.mono(3 * RATE)
    assert _lag(late, original[3 * RATE :]) == pytest.approx(0, abs=1)


def test_a_crash_of_the_media_library_is_one_sentence(
    tmp_path: Path, encode: Encode, make_noise, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(0.5))
    (tmp_path / "crash_child.py").write_text("import os, signal\nos.kill(os.getpid(), 11)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(child_reader, "CHILD", "crash_child")
    with pytest.raises(MediaError, match=r"a\.mp4.*library fail"):
        load_recording(path)


def test_a_hang_of_the_media_library_ends(
    tmp_path: Path, encode: Encode, make_noise, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(0.5))
    (tmp_path / "hang_child.py").write_text("import time\ntime.sleep(100)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(child_reader, "CHILD", "hang_child")
    monkeypatch.setattr(child_reader, "STALL_LIMIT_S", 0.3)
    with pytest.raises(MediaError, match="takes too long"):
        load_recording(path)


def test_cancel_is_noticed_within_200_ms(
    tmp_path: Path, encode: Encode, make_noise, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(0.5))
    (tmp_path / "hang_child.py").write_text("import time\ntime.sleep(100)\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setattr(child_reader, "CHILD", "hang_child")
    asked = threading.Event()
    timer = threading.Timer(0.3, asked.set)
    timer.start()
    begin = time.monotonic()
    with pytest.raises(Cancelled):
        load_recording(path, job=Job(cancelled=asked.is_set))
    timer.join()
    assert time.monotonic() - begin < 0.5


def test_no_decoder_outlives_an_error_that_is_kept(
    tmp_path: Path, encode: Encode, make_noise, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = encode(tmp_path / "a.mp4", make_noise(0.5))
    started = []

    class Link(child_reader.ChildLink):
        def __init__(self, module: str, path: Path) -> None:
            super().__init__(module, path)
            started.append(self._child)

    def refuse(fraction: float, message: str) -> None:
        if message == "Reading the recording":
            raise MediaError("This recording is not wanted.")

    monkeypatch.setattr(child_reader, "ChildLink", Link)
    with pytest.raises(MediaError, match="not wanted") as kept:
        load_recording(path, job=Job(report=refuse))
    assert kept.tb is not None
    assert [child.returncode is None for child in started] == [False]
