"""A bicycle both of whose tyres hum: what is open about it, and how likely the sound makes it.

Two tyres of the same make sound all but the same pitch, a wheelbase apart. At the microphone
their hum adds up: it beats, and its phase goes from one wheel's to the other's, so that no single
phase can be followed. Each harmonic is taken for the sum of two processes that forget their
phase (see `wayside.measure.foretold`), one along the curve of each wheel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.measure.demod import Blocks
from wayside.measure.ladder import moved
from wayside.measure.likely import log_likelihood
from wayside.measure.mixture import steps_between
from wayside.measure.motion import PhaseModel, lever_at, phase_model, turns_of
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.riding import MODES, Ride
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]

# how far apart the wheels are, and the standard deviation of its logarithm (common practice, no
# source: bicycles for grown-ups have 1.0 to 1.1 m)
WHEELBASE_M, BASE = 1.05, 0.04
# before the sound is heard (standard deviations of logarithms; common practice, no source): the
# treads per metre of rear over front, as loads and wear differ; power of rear over front, of all
# harmonics and of each beside that; noise beside what was measured
RATIO, LOUDER, LINE, HISS = 0.01, 1.2, 0.7, 2.0
COHERENCE_S, COHERENCE = 0.2, 1.5
# of the fading beside that by distance, which an automatic gain lessens; of how much louder it
# is behind than ahead, as a gain that comes down makes it, or what the tyre points at; of how
# much it is held down at its loudest, as clipping does
FADING, TILT, SQUASH = 0.3, 0.4, 0.4
# how far a start may waver beyond what is likely
HELD = 3.0
# a step of acceleration (m/s^2), and how many times it is worked out anew
BRAKED, SLOWED = 0.001, 3
# places in a step: five of motion, then these, then how the speed wavers, then a power, a balance
# and a noise a harmonic
AT_RATIO, AT_BASE, AT_FADING, AT_TILT, AT_SQUASH, AT_COHERENCE, AT_LOUDER = range(5, 12)
AT_WAVER = slice(12, 12 + MODES)
SHARED = AT_WAVER.stop


def wheel_of(p: PassBy, ahead_m: float, ratio: float) -> PassBy:
    """Return the pass-by of a wheel, from that of another place on the bicycle.

    Parameters
    ----------
    p : PassBy
        Pitch tied to the speed.
    ahead_m : float
        How far the wheel is ahead of that place (m).
    ratio : float
        Its treads per metre over those `p` has.
    """
    v, a = p.speed_mps, p.acceleration_mps2
    # one that slows may stand still before that: then as far as it comes
    speed = math.sqrt(max(v * v - 2.0 * a * ahead_m, 0.25 * v * v))
    since = -2.0 * ahead_m / (v + speed)
    return p.with_(
        passing_time_s=p.passing_time_s + since,
        speed_mps=speed,
        source_hz=p.source_hz * ratio * speed / v,
    )


@dataclass(frozen=True)
class Bicycle:
    """What is open about a bicycle.

    Parameters
    ----------
    passby : PassBy
        That of where its hum comes from: between the wheels, as much nearer to one as that gives
        more of the power of all harmonics, at a pitch as much nearer to that wheel's. So one
        wheel much fainter than the other, or not heard, makes no difference to it.
    ratio : float
        Log of the rear wheel's treads per metre over the front's.
    coherence : float
        Log of the coherence time of the fundamental (s).
    base : float
        Log of the wheelbase over `WHEELBASE_M`.
    fading : float
        How many times as fast as with distance it fades, in decibels.
    tilt : float
        Log of how much louder it is far behind than beside, and beside than far ahead.
    squash : float
        Log of how much it is held down at the closest point, less so as the power falls.
    louder : float
        Log of the rear wheel's power over the front's.
    waver : ndarray, shape (MODES,)
        How the speed wavers, see `Ride`; 0 for an even ride.
    power, balance, hiss : ndarray, shape (n_harmonics,)
        Logs of each harmonic's power at the closest point, of how much more than `louder` it is
        the rear wheel's, and of its noise over what was measured beside it.
    """

    passby: PassBy
    ratio: float
    base: float
    fading: float
    tilt: float
    squash: float
    coherence: float
    louder: float
    waver: FloatArray
    power: FloatArray
    balance: FloatArray
    hiss: FloatArray

    @property
    def rear(self) -> FloatArray:
        """The rear wheel's share of each harmonic's power, shape (n_harmonics,)."""
        return np.asarray(1.0 / (1.0 + np.exp(-self.louder - self.balance)))

    @property
    def share(self) -> float:
        """The rear wheel's share of all power, and of the way between the wheels."""
        power = np.exp(self.power)
        return float(power @ self.rear) / float(power.sum())

    def moved(self, step: FloatArray) -> Bicycle:
        """Return another, `step` away, shape (SHARED + 3 n_harmonics,)."""
        n = self.power.size
        power, balance, hiss = step[SHARED:].reshape(3, n)
        return Bicycle(
            moved(self.passby, step[:AT_RATIO], ALL, most=math.inf),
            self.ratio + step[AT_RATIO],
            self.base + step[AT_BASE],
            self.fading + step[AT_FADING],
            self.tilt + step[AT_TILT],
            self.squash + step[AT_SQUASH],
            self.coherence + step[AT_COHERENCE],
            self.louder + step[AT_LOUDER],
            self.waver + step[AT_WAVER],
            self.power + power,
            self.balance + balance,
            self.hiss + hiss,
        )

    def steps_to(self, other: Bicycle) -> FloatArray:
        """Return the step that leads to another, that of `moved`."""
        shared = (
            other.ratio - self.ratio,
            other.base - self.base,
            other.fading - self.fading,
            other.tilt - self.tilt,
            other.squash - self.squash,
            other.coherence - self.coherence,
            other.louder - self.louder,
        )
        each = (
            other.waver - self.waver,
            other.power - self.power,
            other.balance - self.balance,
            other.hiss - self.hiss,
        )
        return np.concatenate([steps_between(self.passby, other.passby, ALL), shared, *each])


@dataclass(frozen=True)
class Hum:
    """The envelopes of a hum, and what is known of it beforehand.

    Parameters
    ----------
    blocks : Blocks
    priors : Priors
    wheels : int
        1 or 2; of one, the bicycle is where that wheel is.
    coherence, fading : tuple of float
        Log of the coherence time (s), and the fading, and how far each is open.
    squash : float
        How far the squash is open.
    ride : Ride or None
        What the speed may do; None for a steady rider.
    waver : float
        How far that is open (fraction of the speed).
    """

    blocks: Blocks
    priors: Priors
    wheels: int
    coherence: tuple[float, float] = (math.log(COHERENCE_S), COHERENCE)
    fading: tuple[float, float] = (1.0, FADING)
    squash: float = SQUASH
    ride: Ride | None = None
    waver: float = 0.0

    def log_likelihood(self, bicycle: Bicycle) -> float:
        """Return how likely a bicycle makes the envelopes (nats, constants left out)."""
        ways = self.ways(bicycle)
        return log_likelihood(self.blocks.z.T, *ways, self.kept(bicycle), self.noise(bicycle))

    def noise(self, bicycle: Bicycle) -> FloatArray:
        """Return the noise power of each harmonic, shape (n_harmonics,)."""
        return np.asarray(self.blocks.noise * np.exp(bicycle.hiss))

    def kept(self, bicycle: Bicycle) -> FloatArray:
        """Return what each harmonic keeps of itself from block to block, shape (n_harmonics,)."""
        k2 = self.blocks.harmonics.astype(np.float64) ** 2
        return np.asarray(np.exp(-k2 * self.blocks.block_s / math.exp(bicycle.coherence)))

    def sounding_alike(self, bicycle: Bicycle, q: PassBy) -> Bicycle:
        """Return one of another pass-by, whose rider wavers so that its pitch is all but the same.

        Parameters
        ----------
        bicycle : Bicycle
        q : PassBy
            That of the other; its pitch is chosen.
        """
        times, p = self.blocks.times_s, bicycle.passby
        (before, modes), (model, rows) = self.moving(p, p), self.moving(q, q)
        weight = np.sqrt(before.spread)
        wanted = before.cycles + bicycle.waver @ modes - model.cycles
        pitch = model.place.tau * q.source_hz
        design = np.column_stack([rows.T, pitch, np.ones(times.size)]) * weight[:, None]
        held = np.zeros((MODES, MODES + 2))
        np.fill_diagonal(held, 1.0 / (HELD * self.waver))
        size = np.linalg.lstsq(
            np.vstack([design, held]), np.append(wanted * weight, np.zeros(MODES)), rcond=None
        )[0]
        q = q.with_(source_hz=q.source_hz * math.exp(float(np.clip(size[MODES], -0.1, 0.1))))
        return replace(bicycle, passby=q, waver=size[:MODES])

    def drawn_to(self, bicycle: Bicycle, q: PassBy) -> Bicycle:
        """Return one of another pass-by that slows so that its pitch is nearly the same.

        Parameters
        ----------
        bicycle : Bicycle
            Of a steady rider.
        q : PassBy
            That of the other; its pitch and acceleration are chosen.
        """
        times, p = self.blocks.times_s, bicycle.passby
        before = phase_model(p, times)
        q = q.with_(acceleration_mps2=p.acceleration_mps2)
        for _ in range(SLOWED):
            model = phase_model(q, times)
            braked = phase_model(q.with_(acceleration_mps2=q.acceleration_mps2 + BRAKED), times)
            columns = (braked.cycles - model.cycles, model.place.tau * q.source_hz)
            weight = np.sqrt(before.spread)
            design = np.column_stack([*columns, np.ones(times.size)]) * weight[:, None]
            wanted = (before.cycles - model.cycles) * weight
            more, finer, _ = np.linalg.lstsq(design, wanted, rcond=None)[0]
            most = 0.1 * q.speed_mps / max(abs(times[-1] - times[0]), 1.0)
            q = q.with_(
                acceleration_mps2=q.acceleration_mps2 + float(np.clip(more * BRAKED, -most, most)),
                source_hz=q.source_hz * math.exp(float(np.clip(finer, -0.1, 0.1))),
            )
        return replace(bicycle, passby=q)

    def moving(self, p: PassBy, whole: PassBy) -> tuple[PhaseModel, FloatArray]:
        """Return how a wheel moves, and the cycles that the modes of a wavering speed add.

        Parameters
        ----------
        p, whole : PassBy
            That of the wheel, and of where the hum comes from.

        Returns
        -------
        model : PhaseModel
        modes : ndarray, shape (MODES, n_blocks)
            Of unit size; 0 for a steady rider.
        """
        model = phase_model(p, self.blocks.times_s)
        if self.ride is None:
            return model, np.zeros((MODES, self.blocks.times_s.size))
        since = model.place.tau + (p.passing_time_s - whole.passing_time_s)
        cycles_per_s = whole.speed_mps * lever_at(p, model.place)
        return model, cycles_per_s * self.ride.each_s(whole, since)

    def wheels_of(
        self, bicycle: Bicycle, share: float | None = None
    ) -> list[tuple[PassBy, FloatArray]]:
        """Return the pass-by of each wheel, front and rear, and its power by harmonic.

        Parameters
        ----------
        bicycle : Bicycle
        share : float, optional
            How far back towards the rear wheel the hum comes from, if not from where the powers
            put it.
        """
        power = np.exp(bicycle.power)
        if self.wheels == 1:
            return [(bicycle.passby, power)]
        base, ratio = WHEELBASE_M * math.exp(bicycle.base), bicycle.ratio
        rear = bicycle.rear
        share = bicycle.share if share is None else share
        front_wheel = wheel_of(bicycle.passby, share * base, math.exp(-share * ratio))
        rear_wheel = wheel_of(bicycle.passby, (share - 1.0) * base, math.exp((1.0 - share) * ratio))
        return [(front_wheel, power * (1.0 - rear)), (rear_wheel, power * rear)]

    def ways(self, bicycle: Bicycle) -> tuple[ComplexArray, ComplexArray]:
        """Return what the hum of each wheel is multiplied by, shape (n_blocks, n_harmonics)."""
        found = [self.way_of(*wheel, bicycle)[0] for wheel in self.wheels_of(bicycle)]
        one, other = found if self.wheels == 2 else (np.zeros_like(found[0]), found[0])
        return one, other

    def way_of(
        self, p: PassBy, power: FloatArray, bicycle: Bicycle
    ) -> tuple[ComplexArray, PhaseModel, FloatArray]:
        """Return what the hum of a wheel is multiplied by, and how it moves, see `moving`.

        Parameters
        ----------
        p, power
            Of the wheel, see `wheels_of`.
        bicycle : Bicycle
        """
        model, modes = self.moving(p, bicycle.passby)
        cycles = model.cycles - self.blocks.reference_cycles + bicycle.waver @ modes
        # where it was, as the sine of the angle from the closest point
        sine = model.place.x / model.place.r
        bent = bicycle.tilt * sine - bicycle.squash * model.spread**2
        level = self.blocks.spread(model.spread**bicycle.fading * np.exp(bent))
        turns = turns_of(cycles, self.blocks.harmonics).T
        return np.ascontiguousarray(turns * (level[:, None] * np.sqrt(power))), model, modes

    def known(self, bicycle: Bicycle) -> tuple[FloatArray, FloatArray, float]:
        """Return information, pull and log-density of what is known beforehand."""
        n = bicycle.power.size
        rows, values, u = self.priors.rows(bicycle.passby, ALL)
        a = np.zeros((values.size, SHARED + 3 * n))
        a[:, :AT_RATIO] = rows[:, :-1] / u[:, None]
        b = values / u
        off, spread = np.zeros(SHARED + 3 * n), np.full(SHARED + 3 * n, np.inf)

        def near(places: int | slice, by: float | FloatArray, sd: float) -> None:
            off[places], spread[places] = by, sd

        near(AT_COHERENCE, bicycle.coherence - self.coherence[0], self.coherence[1])
        near(AT_FADING, bicycle.fading - self.fading[0], self.fading[1])
        near(AT_TILT, bicycle.tilt, TILT)
        near(AT_SQUASH, bicycle.squash, self.squash)
        near(slice(SHARED + 2 * n, None), bicycle.hiss, HISS)
        if self.ride is not None:
            near(AT_WAVER, bicycle.waver, self.waver)
        if self.wheels == 2:
            near(AT_RATIO, bicycle.ratio, RATIO)
            near(AT_BASE, bicycle.base, BASE)
            near(AT_LOUDER, bicycle.louder, LOUDER)
            near(slice(SHARED + n, SHARED + 2 * n), bicycle.balance, LINE)
        information = a.T @ a + np.diag(spread**-2.0)
        density = -0.5 * float(b @ b) - 0.5 * float(np.sum((off / spread) ** 2))
        if self.ride is not None:
            # a freedom that others do not have
            density -= MODES * math.log(self.waver)
        return information, a.T @ b - off / spread**2, density

    @property
    def open(self) -> npt.NDArray[np.intp]:
        """The places in a step of what is open."""
        n = self.blocks.harmonics.size
        free = np.ones(SHARED + 3 * n, dtype=bool)
        free[AT_WAVER] = self.ride is not None
        if self.wheels == 1:
            free[[AT_RATIO, AT_BASE, AT_LOUDER]] = False
            free[SHARED + n : SHARED + 2 * n] = False
        return np.flatnonzero(free)
