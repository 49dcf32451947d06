"""Stand-ins for the core, with the truth of one invented pass-by behind them."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.invented import TRUTH, measurement_of, sound_of

from wayside.compare.compare import compare
from wayside.errors import MediaError
from wayside.hand.entry import Entry
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.hand.setup_file import read_setup, write_setup
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.sound.recording import Recording
from wayside_app.window.services import Services


@dataclass
class Core:
    """A core whose calls are counted and can be held up; a file may have a truth of its own."""

    truth: PassBy = TRUTH
    truths: dict[str, PassBy] = field(default_factory=dict)
    found: bool = True
    hold: threading.Event | None = None
    loads: list[Path] = field(default_factory=list)
    measures: list[MeasureOptions] = field(default_factory=list)

    def load(self, path: Path, job: Job) -> Recording:
        """Return the rendered pass for any file that exists and does not say bad."""
        self.loads.append(path)
        self._wait(job, "Reading the recording")
        if "bad" in path.name or not path.exists():
            raise MediaError(f"{path.name} holds no sound that can be read; choose another file.")
        return replace(sound_of(self.truth), name=path.name)

    def measure(self, recording: Recording, options: MeasureOptions, job: Job) -> Measurement:
        """Return the perfect measurement."""
        self.measures.append(options)
        self._wait(job, "Looking for a pass-by")
        m = measurement_of(self.truths.get(recording.name, self.truth), options)
        if self.found:
            return m
        why = "The pitch stays the same throughout, so nothing passed; choose another recording."
        return Measurement(False, replace(m.detection, reason=why), m.sound_speed_mps)

    def measure_file(self, path: Path, options: MeasureOptions, job: Job) -> Measurement:
        """Read and measure, in the thread that asks."""
        return self.measure(self.load(path, job), options, job)

    def make_sample(self, folder: Path) -> tuple[Path, Path]:
        """Write the hand measurements of the truth, and a file that stands for its sound."""
        folder.mkdir(parents=True, exist_ok=True)
        recording, setup = folder / "sample.wav", folder / "sample.json"
        recording.write_bytes(b"stand-in")
        entries = {
            "motion.marker_distance": Entry(6.1, "m", 0.02),
            "motion.first_time": Entry(3.75, "s", 0.01),
            "motion.second_time": Entry(4.413, "s", 0.01),
            "source.pitch": Entry(412.0, "Hz", 0.5),
            "air.temperature": Entry(20.0, "°C", 0.5),
        }
        write_setup(Setup("tone", "rule-of-thumb", entries, "Courtyard"), setup)
        return recording, setup

    def services(self) -> Services:
        """Return the calls for a window; prediction, comparison and files are the real ones."""
        return Services(
            load=self.load,
            measure=self.measure,
            measure_file=self.measure_file,
            close=lambda: None,
            read_setup=read_setup,
            write_setup=write_setup,
            predict=predict,
            compare=compare,
            make_sample=self.make_sample,
        )

    def _wait(self, job: Job, message: str) -> None:
        job.step(0.1, message)
        while self.hold is not None and not self.hold.is_set():
            job.step(0.3, message)
            time.sleep(0.005)
        job.step(0.9, message)
