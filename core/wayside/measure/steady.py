"""How far to either side of the passing a rider kept to one speed.

Riders get up speed, pass, and brake. A tone that is followed from end to end then departs from the
curve by whole cycles at the ends, however faint, and draws the fit after it. The curve is fitted
to the phase near the passing and carried outward, block by block, as far as the phase keeps to it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.drift import FAST_PER_S, drift_cycles
from wayside.measure.hunt import Sighting
from wayside.measure.ladder import CONSTANT, scale_of
from wayside.measure.motion import phase_model
from wayside.measure.phases import track_phase
from wayside.measure.refine import LostError, Refined, Sound, blocks_of, near_of, refine
from wayside.measure.staging import may_be_treads

FloatArray = npt.NDArray[np.float64]

# the curve is first fitted so near the passing (crossing times), and needs so many clear blocks
NEAR, LEAST_BLOCKS = (3.0, 2.0), 12
BLOCKS_A_CROSSING = 8.0
CLEAR_CYCLES = 0.05
# what ground and coder do to a phase that is kept (cycles)
ROUGH = 0.02
# a phase that departs by so many of its uncertainties, most of so many blocks and so long (s)
DEPARTS, LASTING, LASTING_S = 5.0, 5, 0.15
# a tone over hard ground has been seen to stray from one curve by up to 0.3 (cycles)
REFLECTED = 0.4
# a near part whose phase scatters by more than so many times its noise is not kept
MOST_SCATTER = 4.0
# a speed that differs by less is the wavering of one who keeps to it; a fall of the phase by less
# (cycles) over a crossing time, and no less than so long (s), tells of none
OTHER_SPEED, OTHER_CYCLES, LEAST_S = 0.05, 0.25, 0.3
# nobody gets up speed, passes and brakes within so short a time (s)
LEAST_STRETCH_S = 1.0
# each stretch is refined in, and tried once more
TURNS = 2


def kept_steady(
    sound: Sound, found: Refined, sighting: Sighting, c: float, job: Job, kind: str
) -> tuple[Refined, Sound]:
    """Return a tone refined in the stretch in which the source keeps its speed, and that stretch.

    Parameters
    ----------
    sound : Sound
    found : Refined
        The pass-by in it.
    sighting : Sighting
    c : float
        Speed of sound (m/s).
    job : Job
    kind : str
        ``"tone"``, ``"wheel"`` or ``"unknown"``. What may be a tyre is left as it is: where its
        phase wanders slowly, a part of it keeps to some curve by chance.
    """
    p, tone = found.passby, kind == "tone"
    if kind == "wheel" or (not tone and may_be_treads(p.source_hz, p.speed_mps)):
        return found, sound
    for _ in range(TURNS):
        job.check()
        stretch = steady_stretch(sound, found)
        if stretch is None:
            break
        part = sound.cut(*stretch)
        before, after = sound.unsteady
        unsteady = (before or stretch[0] > sound.start_s, after or stretch[1] < sound.stop_s)
        try:
            again = refine(part, sighting.candidate, sighting.comb, c, job, tone)
        except LostError:
            break
        if not again.coherent:
            break
        found, sound = again, replace(part, unsteady=unsteady)
    return found, sound


def steady_stretch(sound: Sound, found: Refined) -> tuple[float, float] | None:
    """Return the times between which the phase keeps to one curve (s), less a crossing time.

    None where it does so throughout, or nowhere for long. A departure begins before it is seen.

    Parameters
    ----------
    sound : Sound
    found : Refined
        The pass-by in it, of a tone.
    """
    p = found.passby
    near = near_of(sound, p)
    crossing = p.closest_m / p.speed_mps
    block = max(crossing / BLOCKS_A_CROSSING, 4.0 / p.source_hz)
    all_lines = blocks_of(near, p, found.harmonics, block)
    # of one line alone it is known how far a cycle that is lost throws the phase
    blocks = all_lines.rows()[all_lines.clearest]
    track = track_phase(blocks, p)
    clear = track.noise < CLEAR_CYCLES**2
    if np.count_nonzero(clear) < LEAST_BLOCKS:
        return None
    times = track.times_s[clear]
    slopes = phase_model(p, times).slopes[list(CONSTANT)] * scale_of(p)[list(CONSTANT), None]
    # a pitch that drifts is no change of speed
    drift = drift_cycles(p, times, FAST_PER_S)
    phase = _Phase(
        np.vstack([slopes, drift, np.ones(times.size)]).T,
        track.cycles[clear],
        track.noise[clear] + ROUGH**2,
        1.0 / blocks.numbers[0],
    )
    if phase.kept or phase.strays < REFLECTED:
        return None
    since = (times - p.heard_passing_s) / crossing
    for reach in NEAR:
        inner = np.flatnonzero(np.abs(since) < reach)
        if inner.size >= LEAST_BLOCKS and phase.scatter(inner[0], inner[-1] + 1) < MOST_SCATTER:
            break
    else:
        return None
    lasting = max(LASTING, round(LASTING_S / block))
    first, last = phase.extended(int(inner[0]), int(inner[-1]) + 1, lasting)
    behind = max(1, round(max(crossing, LEAST_S) / block))
    if behind >= times.size:
        return None
    # far from the passing a pitch off by one part in a thousand is a speed off by c/1000
    off = phase.off(first, last)
    cycles, lasted_s = np.abs(off[behind:] - off[:-behind]), times[behind:] - times[:-behind]
    faster_mps = cycles / lasted_s * p.sound_speed_mps / p.source_hz
    other = (faster_mps > OTHER_SPEED * p.speed_mps) & (cycles > OTHER_CYCLES)
    start, stop = sound.start_s, sound.stop_s
    if np.any(other[:first]):
        start = float(times[min(first + behind, inner[0])]) - 0.5 * block
    if np.any(other[max(0, last - behind) :]):
        stop = float(times[max(last - 1 - behind, inner[-1])]) + 0.5 * block
    whole = (start, stop) == (sound.start_s, sound.stop_s)
    return None if whole or stop - start < LEAST_STRETCH_S else (start, stop)


@dataclass(frozen=True)
class _Phase:
    """A phase (cycles of the source), its variance, and its slopes by the parameters, (n, m).

    `turn` is a cycle of the line that it is read from. Those that were lost on the way are made
    good in place.
    """

    design: FloatArray
    cycles: FloatArray
    noise: FloatArray
    turn: float

    @property
    def kept(self) -> bool:
        """Whether the phase keeps to the curve that it was followed along, cycles aside."""
        off = self.cycles - np.median(self.cycles)
        off -= self._turns(off)
        return bool(np.mean(off**2 / self.noise) < MOST_SCATTER)

    @property
    def strays(self) -> float:
        """How far the phase strays from any one curve (cycles)."""
        return float(np.max(np.abs(self.off(0, self.cycles.size))))

    def extended(self, first: int, last: int, lasting: int) -> tuple[int, int]:
        """Return the longest run about blocks `first` to `last` that keeps to one curve.

        It ends where most of the `lasting` blocks ahead are off it.
        """
        count = self.cycles.size
        while True:
            before, after = first, last
            if first > 0 and self._goes_on(first, last, np.arange(first - 1, -1, -1), lasting):
                first -= 1
            if last < count and self._goes_on(first, last, np.arange(last, count), lasting):
                last += 1
            if (first, last) == (before, after):
                return first, last

    def off(self, first: int, last: int) -> FloatArray:
        """Return how far each block is off the curve of blocks `first` to `last` (cycles)."""
        return self.cycles - self.design @ self._fitted(first, last)[0]

    def scatter(self, first: int, last: int) -> float:
        """Return by how much blocks `first` to `last` scatter about their curve (variances)."""
        off = self.off(first, last)[first:last]
        free = max(1, last - first - self.design.shape[1])
        return float(np.sum(off**2 / self.noise[first:last])) / float(free)

    def _goes_on(self, first: int, last: int, ahead: npt.NDArray[np.intp], lasting: int) -> bool:
        """Whether most of the next blocks `ahead` are on the curve of `first` to `last`.

        A whole cycle that was lost or gained on the way is made good.
        """
        theta, covariance = self._fitted(first, last)
        near = ahead[:lasting]
        rows = self.design[near]
        u2 = self.noise[near] + np.einsum("ij,jk,ik->i", rows, covariance, rows)
        off = self.cycles[near] - rows @ theta
        self.cycles[ahead] -= self._turns(off[0])
        return bool(np.mean(np.abs(off - self._turns(off)) > DEPARTS * np.sqrt(u2)) <= 0.5)

    def _turns(self, off: FloatArray) -> FloatArray:
        """Return the whole cycles of the line in a departure."""
        return np.asarray(self.turn * np.round(off / self.turn))

    def _fitted(self, first: int, last: int) -> tuple[FloatArray, FloatArray]:
        part = slice(first, last)
        weighed = self.design[part] / self.noise[part, None]
        normal = weighed.T @ self.design[part]
        inverse = np.asarray(np.linalg.pinv(normal, rcond=1e-14, hermitian=True), dtype=np.float64)
        return inverse @ (weighed.T @ self.cycles[part]), inverse
