"""Many recordings in processes of their own: bad ones, resuming, cancelling, crashes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import soundfile
from tests.core.measure.recordings import RATE, TONE, sound_of

from wayside.batch.folder import entries_in
from wayside.batch.keep import FOLDER, prepare
from wayside.batch.one import Task, key_of, measure_one
from wayside.batch.run import run_batch
from wayside.errors import Cancelled
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.review.row import FAILED, MEASURED

OPTIONS = MeasureOptions(sound_speed=Quantity(343.2, 0.5, "m/s"), source_kind="tone")


class Deadly(Task):
    """A task that ends the process it is sent to."""

    def __reduce__(self) -> tuple[object, ...]:
        return os._exit, (7,)


@pytest.fixture
def tasks(tmp_path: Path) -> list[Task]:
    folder = tmp_path / "in"
    folder.mkdir()
    for number in (1, 2):
        soundfile.write(str(folder / f"run {number}.wav"), sound_of(seed=number), RATE)
    (folder / "broken.wav").write_bytes(b"RIFF....WAVEfmt ")
    (folder / "empty.mp4").write_bytes(b"")
    prepare(tmp_path)
    return [Task(e, OPTIONS) for e in entries_in(folder)]


def test_bad_files_do_not_stop_the_others(tasks: list[Task], tmp_path: Path) -> None:
    said: list[str] = []
    rows = run_batch(tasks, tmp_path, 2, Job(report=lambda f, m: said.append(m)))
    assert [r.name for r in rows] == [t.entry.name for t in tasks]
    assert [r.outcome for r in rows] == [FAILED, FAILED, MEASURED, MEASURED]
    assert "empty.mp4” is empty" in rows[1].sentence
    for row in rows[2:]:
        assert row.speed_mps.measured is not None
        assert row.speed_mps.measured.value == pytest.approx(TONE.speed_mps, rel=3e-3)
    assert len(said) == 4
    assert len(list((tmp_path / FOLDER).iterdir())) == 2

    # again: what is finished is read back, and only that
    said.clear()
    assert run_batch(tasks, tmp_path, 1, Job(report=lambda f, m: said.append(m))) == rows
    assert sum("measured before" in m for m in said) == 2


def test_a_crash_costs_one_recording(tasks: list[Task], tmp_path: Path) -> None:
    two = [Deadly(tasks[2].entry, OPTIONS), tasks[3]]
    rows = run_batch(two, tmp_path, 2)
    assert [r.outcome for r in rows] == [FAILED, MEASURED]
    assert "process end" in rows[0].sentence


def test_stopping_keeps_what_is_finished(tasks: list[Task], tmp_path: Path) -> None:
    said: list[str] = []
    job = Job(report=lambda f, m: said.append(m), cancelled=lambda: len(said) > 0)
    with pytest.raises(Cancelled):
        run_batch(tasks[2:], tmp_path, 1, job)
    assert len(list((tmp_path / FOLDER).iterdir())) == 1


def test_a_key_follows_contents_options_and_program(
    tasks: list[Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    task = tasks[2]
    first = key_of(task)
    assert key_of(task) == first
    assert key_of(Task(task.entry, OPTIONS, 2)) != first
    assert key_of(Task(task.entry, MeasureOptions())) != first
    assert key_of(tasks[3]) != first
    monkeypatch.setattr("wayside.batch.one.program_digest", lambda: "another program")
    assert key_of(task) != first
    monkeypatch.undo()
    with open(task.entry.path, "ab") as file:
        file.write(b"\0")
    assert key_of(task) != first


@pytest.mark.parametrize("change", ["taken away", "changed"])
def test_a_file_that_changes_while_it_is_measured(
    tasks: list[Task], monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    from wayside.measure import pipeline

    task, real = tasks[2], pipeline.measure

    def measure(*given: object) -> object:
        got = real(*given)  # type: ignore[arg-type]
        if change == "changed":
            task.entry.path.write_bytes(b"something else")
        else:
            task.entry.path.unlink()
        return got

    monkeypatch.setattr(pipeline, "measure", measure)
    row = measure_one(task)
    assert row.outcome == FAILED
    assert change in row.sentence
    assert row.sentence.count(".") == 2  # the name's and the sentence's own


def test_a_file_taken_away_before_its_turn(tasks: list[Task], tmp_path: Path) -> None:
    tasks[2].entry.path.unlink()
    (row,) = run_batch(tasks[2:3], tmp_path, 1)
    assert row.outcome == FAILED
    assert "cannot be read" in row.sentence


def test_a_bad_set_up_fails_its_run_only(tasks: list[Task], tmp_path: Path) -> None:
    (tmp_path / "in" / "run 1.setup.json").write_text('{"format": "other"}')
    first, second = [Task(e, OPTIONS) for e in entries_in(tmp_path / "in")][2:]
    assert measure_one(first).outcome == FAILED
    assert "run 1.setup.json" in measure_one(first).sentence
    assert second.entry.setup is None


def test_a_set_up_gives_a_verdict(tasks: list[Task], tmp_path: Path) -> None:
    (tmp_path / "in" / "setup.json").write_text(
        """{"format": "wayside-setup", "version": 1,
        "motion": {"speed": {"value": 8.0, "unit": "m/s", "u": 0.1}},
        "source": {"kind": "tone", "pitch": {"value": 700, "unit": "Hz", "u": 1}},
        "air": {"formula": "humid-air", "temperature": {"value": 20, "unit": "°C", "u": 1}}}"""
    )
    task = Task(entries_in(tmp_path / "in")[2], OPTIONS)
    row = measure_one(task)
    assert (row.outcome, row.overall) == (MEASURED, "agree")
    assert row.parts["speed_mps"]


def test_a_fault_of_the_program_is_said_to_be_one(
    tasks: list[Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*given: object) -> object:
        raise ZeroDivisionError

    monkeypatch.setattr("wayside.measure.pipeline.measure", fail)
    assert "fault of the program" in measure_one(tasks[2]).sentence
