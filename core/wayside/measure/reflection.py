"""A tone and its reflection off the ground, told apart.

Hard ground mirrors the source: what comes off it is heard as if from a second source that
passes at the same moment and speed, a little farther away. The two add up to fringes that sweep
through the pass and shift the phase by up to a quarter of a cycle. With ``r`` the direct way
the reflected one is ``sqrt(r^2 + q)``, with q four times the product of both heights over the
ground (image source; Kuttruff 2009, *Room Acoustics*, 5th ed., 4.1; from memory). Each
harmonic's two amplitudes are free, so the ground may swallow and delay as it likes; they are
solved inside (variable projection, Golub and Pereyra 1973).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, TWO_PI, moved
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Beside
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]

# heights of a hand's breadth up to both at 2 m
DETOURS_M2 = np.geomspace(0.05, 16.0, 30)
TRIED = 8
ROUGH, FINE = 8, 40
# steps of the search that cost about as much each
STEPS = np.array([1e-4, 0.01, 0.01, 0.01])
DETOUR_STEP = 0.1
# how far the fit leaves open what the ground does: log of the detour, shares of the amplitude
OPEN_DETOUR, OPEN_SHARE = 0.1, 0.1
# a reflection fainter than this changes nothing, a louder one than the direct sound is none
FAINTEST, LOUDEST = 0.03, 1.2
MOST_BLOCKS = 400
# where both sounds cancel to less than this their phase is not known
LEAST_SIZE = 0.02
# a reflection off the ground must explain so much more (nats)
REFLECTED = 10.0


@dataclass(frozen=True)
class Reflection:
    """What the ground adds.

    Parameters
    ----------
    passby : PassBy
        The source that both sounds come from.
    detour_m2 : float
        Square of the reflected way less that of the direct one, q (m^2).
    share : ndarray, shape (n_harmonics,), complex
        Strength of the reflected sound against the direct one at equal ways, per harmonic.
    """

    passby: PassBy
    detour_m2: float
    share: ComplexArray

    @property
    def longer_m(self) -> float:
        """How much longer the reflected way is at the closest point (m)."""
        d = self.passby.closest_m
        return float(np.sqrt(d * d + self.detour_m2)) - d

    def removed(self, blocks: Blocks) -> Blocks:
        """Return blocks whose phase is that of the direct sound; their size remains."""
        both = _both(_ratio(blocks, self.passby, self.detour_m2), self.share)
        size = np.maximum(np.abs(both), LEAST_SIZE)
        return replace(blocks, z=blocks.z * np.exp(-1j * np.angle(both)), fringes=size)

    def beside(self, blocks: Blocks) -> Beside:
        """Return what small errors of the reflection do to the common phase of the harmonics."""
        k = blocks.harmonics.astype(np.float64)[:, None]
        weight = k**2 * np.mean(np.abs(blocks.z) ** 2, axis=1)[:, None] / blocks.noise[:, None]
        ratio = _ratio(blocks, self.passby, self.detour_m2)
        now = _both(ratio, self.share)
        weight = weight * np.abs(now) ** 2
        weight = weight / np.sum(weight, axis=0)

        def column(other: ComplexArray, step: float) -> FloatArray:
            turned = np.angle(other * np.conj(now))
            return np.asarray(np.sum(weight * turned / k, axis=0) / (TWO_PI * step))

        small = 0.01
        longer = _ratio(blocks, self.passby, self.detour_m2 * float(np.exp(small)))
        columns = [column(_both(longer, self.share), small)]
        u = [OPEN_DETOUR]
        for row in range(self.share.size):
            for way in (1.0, 1j):
                other = self.share.copy()
                other[row] += small * way
                columns.append(column(_both(ratio, other), small))
                u.append(OPEN_SHARE)
        moving = np.zeros((blocks.times_s.size, 5))
        for i, step in enumerate(STEPS * small):
            near = moved(self.passby, np.array([step]), (CONSTANT[i],))
            moving[:, i] = column(_both(_ratio(blocks, near, self.detour_m2), self.share), step)
        return Beside(np.array(columns).T, np.array(u), self.passby, moving)


def _ways(blocks: Blocks, p: PassBy, detour_m2: float) -> tuple[ComplexArray, ComplexArray]:
    """Return the envelopes of unit direct and reflected sound, shape (n_harmonics, n_blocks)."""
    farther = float(np.sqrt(p.closest_m**2 + detour_m2))
    direct = phase_model(p, blocks.times_s)
    image = phase_model(p.with_(closest_m=farther), blocks.times_s)
    k = 1j * TWO_PI * blocks.harmonics[:, None]
    one = blocks.spread(direct.spread) * np.exp(k * (direct.cycles - blocks.reference_cycles))
    fainter = blocks.spread(image.spread) * (p.closest_m / farther)
    return one, fainter * np.exp(k * (image.cycles - blocks.reference_cycles))


def _ratio(blocks: Blocks, p: PassBy, detour_m2: float) -> ComplexArray:
    """Return the unit reflected sound against the direct one, shape (n_harmonics, n_blocks)."""
    direct, image = _ways(blocks, p, detour_m2)
    return np.asarray(image / direct)


def _both(ratio: ComplexArray, share: ComplexArray) -> ComplexArray:
    """Return both sounds together against the direct one alone, of the shape of `ratio`."""
    return np.asarray(1.0 + share[:, None] * ratio)


def _projected(
    blocks: Blocks, p: PassBy, detour_m2: float
) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
    """Return what is left of the envelopes (in sd), and the amplitudes of both sounds."""
    a, b = _ways(blocks, p, detour_m2)
    z = blocks.z
    aa, bb = np.sum(np.abs(a) ** 2, axis=1), np.sum(np.abs(b) ** 2, axis=1)
    ab, az, bz = (np.sum(np.conj(x) * y, axis=1) for x, y in ((a, b), (a, z), (b, z)))
    # a detour too short to tell the two apart shares the sound out evenly
    ridge = 1e-6 * aa
    det = (aa + ridge) * (bb + ridge) - np.abs(ab) ** 2
    direct = ((bb + ridge) * az - ab * bz) / det
    image = ((aa + ridge) * bz - np.conj(ab) * az) / det
    rest = (z - direct[:, None] * a - image[:, None] * b) / np.sqrt(0.5 * blocks.noise)[:, None]
    return rest, direct, image


def find_reflection(blocks: Blocks, start: PassBy, job: Job = QUIET) -> Reflection | None:
    """Return the reflection that explains the envelopes best, None where there is none.

    Parameters
    ----------
    blocks : Blocks
    start : PassBy
        A fit that leaves the ground out.
    job : Job
    """
    blocks = blocks.thinned(MOST_BLOCKS)
    _, p, detour = _best(blocks, start, job)
    if not blocks.times_s[0] < p.passing_time_s < blocks.times_s[-1]:
        return None
    _, direct, image = _projected(blocks, p, detour)
    share = image / np.where(np.abs(direct) > 0, direct, 1.0)
    size = np.abs(share)
    if np.max(size) < FAINTEST or np.min(size) > LOUDEST:
        return None
    return Reflection(p, detour, share)


def left_of_one(blocks: Blocks, p: PassBy) -> float:
    """Return what the direct sound alone leaves of envelopes (nats)."""
    blocks = blocks.thinned(MOST_BLOCKS)
    a, z = _ways(blocks, p, 0.0)[0], blocks.z
    direct = np.sum(np.conj(a) * z, axis=1) / np.sum(np.abs(a) ** 2, axis=1)
    return float(np.sum(np.abs(z - direct[:, None] * a) ** 2 / blocks.noise[:, None]))


def left_of_both(blocks: Blocks, start: PassBy, job: Job = QUIET) -> float:
    """Return what direct and reflected sound leave of envelopes at best (nats)."""
    return 0.5 * _best(blocks.thinned(MOST_BLOCKS), start, job)[0]


def _best(blocks: Blocks, start: PassBy, job: Job) -> tuple[float, PassBy, float]:
    """Return the least squares left by the best reflection, its pass-by and the detour."""
    left = [float(np.sum(np.abs(_projected(blocks, start, q)[0]) ** 2)) for q in DETOURS_M2]
    order = np.argsort(left)[:TRIED]
    rough = [_settled(blocks, start, float(DETOURS_M2[i]), ROUGH, job) for i in order]
    rough.sort(key=lambda found: found[0])
    return min(
        (_settled(blocks, p, detour, FINE, job) for _, p, detour in rough[:2]),
        key=lambda found: found[0],
    )


def _settled(
    blocks: Blocks, start: PassBy, detour_m2: float, most: int, job: Job
) -> tuple[float, PassBy, float]:
    """Return the least squares left, the pass-by and the detour, from a start."""

    def at(x: FloatArray) -> tuple[PassBy, float]:
        p = moved(start, x[:4] * STEPS, CONSTANT)
        return p, detour_m2 * float(np.exp(np.clip(x[4] * DETOUR_STEP, -3.0, 3.0)))

    def rest(x: FloatArray) -> FloatArray:
        job.check()
        left = _projected(blocks, *at(x))[0].ravel()
        return np.concatenate([left.real, left.imag])

    found = least_squares(rest, np.zeros(5), max_nfev=most)
    return (2.0 * float(found.cost), *at(found.x))
