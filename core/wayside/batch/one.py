"""One recording of a folder: measured, compared where it has a set-up, made a row."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

from wayside import __version__
from wayside.batch.folder import Entry
from wayside.errors import Cancelled, InputError, MediaError
from wayside.hand.whole_file import reason
from wayside.jobs import QUIET, Job
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.review.row import RunRow, failed_row

CHUNK = 1 << 20


@dataclass(frozen=True)
class Task:
    """What is to be done with one recording."""

    entry: Entry
    options: MeasureOptions
    harmonic: int = 1


def measure_one(task: Task, job: Job = QUIET) -> RunRow:
    """Return the row of one recording; whatever is wrong with it becomes its sentence.

    Raises
    ------
    Cancelled
        If the job was cancelled.
    """
    entry = task.entry
    try:
        return _measured(task, job)
    except Cancelled:
        raise
    except InputError as error:
        sentence = str(error)
    except MemoryError:
        sentence = f"“{entry.name}” needs more memory than there is; cut the recording shorter."
    except OSError as error:
        sentence = (
            f"“{entry.name}” could not be read to its end ({reason(error)}); copy it to this "
            "computer's disk and try again."
        )
    except Exception as error:
        # one recording must not end the others
        sentence = (
            f"“{entry.name}” could not be measured ({type(error).__name__}: a fault of the "
            "program); please report it with the recording."
        )
    return failed_row(entry.name, sentence, group=entry.group, direction=entry.direction)


def key_of(task: Task, job: Job = QUIET) -> str:
    """Return what names the result of a task: contents, options and program version.

    Raises
    ------
    InputError
        If a file cannot be read.
    Cancelled
        If the job was cancelled.
    """
    digest = hashlib.sha256()
    digest.update(f"{program_digest()} {task.harmonic}".encode())
    for name, value in options_as_pairs(task.options):
        digest.update(f"\n{name}={value!r}".encode())
    for part in (task.entry.name, task.entry.group, task.entry.direction, task.entry.setup_name):
        digest.update(b"\0" + part.encode("utf-8", "backslashreplace"))
    for path in (task.entry.path, task.entry.setup):
        digest.update(b"\0" if path is None else _hash(path, job))
    return digest.hexdigest()


@cache
def program_digest() -> str:
    """Return what names this very program: its version and the contents of its modules.

    A row kept by a program that measured otherwise is thus never taken for one of this program.
    """
    digest = hashlib.sha256(__version__.encode())
    here = Path(__file__).parents[1]
    for path in sorted(here.rglob("*.py")):
        digest.update(path.relative_to(here).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def options_as_pairs(options: MeasureOptions) -> list[tuple[str, object]]:
    """Return every option with its value as plain numbers, in order."""
    pairs: list[tuple[str, object]] = []
    for f in fields(options):
        value = getattr(options, f.name)
        pairs.append((f.name, value.as_json() if isinstance(value, Quantity) else value))
    return pairs


def _measured(task: Task, job: Job) -> RunRow:
    # heavy, and not needed to list what is finished already
    from wayside.compare.compare import check_comparable, compare, options_for
    from wayside.hand.predict import predict
    from wayside.hand.setup_file import read_setup
    from wayside.measure.pipeline import measure
    from wayside.review.row import run_row
    from wayside.sound.media import load_recording

    entry, options = task.entry, task.options
    prediction = None
    if entry.setup is not None:
        prediction = predict(read_setup(entry.setup))
        check_comparable(prediction.setup)
        options = options_for(prediction, options.start_s, options.stop_s, options.band_hz)
    before = _stamp(entry.path)
    recording = load_recording(entry.path, job=job.part(0.0, 0.2))
    measurement = measure(recording, options, job.part(0.2, 1.0))
    after = _stamp(entry.path)
    if after is None:
        raise MediaError(
            f"“{entry.name}” was taken away while it was being measured; put it back and measure "
            "it again."
        )
    if after != before:
        raise MediaError(
            f"“{entry.name}” changed while it was being measured; measure it again once it is "
            "complete."
        )
    comparison = None
    if prediction is not None and measurement.found:
        closest_used = options.closest is not None
        comparison = compare(prediction, measurement, task.harmonic, closest_used)
    return run_row(entry.name, measurement, prediction, comparison, entry.group, entry.direction)


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


def _hash(path: Path, job: Job) -> bytes:
    digest = hashlib.sha256()
    try:
        with open(path, "rb") as file:
            while chunk := file.read(CHUNK):
                job.check()
                digest.update(chunk)
    except OSError as error:
        raise MediaError(
            f"“{path.name}” cannot be read ({reason(error)}); copy it to this computer's disk "
            "and try again."
        ) from None
    return digest.digest()
