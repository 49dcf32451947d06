"""Writing sound: what soundfile reads back, and files that must not be touched."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import Cancelled, InputError
from wayside.jobs import Job
from wayside.listen.export import check_target, write_sound
from wayside.sound.recording import Recording


def _noise(channels: int = 2) -> Recording:
    x = np.random.default_rng(1).uniform(-0.9, 0.9, (70_000, channels))
    return Recording.from_array(x, 8000.0)


@pytest.mark.parametrize("name", ["out.wav", "out.FLAC", "out.flac"])
def test_what_is_written_is_read_back_to_24_bits(tmp_path: Path, name: str) -> None:
    sound = _noise()
    write_sound(tmp_path / name, sound)
    back, rate = soundfile.read(str(tmp_path / name), always_2d=True)
    assert rate == 8000
    assert soundfile.info(str(tmp_path / name)).subtype == "PCM_24"
    assert np.max(np.abs(back - sound.read(0, sound.n_samples))) <= 2**-23
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_an_old_file_is_kept_unless_told_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "out.wav"
    path.write_bytes(b"precious")
    with pytest.raises(InputError, match="--force"):
        write_sound(path, _noise())
    assert path.read_bytes() == b"precious"
    write_sound(path, _noise(), force=True)
    assert soundfile.info(str(path)).frames == 70_000


def test_a_stopped_job_leaves_everything_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "out.wav"
    path.write_bytes(b"precious")
    told: list[float] = []
    job = Job(report=lambda f, m: told.append(f), cancelled=lambda: len(told) > 0)
    with pytest.raises(Cancelled):
        write_sound(path, _noise(), force=True, job=job)
    assert [p.name for p in tmp_path.iterdir()] == ["out.wav"]
    assert path.read_bytes() == b"precious"


@pytest.mark.parametrize("name", ["out.mp3", "out", "out.wav.txt", "none/out.wav", "folder.wav"])
def test_places_that_cannot_be_written_are_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder.wav").mkdir()
    with pytest.raises(InputError):
        write_sound(tmp_path / name, _noise(), force=True)


def test_the_recording_itself_is_never_replaced(tmp_path: Path) -> None:
    path = tmp_path / "pass.wav"
    path.write_bytes(b"recording")
    (tmp_path / "same.wav").symlink_to(path)
    for other in (path, tmp_path / "same.wav"):
        with pytest.raises(InputError, match="recording itself"):
            check_target(other, True, source=path)


def test_too_many_channels_for_flac_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="WAV"):
        write_sound(tmp_path / "out.flac", _noise(9))
