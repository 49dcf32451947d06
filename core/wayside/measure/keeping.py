"""Whether a source that seemed to keep its phase from end to end does.

A buzzer does, a tyre does not. Of a clear sound both can be seen; of a fainter one a hum whose
phase wavers slowly passes for a tone, and its speed would be told ten times too surely.
"""

from __future__ import annotations

from wayside.jobs import Job
from wayside.measure.along import LEAST_BLOCKS
from wayside.measure.ladder import CONSTANT
from wayside.measure.phasefit import Priors, fit_phase
from wayside.measure.phases import clear_run
from wayside.measure.polished import Polished
from wayside.measure.staging import FAST_MPS, may_be_treads
from wayside.measure.unrest import QUIET, Unrest
from wayside.physics.passby import PassBy

CLEAR_PHASE_RAD = 0.3
MARKED_UNREST, MARKED_UNEXPLAINED = 8.0, 4.0
# buzzers, coded and all, have been seen to wander by less (cycles^2/s, cycles^2 s), tyres by more
TYRE_WALK, TYRE_JITTER = 1e-4, 1e-5


def keeps_its_phase(polished: Polished, p: PassBy, priors: Priors, kind: str, job: Job) -> bool:
    """Whether a source that seemed coherent is, which only marked unrest speaks against.

    A tyre's hum is known to lose its phase: it has to be heard clearly enough to tell. So has
    what may be one, for nobody says what it is, unless it is brief.

    Only blocks of clear phase are asked: noisy ones are not Gaussian enough to testify. Of a
    pass of a few cycles the samples testify first.

    Parameters
    ----------
    polished : Polished
    p : PassBy
    priors : Priors
    kind : str
        ``"tone"``, ``"wheel"`` or ``"unknown"``.
    job : Job
    """
    wheel = kind == "wheel"
    blocks, wave = polished.blocks.with_level(), polished.waveform
    if (
        not wheel
        and wave is not None
        and polished.brief
        and wave.unexplained(p) < MARKED_UNEXPLAINED
    ):
        return True
    slow = p.speed_mps < FAST_MPS and may_be_treads(p.source_hz, p.speed_mps)
    may_be_one = kind == "unknown" and slow
    first, last = clear_run(blocks, p, CLEAR_PHASE_RAD)
    if last - first < LEAST_BLOCKS:
        return not (wheel or may_be_one)
    used = blocks.between(first, last)
    free = fit_phase(used, p, CONSTANT, priors, near=True, job=job)
    quiet = fit_phase(used, p, CONSTANT, priors, QUIET, near=True, job=job)
    if free.loglik <= quiet.loglik + MARKED_UNREST:
        return True
    if may_be_one and (free.unrest.walk > TYRE_WALK or free.unrest.jitter > TYRE_JITTER):
        return False
    # a lost phase, followed as one that stays near, looks like jitter too
    if free.unrest.jitter > 0 and free.unrest.lasting and not wheel:
        alone = Unrest(jitter=free.unrest.jitter)
        jittery = fit_phase(used, p, CONSTANT, priors, near=True, job=job, begin=alone)
        if free.loglik <= jittery.loglik + MARKED_UNREST:
            followed = fit_phase(used, p, CONSTANT, priors, job=job)
            return followed.loglik <= jittery.loglik + MARKED_UNREST
    return not free.unrest.lasting
