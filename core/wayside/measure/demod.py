"""Complex envelopes of the harmonics along a reference pass-by, in short blocks.

Multiplying the sound by ``exp(-2 pi i k phi(t))`` brings harmonic k to rest; low-pass
filtering and taking one value a block leaves a few hundred numbers that hold everything the
recording says about that harmonic (complex demodulation; Bloomfield 2000, *Fourier Analysis
of Time Series*, ch. 7).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy import fft
from scipy.interpolate import CubicSpline
from scipy.signal import firwin, upfirdn

from wayside.measure.motion import phase_model
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]

LEAST_PARTS = 4
# cells of a spectrum whose median is the noise to about a tenth
ENOUGH_CELLS = 100
# low-pass at which the noise of one block is its band's share, and no part of its neighbour's
WHITE = 1.13


@dataclass(frozen=True)
class Blocks:
    """Envelopes of the harmonics.

    Parameters
    ----------
    times_s : ndarray, shape (n_blocks,)
        Block centres on the recording's clock (s).
    z : ndarray, shape (n_harmonics, n_blocks), complex
        Envelope relative to the reference phase; half the line's amplitude in size.
    noise : ndarray, shape (n_harmonics,)
        Noise power in `z`.
    harmonics : ndarray of int, shape (n_harmonics,)
    reference : PassBy
        The pass-by whose phase was taken out.
    block_s : float
        Block spacing (s).
    reference_cycles : ndarray, shape (n_blocks,)
        Its phase at the block centres (cycles).
    fringes : ndarray, shape (n_harmonics, n_blocks), or None
        By how much a reflection makes each envelope larger than its distance would.
    law : ndarray, shape (n_blocks,) or (n_harmonics, n_blocks), or None
        By how much they are larger for another reason.
    evened : ndarray, shape as that of `law`, or None
        What they were multiplied by to make the noise even.
    held : ndarray, shape (n_blocks,), or None
        What distance makes of the amplitudes, whatever pass-by is tried: then only the phase
        tells one from another.
    """

    times_s: FloatArray
    z: ComplexArray
    noise: FloatArray
    harmonics: npt.NDArray[np.int64]
    reference: PassBy
    block_s: float
    reference_cycles: FloatArray
    fringes: FloatArray | None = None
    law: FloatArray | None = None
    evened: FloatArray | None = None
    held: FloatArray | None = None

    @property
    def numbers(self) -> tuple[int, ...]:
        """The harmonics as plain numbers."""
        return tuple(int(k) for k in self.harmonics)

    @property
    def clearest(self) -> int:
        """Row of the harmonic that stands out of its noise best."""
        return int(np.argmax(np.mean(np.abs(self.z) ** 2, axis=1) / self.noise))

    def unevened(self) -> Blocks:
        """Return the envelopes before the noise was made even, larger by the same law as now."""
        if self.evened is None:
            return self
        return replace(self, z=self.z / self.evened, evened=None)

    def as_heard(self) -> Blocks:
        """Return the envelopes as they were before the noise was made even."""
        return replace(self.unevened(), law=None, held=None)

    def by_phase_alone(self, p: PassBy) -> Blocks:
        """Return the envelopes with the amplitudes to be expected held at those of `p`."""
        return replace(self, held=phase_model(p, self.times_s).spread)

    def with_level(self) -> Blocks:
        """Return the envelopes with nothing held."""
        return self if self.held is None else replace(self, held=None)

    def spread(self, spread: FloatArray) -> FloatArray:
        """Return the amplitudes to be expected where distance alone makes them `spread`."""
        spread = spread if self.held is None else self.held
        return spread if self.law is None else spread * self.law

    def turned(self, cycles: FloatArray) -> ComplexArray:
        """Return the envelopes along a source whose fundamental has done `cycles`, shape as `z`.

        Harmonic k turns k times as far; its turn is the k-th power of the fundamental's.
        """
        turn = 2.0 * np.pi * (cycles - self.reference_cycles)
        one = np.empty(turn.shape, np.complex128)
        np.cos(turn, out=one.real)
        np.sin(-turn, out=one.imag)
        out = np.empty(self.z.shape, np.complex128)
        # in rising order, as harmonics are listed
        last, at = one, 1
        for row, harmonic in enumerate(self.numbers):
            for _ in range(harmonic - at):
                last = last * one
            np.multiply(self.z[row], last, out=out[row])
            at = harmonic
        return out

    def rows(self) -> list[Blocks]:
        """Return the harmonics one by one."""
        fringes, law = self.fringes, self.law
        return [
            replace(
                self,
                z=self.z[[i]],
                noise=self.noise[[i]],
                harmonics=self.harmonics[[i]],
                fringes=None if fringes is None else fringes[[i]],
                law=law[i] if law is not None and law.ndim == 2 else law,
                evened=None,
            )
            for i in range(self.harmonics.size)
        ]

    def between(self, first: int, last: int) -> Blocks:
        """Return blocks `first` to `last`."""
        return self._at(slice(first, last))

    def where(self, mask: npt.NDArray[np.bool_]) -> Blocks:
        """Return the blocks chosen by `mask`, shape (n_blocks,)."""
        return self._at(mask)

    def _at(self, index: slice | npt.NDArray[np.bool_]) -> Blocks:
        fringes, law, evened, held = (
            None if values is None else values[..., index]
            for values in (self.fringes, self.law, self.evened, self.held)
        )
        return replace(
            self,
            times_s=self.times_s[index],
            z=self.z[:, index],
            reference_cycles=self.reference_cycles[index],
            fringes=fringes,
            law=law,
            evened=evened,
            held=held,
        )

    def thinned(self, most: int) -> Blocks:
        """Return at most `most` blocks by averaging neighbours; noise falls along.

        Fringes are forgotten, how they were before the noise was made even, and what is held.
        """
        every = -(-self.times_s.size // most)
        count = self.times_s.size // every * every
        shape = (-1, every)
        law = self.law
        if law is not None:
            law = law[..., :count].reshape(*law.shape[:-1], -1, every).mean(axis=-1)
        return replace(
            self,
            times_s=self.times_s[:count].reshape(shape).mean(axis=1),
            z=self.z[:, :count].reshape(self.z.shape[0], -1, every).mean(axis=2),
            noise=self.noise / every,
            reference_cycles=self.reference_cycles[:count].reshape(shape).mean(axis=1),
            block_s=self.block_s * every,
            fringes=None,
            law=law,
            evened=None,
            held=None,
        )


def demodulate(
    x: npt.NDArray[np.float32],
    rate_hz: float,
    start_s: float,
    reference: PassBy,
    harmonics: tuple[int, ...],
    block_s: float,
) -> Blocks:
    """Return the envelopes of `harmonics` of `reference` in blocks of about `block_s`.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Samples.
    rate_hz, start_s : float
        Sample rate (Hz) and time of sample 0 (s).
    reference : PassBy
        Reference motion; the residual frequency must stay below about 0.3/`block_s`.
    harmonics : tuple of int
        Multiples of the source pitch.
    block_s : float
        Wanted block length (s); rounded to whole sub-blocks of whole samples.
    """
    n_part, parts = _division(rate_hz, block_s, reference.source_hz)
    count = x.size // n_part
    t = start_s + np.arange(count * n_part) / rate_hz
    carrier = _carrier(reference, t)
    real = x[: count * n_part]
    part_s = n_part / rate_hz
    band = (0.55 / (parts * part_s), min(0.48 / part_s, 0.45 * reference.source_hz))
    if 2.0 * (band[1] - band[0]) * count * part_s < ENOUGH_CELLS:
        # blocks near a cycle long leave no room beside the line: the gap's middle will do
        band = (0.35 * reference.source_hz, 0.65 * reference.source_hz)
    rows, noise = [], []
    power = np.ones_like(carrier)
    at = 0
    for k in harmonics:
        for _ in range(k - at):
            power *= carrier
        at = k
        part = (real * power).reshape(count, n_part).mean(axis=1, dtype=np.complex128)
        noise.append(_noise(part, part_s, band) / parts)
        rows.append(_blocked(part, parts))
    z = np.array(rows)
    number = np.arange(z.shape[1], dtype=np.float64) * parts + parts // 2 + 0.5
    centre: FloatArray = start_s + (number * n_part - 0.5) / rate_hz
    return Blocks(
        centre,
        z,
        np.array(noise),
        np.array(harmonics),
        reference,
        parts * part_s,
        phase_model(reference, centre).cycles,
    )


def _division(rate_hz: float, block_s: float, source_hz: float) -> tuple[int, int]:
    """Return samples a sub-block and sub-blocks a block.

    Sub-blocks are short enough that no neighbouring harmonic folds back onto the line.
    """
    parts = max(LEAST_PARTS, int(np.ceil(3.0 * block_s * source_hz)))
    n_part = max(1, round(rate_hz * block_s / parts))
    return n_part, max(LEAST_PARTS, round(rate_hz * block_s / n_part))


@cache
def low_pass(parts: int) -> FloatArray:
    """Return the low-pass of a block of so many parts, its taps, shape (6 parts - 1,)."""
    return np.asarray(firwin(6 * parts - 1, WHITE / parts))


def _blocked(part: ComplexArray, parts: int) -> ComplexArray:
    """Return `part` low-passed to a block's bandwidth, one value a block."""
    taps = low_pass(parts)
    delay = (taps.size - 1) // 2
    lead = -(parts // 2 + delay) % parts
    first = (parts // 2 + delay + lead) // parts
    count = (part.size - 1 - parts // 2) // parts + 1
    padded = np.concatenate([np.zeros(lead), part, np.zeros(delay + parts)])
    return np.asarray(upfirdn(taps, padded, 1, parts)[first : first + count])


def _carrier(p: PassBy, t: FloatArray) -> npt.NDArray[np.complex64]:
    """Return ``exp(-2 pi i phi(t))`` with the phase wrapped in double precision first."""
    if p.acceleration_mps2 or p.speed_tied:
        knots = np.linspace(t[0], t[-1], max(8, int((t[-1] - t[0]) / 0.002) + 2))
        cycles = CubicSpline(knots, phase_model(p, knots).cycles)(t)
    else:
        cycles = p.source_hz * (p.emission_time(t) - p.passing_time_s)
    cycles -= np.rint(cycles)
    angle = (-2.0 * np.pi * cycles).astype(np.float32)
    out = np.empty(t.size, dtype=np.complex64)
    np.cos(angle, out=out.real)
    np.sin(angle, out=out.imag)
    return out


def _noise(part: ComplexArray, part_s: float, band_hz: tuple[float, float]) -> float:
    """Return the noise power a sub-block, from the band beside the line."""
    n = part.size
    window = np.hanning(n + 2)[1:-1]
    power = np.abs(fft.fft(part * window)) ** 2 / np.sum(window**2)
    offset = np.abs(fft.fftfreq(n, part_s))
    beside = power[(offset > band_hz[0]) & (offset < band_hz[1])]
    if beside.size < 6:
        beside = power[offset > 0.25 / part_s]
    return float(np.median(beside) / np.log(2.0)) + 1e-30
