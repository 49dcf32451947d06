"""Harmonics of a glide weighed together; rendered sound (self-consistency)."""

from __future__ import annotations

import numpy as np

from wayside.measure.comb import Comb, summed_evidence
from wayside.measure.planes import make_planes
from wayside.measure.search import Candidate
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene


def test_lines_too_faint_to_be_seen_alone_are_seen_together() -> None:
    p = PassBy(120.0, 14.0, 1.5, 1.5, 343.2)
    rate, (alone, together) = 11_025.0, ([], [])
    for seed in range(6):
        scene = simple_scene(p, 3.0, rate, tuple(np.full(6, 1.0)), -9.0)
        planes = make_planes(render(scene, seed)[:, 0], rate, 0.0)
        mach = 14.0 / 343.2
        found = Candidate(120.0, mach, 1.5 / 14.0, 1.5, 0.0, 0.0, 2)
        plane = planes[2]
        one, six = Comb(1, (1,), 0.0), Comb(1, (1, 2, 3, 4, 5, 6), 0.0)
        alone.append(summed_evidence(found, one, plane))
        together.append(summed_evidence(found, six, plane))
        # where nothing passes, more lines are no more evidence
        elsewhere = Candidate(131.0, mach, 1.5 / 14.0, 0.7, 0.0, 0.0, 2)
        assert summed_evidence(elsewhere, six, plane) < 12.0
    assert np.mean(together) > np.mean(alone) + 10.0
