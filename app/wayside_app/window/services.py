"""What the window asks of the core; handed in, so that tests can stand in for any part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wayside.jobs import Job

if TYPE_CHECKING:
    from wayside.compare.result import Comparison
    from wayside.hand.predict import Prediction
    from wayside.hand.setup import Setup
    from wayside.measure.options import MeasureOptions
    from wayside.measure.result import Measurement
    from wayside.sound.recording import Recording


@dataclass(frozen=True)
class Services:
    """The calls the window makes, each as in its core module.

    Parameters
    ----------
    load : callable
        ``load(path, job) -> Recording``.
    measure : callable
        ``measure(recording, options, job) -> Measurement``.
    measure_file : callable
        ``measure_file(path, options, job) -> Measurement``, several at once, each in a process
        of its own.
    close : callable
        Ends those processes.
    read_setup, write_setup : callable
        ``read_setup(path) -> Setup`` and ``write_setup(setup, path)``.
    predict : callable
        ``predict(setup) -> Prediction``.
    compare : callable
        ``compare(prediction, measurement) -> Comparison``.
    make_sample : callable
        ``make_sample(folder) -> (recording, setup)``, the paths of the sample made there.
    """

    load: Callable[[Path, Job], Recording]
    measure: Callable[[Recording, MeasureOptions, Job], Measurement]
    measure_file: Callable[[Path, MeasureOptions, Job], Measurement]
    close: Callable[[], None]
    read_setup: Callable[[Path], Setup]
    write_setup: Callable[[Setup, Path], None]
    predict: Callable[[Setup], Prediction]
    compare: Callable[[Prediction, Measurement], Comparison]
    make_sample: Callable[[Path], tuple[Path, Path]]


def real_services() -> Services:
    """Return the core's own calls."""
    from wayside.batch.apart import Apart
    from wayside.compare.compare import compare
    from wayside.hand.predict import predict
    from wayside.hand.sections import MICROPHONE_DISTANCE
    from wayside.hand.setup_file import read_setup, write_setup
    from wayside.measure.pipeline import measure
    from wayside.sound.media import load_recording

    apart = Apart()
    return Services(
        load=lambda path, job: load_recording(path, job=job),
        measure=measure,
        measure_file=apart.measure,
        close=apart.close,
        read_setup=read_setup,
        write_setup=write_setup,
        predict=predict,
        compare=lambda prediction, measurement: compare(
            prediction,
            measurement,
            closest_used=MICROPHONE_DISTANCE.path in prediction.setup.entries,
        ),
        make_sample=_make_sample,
    )


def _make_sample(folder: Path) -> tuple[Path, Path]:
    from wayside.simulate.bundle import DEMO, make_bundle

    folder.mkdir(parents=True, exist_ok=True)
    bundle = make_bundle(DEMO, folder, force=True)
    return bundle.recording, bundle.setup
