"""Material for a report from a session: the run that is shown in full, all runs as rows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from wayside.compare.compare import compare
from wayside.errors import Cancelled, InputError, WaysideError
from wayside.hand.predict import Prediction, predict
from wayside.jobs import QUIET, Job
from wayside.measure.pipeline import measure
from wayside.report.material import Bundle, Made, Material, frames_of, worked_out
from wayside.review.row import RunRow, failed_row, run_row
from wayside.session.hand_form import FormReading, read_form
from wayside.session.kept import Results, stamp
from wayside.session.media import found_again
from wayside.session.session import MediaRef, Session
from wayside.session.told import measure_options
from wayside.sound.media import load_recording


def gather_session(
    session: Session,
    folder: Path,
    made: Made,
    name: str = "",
    results: Results | None = None,
    job: Job = QUIET,
) -> Bundle:
    """Measure every run of a session and return what a report needs.

    Parameters
    ----------
    session : Session
    folder : Path
        Where its file lies; recordings are looked for there too.
    made : Made
    name : str
        Name of the run to describe in full; the one that is shown by default.
    results : mapping of str to Measurement, optional
        Results kept in the session's file; a run whose stamp is among them is not measured anew.
    job : Job, optional

    Raises
    ------
    InputError
        If no run has that name, or the run to describe cannot be used.
    Cancelled
        If the job was stopped.
    """
    shown = _chosen(session, name)
    kept = results or {}
    count = len(session.runs)
    full = _material(session.showing(shown), shown, folder, kept, job.part(0.0, 1.0 / count))
    if count == 1:
        return Bundle(full, made=made)
    rows: list[RunRow] = []
    files: list[MediaRef] = []
    for at in range(count):
        part = job.part((at + 1.0) / (count + 1), (at + 2.0) / (count + 1))
        run = session.runs[at]
        title = run.title(at)
        if at == shown:
            rows.append(_row(full, title, run.group, run.direction))
            continue
        try:
            material = _material(session.showing(at), at, folder, kept, part, drawn=False)
        except Cancelled:
            raise
        except WaysideError as error:
            rows.append(failed_row(title, str(error), None, run.group, run.direction))
            continue
        rows.append(_row(material, title, run.group, run.direction))
        if material.media is not None:
            files.append(material.media)
    return Bundle(full, tuple(rows), tuple(files), made)


def why_no_setup(reading: FormReading) -> str:
    """Say what the form still needs; empty when it is complete."""
    if reading.setup is not None:
        return ""
    if reading.missing:
        needed = ", ".join(f.label for f in reading.missing)
        return f"The hand measurements are not complete; still needed: {needed}."
    fault = next(iter(reading.faults.values()), "")
    return f"The hand measurements cannot be used: {fault}"


def _chosen(session: Session, name: str) -> int:
    if not name:
        return session.shown
    titles = [run.title(at) for at, run in enumerate(session.runs)]
    if name not in titles:
        raise InputError(f"No run is called “{name}”; there are {', '.join(titles)}.")
    return titles.index(name)


def _material(
    session: Session, at: int, folder: Path, kept: Results, job: Job, drawn: bool = True
) -> Material:
    reading = read_form(session)
    setup = reading.setup
    prediction = _predicted(reading)
    title = session.run.title(at)
    remark = why_no_setup(reading)
    if session.media is None:
        if prediction is None:
            raise InputError(
                f"The run “{title}” has neither a recording nor complete hand measurements, so "
                "there is nothing to report on."
            )
        return Material(title, setup=setup, prediction=prediction)
    advice = "put it beside the session file"
    path, media = found_again(session.media, folder, advice, job.part(0.0, 0.05))
    options = measure_options(session, reading)
    measurement = kept.get(stamp(media, options))
    recording = None
    if measurement is None or drawn:
        recording = load_recording(path, job=job.part(0.05, 0.3))
    if measurement is None:
        assert recording is not None
        measurement = measure(recording, options, job.part(0.3, 0.95))
    heading = (setup.title if setup is not None else "") or title
    material = Material(
        heading, media, recording, options, setup, prediction, measurement, remark=remark
    )
    if not drawn:
        # a class's recordings need not be held in memory all at once
        return replace(_compared(material), recording=None)
    frames = frames_of(path, job.part(0.95, 0.97))
    material = worked_out(replace(material, frames=frames), job.part(0.97, 1.0))
    if session.film_file is not None:
        # crossings are on the clock of the other film
        material = replace(material, crossings=())
    return material


def _predicted(reading: FormReading) -> Prediction | None:
    return None if reading.setup is None else predict(reading.setup)


def _compared(m: Material) -> Material:
    if m.prediction is None or m.measurement is None or not m.measurement.found:
        return m
    found = compare(m.prediction, m.measurement, closest_used=m.closest_used)
    return replace(m, comparison=found)


def _row(m: Material, title: str, group: str, direction: str) -> RunRow:
    return run_row(title, m.measurement, m.prediction, m.comparison, group, direction)
