"""Stated uncertainties against the scatter of simulated recordings.

Few runs, with bounds that allow for so few; `docs/validation/coverage.md` holds hundreds a
cell.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.core.intervals import assert_true
from tests.core.measure.recordings import SOUND_SPEED

from wayside.measure.doubt import BELIEFS
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Fit
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render, source_motion
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

NAMES = ("speed_mps", "source_hz", "closest_m", "passing_time_s", "approach_hz", "recede_hz")


def _scores(fit: Fit, true: PassBy, names: tuple[str, ...]) -> list[float]:
    return [(q.value - getattr(true, n)) / q.u for n in names for q in [getattr(fit, n)]]


def _run(seed: int, kind: str) -> tuple[Fit, PassBy] | None:
    """Draw a pass-by, and the speed of sound about the value told, and measure it."""
    rng = np.random.default_rng([seed, len(kind)])
    tied = kind == "wheel"
    p = PassBy(
        source_hz=rng.uniform(200, 400) if tied else rng.uniform(400, 1200),
        speed_mps=rng.uniform(5, 9),
        closest_m=rng.uniform(1, 2),
        passing_time_s=rng.uniform(1.7, 1.9),
        sound_speed_mps=rng.normal(SOUND_SPEED.value, SOUND_SPEED.u),
        acceleration_mps2=rng.normal(-0.05, 0.05) if tied else 0.0,
        speed_tied=tied,
    )
    # most riders are steady, some waver, as the fit believes (wayside.measure.doubt)
    rider = np.random.default_rng([seed, 77])
    belief = rider.choice(np.array(BELIEFS), p=[b.share for b in BELIEFS])
    wobble = belief.waver if tied else 0.0
    source = Source(p, (1.0, 0.6, 0.3), coherence_s=0.3 if tied else math.inf, wobble=wobble)
    told = MeasureOptions(sound_speed=SOUND_SPEED, source_kind=kind)
    # the recorder's clock is as wrong as the measurement allows for
    rate = 11_025.0 * (1 + rng.normal(0, 1e-6 * told.clock_ppm))
    scene = Scene((source,), 3.6, rate, background=Background(rng.uniform(0, 15)))
    if tied:
        u = 0.03
        told = replace(told, closest=Quantity(rng.normal(p.closest_m, u), u, "m"))
    m = measure(Recording.from_array(render(scene, seed), 11_025.0), told)
    if m.fit is None:
        # a wavering hum may be refused, which is honest; a steady tone may not
        assert tied, f"run {seed}: {m.detection.reason}"
        return None
    return m.fit, _at_mean_speed(source, seed)


def _at_mean_speed(source: Source, seed: int) -> PassBy:
    """Return the true pass-by at its mean speed over two crossing times to either side."""
    p = source.passby
    if not source.wobble:
        return p
    reach = 2 * p.closest_m / p.speed_mps
    ends = source_motion(source, 0, seed).travelled(p.passing_time_s + np.array([-reach, reach]))
    mean = float(ends[1] - ends[0]) / (2 * reach)
    return p.with_(speed_mps=mean, source_hz=p.source_hz * mean / p.speed_mps)


@pytest.mark.parametrize(
    ("kind", "runs", "names"),
    [("tone", 10, NAMES), ("wheel", 20, (*NAMES[:2], "passing_time_s", "acceleration_mps2"))],
)
def test_stated_uncertainties_are_true(kind: str, runs: int, names: tuple[str, ...]) -> None:
    found = [run for seed in range(runs) if (run := _run(seed, kind)) is not None]
    assert len(found) >= 0.9 * runs
    scores = np.array([_scores(fit, true, names) for fit, true in found])
    for name, column in zip(names, scores.T, strict=True):
        assert_true(column, name)


def test_repeated_recordings_of_one_pass_scatter_as_stated() -> None:
    """One pass-by, the noise alone drawn anew: the plain meaning of a standard uncertainty."""
    p = PassBy(600.0, 7.0, 1.5, 1.5, SOUND_SPEED.value)
    scene = Scene((Source(p, (1.0, 0.4)),), 3.0, 8000.0, background=Background(0.0))
    told = MeasureOptions(
        # a speed of sound and a clock known exactly, so that noise alone is left
        sound_speed=Quantity(SOUND_SPEED.value, 0.0, "m/s"),
        source_kind="tone",
        clock_ppm=0.0,
    )

    def once(seed: int) -> Fit:
        m = measure(Recording.from_array(render(scene, seed), 8000.0), told)
        assert m.fit is not None
        return m.fit

    runs = 12
    fits = [once(seed) for seed in range(runs)]
    for name in NAMES:
        scatter = float(np.std([getattr(f, name).value for f in fits], ddof=1))
        stated = float(np.sqrt(np.mean([getattr(f, name).u ** 2 for f in fits])))
        # a standard deviation of n values is itself uncertain by 1/sqrt(2 (n - 1)); 3.3 times
        # that is passed by 0.999 of true statements
        assert abs(math.log(scatter / stated)) < 3.3 / math.sqrt(2 * (runs - 1)), name
