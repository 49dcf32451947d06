"""How what the wheels' hum is multiplied by moves with what is open about a bicycle.

Each wheel's motion moves by the slopes of its phase and its distance, from the
retarded time by implicit differentiation (see `wayside.measure.motion`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from wayside.measure.ladder import TWO_PI
from wayside.measure.motion import PhaseModel, lever_at, to_vector
from wayside.measure.twowheels import Bicycle, Hum
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]


def ways_near(
    hum: Hum, near: Sequence[Bicycle], shares: Sequence[float | None]
) -> tuple[ComplexArray, ComplexArray]:
    """Return what the hum of each wheel is multiplied by, of bicycles near the first.

    Parameters
    ----------
    hum : Hum
    near : sequence of Bicycle
    shares : sequence of float or None
        See `Hum.wheels_of`.

    Returns
    -------
    one, other : ndarray, shape (n_blocks, n_near, n_harmonics)
        See `Hum.ways`.
    """
    wheels = [hum.wheels_of(b, share) for b, share in zip(near, shares, strict=True)]
    found = [_way_near(hum, near, wheel) for wheel in zip(*wheels, strict=True)]
    one, other = found if hum.wheels == 2 else (np.zeros_like(found[0]), found[0])
    return one, other


def _way_near(
    hum: Hum, near: Sequence[Bicycle], wheels: Sequence[tuple[PassBy, FloatArray]]
) -> ComplexArray:
    """Return the same of one wheel, given its pass-by and its powers in each."""
    start, (p, power) = near[0], wheels[0]
    way, model, modes = hum.way_of(p, power, start)
    moved = np.array([to_vector(q) for q, _ in wheels]) - to_vector(p)
    cycles = moved @ model.slopes
    if hum.ride is not None:
        was = start.waver @ modes
        for row, (bicycle, (q, _)) in enumerate(zip(near, wheels, strict=True)):
            still = q == p and bicycle.passby == start.passby
            now = bicycle.waver @ modes if still else _wavered(hum, bicycle, q, moved[row], model)
            cycles[row] += now - was
    powers = np.array([each for _, each in wheels])
    louder = np.sqrt(np.divide(powers, power, out=np.ones_like(powers), where=power > 0.0))
    change = (louder - 1.0) + TWO_PI * 1j * hum.blocks.harmonics * cycles.T[:, :, None]
    if hum.blocks.held is None:
        change += _level(near, moved, model).T[:, :, None]
    # as an exponential grows: to first order alone the level would rise where only the phase moves
    change += 0.5 * change * change
    change += 1.0
    change *= way[:, None, :]
    return np.asarray(change)


def _level(near: Sequence[Bicycle], moved: FloatArray, model: PhaseModel) -> FloatArray:
    """Return by how much the logarithm of the level moves, shape (n_near, n_blocks)."""
    start, at = near[0], model.place
    spread, sine = model.spread, at.x / at.r
    farther = moved @ model.fading
    # along the track, at the emission time and as that moves
    along = moved @ at.dtau * at.speed + moved[:, [1]] * at.tau + moved[:, [4]] * at.tau**2 / 2.0
    turned = along / at.r - sine * (moved[:, [2]] / at.closest_m - farther)
    own = np.array([(b.fading, b.tilt, -b.squash) for b in near])
    own -= own[0]
    bent = start.fading - 2.0 * start.squash * spread**2
    told = own @ np.array([np.log(spread), sine, spread**2])
    return np.asarray(told + bent * farther + start.tilt * turned)


def _wavered(
    hum: Hum, bicycle: Bicycle, q: PassBy, moved: FloatArray, model: PhaseModel
) -> FloatArray:
    """Return the cycles that a wavering speed adds to a wheel that moves so far otherwise."""
    assert hum.ride is not None
    at, whole = model.place, bicycle.passby
    tau = at.tau + moved @ at.dtau
    emitted = tau + q.passing_time_s
    place = replace(
        at, tau=tau, x=q.position(emitted), speed=q.velocity(emitted), r=q.distance(emitted)
    )
    since = tau + (q.passing_time_s - whole.passing_time_s)
    lever = whole.speed_mps * lever_at(q, place)
    return np.asarray(lever * hum.ride.ahead_s(bicycle.waver, whole, since))
