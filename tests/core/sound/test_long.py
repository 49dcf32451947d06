"""Long recordings live in a file, read by offset, and answer as if in memory."""

from __future__ import annotations

import contextlib
import gc
import threading
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import Cancelled
from wayside.jobs import Job
from wayside.sound import sink
from wayside.sound.media import load_recording
from wayside.sound.recording import MemoryStore
from wayside.sound.store import FileStore


@pytest.fixture
def long_wav(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, np.ndarray]:
    monkeypatch.setattr(sink, "IN_MEMORY_BYTES", 1 << 20)
    integers = np.random.default_rng(0).integers(-(2**15), 2**15, (400_000, 2), dtype=np.int16)
    soundfile.write(tmp_path / "long.wav", integers, 48_000)
    return tmp_path / "long.wav", integers / np.float32(2**15)


def test_any_stretch_equals_the_original(long_wav: tuple[Path, np.ndarray]) -> None:
    path, truth = long_wav
    recording = load_recording(path)
    assert isinstance(recording.store, FileStore)
    for start, stop in [(0, 400_000), (123_456, 123_457), (399_000, 500_000), (7, 7), (-5, 9)]:
        np.testing.assert_array_equal(recording.read(start, stop), truth[max(0, start) : stop])


def test_short_recordings_stay_in_memory(tmp_path: Path, make_noise) -> None:
    soundfile.write(tmp_path / "a.wav", make_noise(1.0), 48_000)
    assert isinstance(load_recording(tmp_path / "a.wav").store, MemoryStore)


def test_threads_read_without_disturbing_each_other(long_wav: tuple[Path, np.ndarray]) -> None:
    path, truth = long_wav
    recording = load_recording(path)
    wrong: list[int] = []

    def read(seed: int) -> None:
        for start in np.random.default_rng(seed).integers(0, 390_000, 100):
            if not np.array_equal(recording.read(start, start + 999), truth[start : start + 999]):
                wrong.append(int(start))

    threads = [threading.Thread(target=read, args=(k,)) for k in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


def _held_open_under(folder: Path) -> list[str]:
    """Files of this process in `folder`, those without a name too; other tests' are not counted."""
    held = []
    for descriptor in Path("/proc/self/fd").iterdir():
        with contextlib.suppress(FileNotFoundError):  # the one that lists the others
            held.append(str(descriptor.readlink()))
    return [name for name in held if name.startswith(str(folder))]


def test_the_file_has_no_name_and_goes_with_the_recording(
    long_wav: tuple[Path, np.ndarray], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    recording = load_recording(long_wav[0])
    assert list((tmp_path / "cache" / "wayside").iterdir()) == []
    assert len(_held_open_under(tmp_path / "cache")) == 1
    del recording
    gc.collect()
    assert _held_open_under(tmp_path / "cache") == []


def test_cancel_between_blocks(long_wav: tuple[Path, np.ndarray]) -> None:
    steps: list[float] = []
    job = Job(report=lambda f, m: steps.append(f), cancelled=lambda: len(steps) > 3)
    with pytest.raises(Cancelled):
        load_recording(long_wav[0], job=job)
    assert steps[-1] < 1.0
    assert steps == sorted(steps)
