"""Recordings measured in processes of their own, asked for from threads."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest
import soundfile
from tests.core.measure.recordings import RATE, options, sound_of

from wayside.batch.apart import Apart, workers_for
from wayside.errors import Cancelled, MediaError
from wayside.jobs import QUIET, Job
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.sound.media import load_recording

OPTIONS = options()


def write_pass(path: Path, seed: int) -> Path:
    """Write a simulated pass-by and return where."""
    soundfile.write(str(path), sound_of(seed=seed), RATE)
    return path


@dataclass(frozen=True)
class Deadly(MeasureOptions):
    """Options that end the process which receives them, as a crash of a library would."""

    def __reduce__(self) -> tuple[object, ...]:
        return os._exit, (1,)


@pytest.fixture
def apart() -> Iterator[Apart]:
    pool = Apart(2)
    yield pool
    pool.close()


def test_the_same_result_as_in_one_s_own_process(apart: Apart, tmp_path: Path) -> None:
    paths = [write_pass(tmp_path / f"{name}.wav", seed) for seed, name in enumerate("ab")]
    with ThreadPoolExecutor(2) as threads:
        both = list(threads.map(lambda path: apart.measure(path, OPTIONS, QUIET), paths))
    for path, m in zip(paths, both, strict=True):
        assert m.fit is not None
        alone = measure(load_recording(path), OPTIONS).fit
        assert alone is not None
        assert m.fit.speed_mps == alone.speed_mps


def test_what_is_wrong_with_a_file_is_its_sentence(apart: Apart, tmp_path: Path) -> None:
    bad = tmp_path / "bad.wav"
    bad.write_bytes(b"no sound")
    with pytest.raises(MediaError, match=r"bad\.wav"):
        apart.measure(bad, OPTIONS, QUIET)


def test_stopping_ends_soon_and_leaves_room_for_more(apart: Apart, tmp_path: Path) -> None:
    path = write_pass(tmp_path / "a.wav", 1)
    stop = threading.Event()
    stop.set()
    with pytest.raises(Cancelled):
        apart.measure(path, OPTIONS, Job(cancelled=stop.is_set))
    assert apart.measure(path, OPTIONS, QUIET).found


def test_a_crash_is_a_sentence_and_the_next_is_measured(apart: Apart, tmp_path: Path) -> None:
    path = write_pass(tmp_path / "a.wav", 1)
    with pytest.raises(MediaError, match="made the measuring process end"):
        apart.measure(path, Deadly(), QUIET)
    assert apart.measure(path, OPTIONS, QUIET).found


def test_no_more_workers_than_help() -> None:
    assert workers_for(None) == 1
    assert workers_for(2) == 2
    assert workers_for(64) == 8
