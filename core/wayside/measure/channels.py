"""Two channels as a check: each measured alone, and the time between them.

The time by which one channel leads says nothing about the speed that the pitch does not say
better, but it must swing where the pitch falls, and it tells from which side the source came.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.fitted import Choice, ModelFit
from wayside.measure.models import fit_models
from wayside.measure.phasefit import Priors
from wayside.measure.refine import Refined
from wayside.measure.stereo import Pair, swing_along
from wayside.measure.swing import Swing


@dataclass(frozen=True)
class Channels:
    """What the channels say one by one and together.

    Parameters
    ----------
    alone : tuple of ModelFit or None
        The fit to each channel; None where it cannot be fitted.
    swing : Swing
    """

    alone: tuple[ModelFit | None, ...]
    swing: Swing


def check_channels(
    sounds: Pair, found: Refined, choice: Choice, priors: Priors, job: Job
) -> Channels:
    """Measure each channel alone, as what both together were found to be, and the time between.

    Parameters
    ----------
    sounds : tuple of two Sound
        The two channels around the pass.
    found : Refined
        The pass-by found in both together.
    choice : Choice
        Its final fits.
    priors : Priors
    job : Job
    """
    best, tyres = choice.fits[0].passby, choice.wheels is not None
    kind = "wheel" if best.speed_tied else "tone"
    swing = swing_along(sounds, best, found.harmonics, job)
    # each microphone is passed by so much before or after the place midway between them
    early = 0.5 * swing.lead_s * math.cos(swing.aim_rad) * best.sound_speed_mps / best.speed_mps
    alone: list[ModelFit | None] = []
    for sound, sign in zip(sounds, (-1.0, 1.0), strict=True):
        job.check()
        p = found.passby
        there = replace(found, passby=p.with_(passing_time_s=p.passing_time_s + sign * early))
        try:
            alone.append(fit_models(sound, there, kind, priors, tyres, job.part(0.0, 0.0)).fits[0])
        except (LinAlgError, ValueError):
            alone.append(None)
    return Channels(tuple(alone), swing)
