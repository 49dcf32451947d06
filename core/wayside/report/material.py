"""What a report is written from: one run with all that was worked out, and the class's rows."""

from __future__ import annotations

import importlib.metadata
import platform
from dataclasses import dataclass, field, replace
from pathlib import Path

from wayside import __version__
from wayside.compare.compare import compare, options_for
from wayside.compare.result import Comparison
from wayside.errors import InputError, MediaError
from wayside.film.film import open_film
from wayside.film.times import FrameTimes
from wayside.hand.predict import Prediction, predict
from wayside.hand.setup import Setup
from wayside.jobs import QUIET, Job
from wayside.listen.steadiness import ConstantSpeedTest, constant_speed_test
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.report.figures.spectrogram import draw_for
from wayside.review.row import RunRow
from wayside.session.media import fingerprint
from wayside.session.session import MediaRef
from wayside.sound.media import load_recording
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture

_LIBRARIES = ("numpy", "scipy", "soundfile", "av", "uncertainties")


@dataclass(frozen=True)
class Made:
    """How the report was made, so that it can be made again.

    Parameters
    ----------
    command : str
        The command line that repeats it.
    versions : tuple of (str, str)
        Program and libraries.
    date : str
        As given by whoever asked for the report; empty if nothing was.
    """

    command: str = ""
    versions: tuple[tuple[str, str], ...] = ()
    date: str = ""


@dataclass(frozen=True)
class Material:
    """One run.

    Parameters
    ----------
    title : str
        Name for the heading.
    media : MediaRef or None
        The recording's file.
    recording : Recording or None
    options : MeasureOptions or None
        What the measurement was told.
    setup : Setup or None
    prediction : Prediction or None
    measurement : Measurement or None
    comparison : Comparison or None
    picture : Picture or None
        Spectrogram for the report.
    crossings : tuple of (time, name)
        When the markers were crossed, on the recording's clock (s).
    constant_speed : ConstantSpeedTest or None
        Whether the sound agrees with a constant speed.
    frames : FrameTimes or None
        When each frame of the film was taken, if it is one.
    remark : str
        Why something is missing, one sentence.
    """

    title: str
    media: MediaRef | None = None
    recording: Recording | None = None
    options: MeasureOptions | None = None
    setup: Setup | None = None
    prediction: Prediction | None = None
    measurement: Measurement | None = None
    comparison: Comparison | None = None
    picture: Picture | None = None
    crossings: tuple[tuple[float, str], ...] = ()
    constant_speed: ConstantSpeedTest | None = None
    frames: FrameTimes | None = None
    remark: str = ""

    @property
    def closest_used(self) -> bool:
        """Whether the taped distance went into the measurement."""
        return self.options is not None and self.options.closest is not None


@dataclass(frozen=True)
class Bundle:
    """All a report needs.

    Parameters
    ----------
    run : Material
        The run that is described in full.
    rows : tuple of RunRow
        The class table; empty with a single run.
    files : tuple of MediaRef
        Recordings of the other runs.
    made : Made
    """

    run: Material
    rows: tuple[RunRow, ...] = ()
    files: tuple[MediaRef, ...] = ()
    made: Made = field(default_factory=Made)


def gather(
    recording: Path | None,
    setup: Setup | None,
    options: MeasureOptions | None = None,
    job: Job = QUIET,
) -> Material:
    """Load, predict, measure and compare: everything a report on one run needs.

    Parameters
    ----------
    recording : Path or None
    setup : Setup or None
        One of the two at least.
    options : MeasureOptions, optional
        What to tell the measurement; follows from the set-up by default.
    job : Job, optional

    Raises
    ------
    InputError
        If there is neither, or one of them cannot be used.
    Cancelled
        If the job was stopped.
    """
    if recording is None and setup is None:
        raise InputError("There is nothing to report on; give a recording, a set-up or a session.")
    prediction = None if setup is None else predict(setup)
    if recording is None:
        assert setup is not None
        return Material(setup.title or "Prediction", setup=setup, prediction=prediction)
    media = fingerprint(recording, job.part(0.0, 0.05))
    sound = load_recording(recording, job=job.part(0.05, 0.35))
    if options is None:
        options = MeasureOptions() if prediction is None else options_for(prediction)
    measurement = measure(sound, options, job.part(0.35, 0.9))
    title = (setup.title if setup is not None else "") or recording.stem
    frames = frames_of(recording, job.part(0.9, 0.95))
    found = Material(title, media, sound, options, setup, prediction, measurement, frames=frames)
    return worked_out(found, job.part(0.95, 1.0))


def frames_of(path: Path, job: Job = QUIET) -> FrameTimes | None:
    """Return the frame times of a film, or None for a file without pictures.

    Raises
    ------
    Cancelled
        If the job was stopped.
    """
    try:
        with open_film(path, job=job) as film:
            return film.times
    except MediaError:
        return None


def worked_out(material: Material, job: Job = QUIET) -> Material:
    """Return material with comparison, picture and crossings added, as far as they follow."""
    m, p, remark = material.measurement, material.prediction, material.remark
    comparison = material.comparison
    if comparison is None and m is not None and m.found and p is not None:
        try:
            comparison = compare(p, m, closest_used=material.closest_used)
        except InputError as error:
            remark = str(error)
    picture = material.picture
    if picture is None and material.recording is not None:
        picture = draw_for(material.recording, m, job.part(0.5, 1.0))
    return replace(
        material,
        comparison=comparison,
        picture=picture,
        crossings=crossings_of(material.setup),
        constant_speed=material.constant_speed or _constant_speed(material, job.part(0.0, 0.5)),
        remark=remark,
    )


def _constant_speed(material: Material, job: Job) -> ConstantSpeedTest | None:
    m, recording, options = material.measurement, material.recording, material.options
    if m is None or not m.found or recording is None or options is None:
        return None
    try:
        return constant_speed_test(recording, m, options, job)
    except InputError:
        # too short or too faint a stretch: nothing can be said
        return None


def crossings_of(setup: Setup | None) -> tuple[tuple[float, str], ...]:
    """Return when the markers were crossed, on the film's clock (s), with their names."""
    if setup is None or not setup.kind.uses_motion:
        return ()
    values = {i.path: i.value for i in setup.inputs}
    way = setup.way("motion")
    names = ("marker 1", "marker 2")
    if way == "times":
        times = [values["motion.first_time"], values["motion.second_time"]]
    elif way == "frames":
        rate = values["motion.frame_rate"]
        times = [values[f"motion.{k}_frame"] / rate for k in ("first", "second")]
    else:
        return ()
    return tuple(zip(times, names, strict=True))


def versions() -> tuple[tuple[str, str], ...]:
    """Return the program's version and those of the libraries that make the numbers."""
    found = [("Wayside", __version__), ("Python", platform.python_version())]
    for name in _LIBRARIES:
        try:
            found.append((name, importlib.metadata.version(name)))
        except importlib.metadata.PackageNotFoundError:
            found.append((name, "unknown"))
    return tuple(found)
