"""A measurement tells its progress and stops when asked, wherever it is."""

from __future__ import annotations

import time

import numpy as np
import pytest
from tests.benchmarks.scenarios import drawn, record
from tests.core.measure.recordings import RATE, options, recorded

from wayside.errors import Cancelled
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.sound.recording import Recording


class _Clock:
    """Answers "not cancelled" so many times, and notes the longest wait between two questions."""

    def __init__(self, answers: int) -> None:
        self.left, self.asked, self.longest_s = answers, 0, 0.0
        self.last = time.process_time()

    def __call__(self) -> bool:
        now = time.process_time()
        if self.asked:
            self.longest_s = max(self.longest_s, now - self.last)
        self.last, self.asked = now, self.asked + 1
        return self.asked > self.left


def _questions(recording: Recording, told: MeasureOptions) -> int:
    clock = _Clock(10**9)
    measure(recording, told, Job(cancelled=clock))
    return clock.asked


@pytest.mark.parametrize("kind", ["tone", "unknown"])
def test_every_question_may_be_the_last(kind: str) -> None:
    recording, told = recorded(), options(source_kind=kind)
    total = _questions(recording, told)
    assert total >= 6
    for answers in sorted({0, 1, total // 3, total // 2, total - 1}):
        clock = _Clock(answers)
        with pytest.raises(Cancelled):
            measure(recording, told, Job(cancelled=clock))
        assert clock.asked == answers + 1


def test_progress_rises_to_the_end_with_words() -> None:
    told: list[tuple[float, str]] = []
    measure(recorded(), options(), Job(report=lambda f, m: told.append((f, m))))
    fractions = [f for f, _ in told]
    assert fractions == sorted(fractions)
    assert fractions[0] >= 0.0
    assert 0.9 < fractions[-1] <= 1.0
    assert all(words and words[0].isupper() for _, words in told)


def test_no_stretch_of_work_is_long() -> None:
    """Between two questions lies a small share of the work on two minutes of sound."""
    rng = np.random.default_rng(1)
    x = 1e-3 * rng.standard_normal(120 * RATE)
    pass_by = recorded().mono()
    x[60 * RATE : 60 * RATE + pass_by.size] += pass_by
    clock = _Clock(10**9)
    begin = time.process_time()
    m = measure(Recording.from_array(x, RATE), options(), Job(cancelled=clock))
    assert m.found
    assert clock.longest_s < 0.4 * (time.process_time() - begin)


def test_the_fit_of_both_wheels_stops_when_asked() -> None:
    run = drawn("hum, two wheels", 3)
    recording = record(run, 3)
    words: list[str] = []
    job = Job(report=lambda _, text: words.append(text), cancelled=lambda: "two" in "".join(words))
    with pytest.raises(Cancelled):
        measure(recording, run.options, job)
    assert words[-1] == "Fitting two wheels"
