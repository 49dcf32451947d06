"""A slowing wheel's own fall of pitch is told where two windows take it for Doppler shift."""

from __future__ import annotations

import re

import pytest
from tests.core.measure.recordings import HUM, RATE, options

from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording


def _measured(acceleration_mps2: float) -> Measurement:
    p = HUM.with_(acceleration_mps2=acceleration_mps2)
    source = Source(p, (1.0, 0.5), coherence_s=0.5)
    scene = Scene((source,), 5.0, RATE, background=Background(25.0))
    told = options(source_kind="wheel", closest=Quantity(1.5, 0.03, "m"))
    m = measure(Recording.from_array(render(scene, 3)[:, 0], RATE), told)
    assert m.fit is not None
    return m


def test_two_windows_of_a_slowing_wheel_are_corrected_in_words() -> None:
    m = _measured(-0.15)
    (told,) = [w for w in m.warnings if "own pitch falls" in w]
    match = re.search(r"their speed is ([\d.]+) m/s too high", told)
    assert match
    assert m.two_window is not None
    reading = m.two_window.speed_mps
    # what the sentence takes off leads back to the true speed
    assert reading.value - float(match[1]) == pytest.approx(HUM.speed_mps, abs=3.0 * reading.u)
    assert float(match[1]) > 3.0


def test_a_steady_wheel_has_nothing_to_correct() -> None:
    assert not any("own pitch" in w for w in _measured(0.0).warnings)
