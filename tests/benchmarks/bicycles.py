"""Bicycles whose treads strike the road one by one, made apart from the program's simulator.

Writes bicycles.csv and bicycles.md. The other benchmarks take a hum for a tone whose phase wanders
by chance. Here each tread is struck where the wheel has rolled to: neither evenly spaced nor
equally strong, the same again with every turn, and rougher or smoother by the road. What a strike
sounds like is a few damped resonances; the tyre hisses beside them, a coasting hub clicks, and
pink noise and wind are added. Riders coast, roll on uneven ground or pedal, and their speed wavers
by it. Nothing of it is measured; what it shows is how the program fares with a hum that keeps to
the way rolled, from two tyres at once, told that it is a wheel or told nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from tests.benchmarks import harness
from tests.benchmarks.harness import Kept, Row, by_kind, median, percent
from tests.benchmarks.one_run import Outcome, measure_recording

from wayside.measure.options import MeasureOptions
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.sound.recording import Recording

FloatArray = npt.NDArray[np.float64]
Rng = np.random.Generator

RATE_HZ = 44_100.0
SOUND_SPEED = Quantity(343.2, 1.5, "m/s")
MICROPHONE_M, TYRE_M, HUB_M, WHEELBASE_M = 1.2, 0.05, 0.33, 1.05
GRID_S, LEAD_S, TAIL = 1e-3, 1.0, 4096
JUDGED = ("speed_mps", "source_hz", "closest_m", "passing_time_s")
COLUMNS = (
    "who passes",
    "runs",
    "found (%)",
    *(f"{name}: in 68 / 95 % interval (%)" for name in JUDGED),
    "speed beyond 4 u (%)",
    "median error of speed (m/s)",
    "median u of speed (m/s)",
    "seconds a run",
)


@dataclass(frozen=True)
class Ridden:
    """How a bicycle moves along the track; at time 0 its middle is at the closest point.

    Parameters
    ----------
    times_s, way_m : ndarray, shape (n,)
        Its own times, and where its middle is then (m).
    closest_m, sound_speed_mps, acceleration_mps2 : float
    starts_s : float
        When the recording starts (s).
    length_s : float
        Of the recording (s).
    reflected : float
        By the ground, as a share of the pressure.
    ahead : float
        How much louder it is ahead and behind than beside.
    """

    times_s: FloatArray
    way_m: FloatArray
    closest_m: float
    sound_speed_mps: float
    acceleration_mps2: float
    starts_s: float
    length_s: float
    reflected: float
    ahead: float

    def heard(
        self, emitted_s: FloatArray, off_m: float, height_m: float
    ) -> Iterator[tuple[FloatArray, FloatArray]]:
        """Yield when in the recording (s) and how loud it is heard, directly and off the ground."""
        along = np.interp(emitted_s, self.times_s, self.way_m) + off_m
        image = math.sqrt(self.closest_m**2 + 4.0 * height_m * MICROPHONE_M)
        for gain, lateral in ((1.0, self.closest_m), (self.reflected, image)):
            if gain:
                r = np.hypot(lateral, along)
                aimed = 1.0 + self.ahead * (np.abs(along) / r - 0.25)
                yield emitted_s - self.starts_s + r / self.sound_speed_mps, gain * aimed / r

    def mean_speed(self, at_s: float, reach_s: float) -> float:
        """Return the mean speed within `reach_s` of a time of its own (m/s)."""
        ends = np.interp([at_s - reach_s, at_s + reach_s], self.times_s, self.way_m)
        return float(ends[1] - ends[0]) / (2.0 * reach_s)


def _ridden(rider: str, rng: Rng) -> Ridden:
    v, d = rng.uniform(3.0, 9.0), rng.uniform(1.0, 4.0)
    length_s = max(4.0, 8.0 * d / v) * rng.uniform(1.0, 1.5)
    starts_s = -length_s * rng.uniform(0.42, 0.58)
    a = -rng.uniform(0.02, 0.12) if "coasts" in rider else rng.normal(0.0, 0.02)
    times = np.arange(starts_s - LEAD_S, starts_s + length_s + LEAD_S, GRID_S)
    wavers = np.zeros(times.size)
    if "pedals" in rider:
        # each leg pushes once a turn of the crank
        pushes_hz = 2.0 * rng.uniform(1.0, 1.5)
        wavers += rng.uniform(0.002, 0.006) * np.cos(
            2 * np.pi * (pushes_hz * times + rng.uniform())
        )
    if "coasts" not in rider:
        for _ in range(4):
            turns = times / rng.uniform(3.0, 15.0) + rng.uniform()
            wavers += rng.uniform(0.0005, 0.004) * np.cos(2 * np.pi * turns)
    speed = (v + a * times) * (1.0 + wavers)
    way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * GRID_S)])
    way -= np.interp(0.0, times, way)
    return Ridden(
        times,
        way,
        d,
        rng.normal(SOUND_SPEED.value, SOUND_SPEED.u),
        a,
        starts_s,
        length_s,
        rng.uniform(0.2, 0.8) if rng.random() < 0.7 else 0.0,
        rng.uniform(0.0, 0.5),
    )


def _resonances(rng: Rng, hz: tuple[float, float], decay_s: tuple[float, float]) -> FloatArray:
    t = np.arange(1024) / RATE_HZ
    rings = [
        rng.uniform(0.3, 1.0)
        * np.sin(2 * np.pi * (rng.uniform(*hz) * t + rng.uniform()))
        * np.exp(-t / rng.uniform(*decay_s))
        for _ in range(3)
    ]
    return np.asarray(np.sum(rings, axis=0))


def _placed(out: FloatArray, at_s: FloatArray, loud: FloatArray) -> None:
    """Add strikes to a recording, between its samples by cubic (Lagrange) interpolation."""
    place = at_s * RATE_HZ
    first = np.floor(place).astype(np.intp)
    use = (first >= 1) & (first < out.size - 2)
    first, loud, f = first[use], loud[use], (place - first)[use]
    shares = (
        -f * (f - 1) * (f - 2) / 6,
        (f + 1) * (f - 1) * (f - 2) / 2,
        -(f + 1) * f * (f - 2) / 2,
        (f + 1) * f * (f - 1) / 6,
    )
    for k, share in enumerate(shares):
        np.add.at(out, first - 1 + k, share * loud)


@dataclass(frozen=True)
class Tread:
    """The treads of a wheel, the same again with every turn.

    Parameters
    ----------
    late : ndarray, shape (n_treads,)
        Share of a spacing by which each is late.
    strong : ndarray, shape (n_treads,)
    rough, uneven : float
        How far the road makes strikes late (share of a spacing) and strong (log).
    """

    late: FloatArray
    strong: FloatArray
    rough: float
    uneven: float

    def strikes(self, ridden: Ridden, per_m: float, rng: Rng) -> tuple[FloatArray, FloatArray]:
        """Return when they strike (s), in the bicycle's own time, and how strongly."""
        first, last = math.ceil(ridden.way_m[0] * per_m) + 1, math.floor(ridden.way_m[-1] * per_m)
        number = np.arange(first, last - 1)
        tread = (number + rng.integers(self.late.size)) % self.late.size
        late = rng.uniform() + self.late[tread] + rng.normal(0.0, self.rough, number.size)
        strong = self.strong[tread] * np.exp(rng.normal(0.0, self.uneven, number.size))
        return np.interp((number + late) / per_m, ridden.way_m, ridden.times_s), strong


def _struck(
    ridden: Ridden, off_m: float, height_m: float, tread: Tread, per_m: float, rng: Rng
) -> FloatArray:
    """Return the strikes as they are heard, before they ring."""
    struck = np.zeros(int(ridden.length_s * RATE_HZ) + TAIL)
    when, strong = tread.strikes(ridden, per_m, rng)
    for at, gain in ridden.heard(when, off_m, height_m):
        _placed(struck, at, gain * strong)
    return struck


def _tyre(ridden: Ridden, off_m: float, tread: Tread, per_m: float, rng: Rng) -> FloatArray:
    """Return one tyre as it is heard: strikes and hiss."""
    n = int(ridden.length_s * RATE_HZ)
    rings = _resonances(rng, (200.0, 1800.0), (0.0006, 0.003))
    hum = np.convolve(_struck(ridden, off_m, TYRE_M, tread, per_m, rng), rings)[:n]
    t = np.arange(n) / RATE_HZ
    grid = np.arange(ridden.times_s[0], ridden.times_s[-1], 1.0 / RATE_HZ)
    hiss = np.convolve(rng.standard_normal(grid.size), rings)[: grid.size]
    coarse = ridden.times_s[::2]
    rolled = np.zeros(n)
    for at, gain in ridden.heard(coarse, off_m, TYRE_M):
        rolled += np.interp(np.interp(t, at, coarse), grid, hiss) * np.interp(t, at, gain)
    near = np.abs(t + ridden.starts_s) < 0.3
    return np.asarray(
        hum + rolled * rng.uniform(0.3, 1.2) * np.std(hum[near]) / np.std(rolled[near])
    )


def _clicks(ridden: Ridden, off_m: float, turn_m: float, rng: Rng) -> FloatArray:
    """Return the clicks of a coasting hub as they are heard."""
    n = int(ridden.length_s * RATE_HZ)
    even = np.zeros(int(rng.integers(18, 40)))
    hub = Tread(even, np.ones(even.size), 0.01, 0.2)
    struck = _struck(ridden, off_m, HUB_M, hub, even.size / turn_m, rng)
    return np.convolve(struck, _resonances(rng, (2500.0, 6000.0), (0.0003, 0.001)))[:n]


def _noise(n: int, rng: Rng) -> FloatArray:
    """Return pink noise and, every other time, wind on the microphone, of unit level."""
    hz = np.fft.rfftfreq(n, 1.0 / RATE_HZ)
    pink = np.fft.rfft(rng.standard_normal(n)) / np.sqrt(np.maximum(hz, 20.0)) * (hz > 20.0)
    noise = np.fft.irfft(pink, n)
    noise *= 10 ** (-rng.uniform(5.0, 25.0) / 20.0) / np.std(noise)
    if rng.random() < 0.5:
        wind = np.fft.irfft(np.fft.rfft(rng.standard_normal(n)) / np.maximum(hz, 8.0) ** 1.5, n)
        gusts = np.arange(n) / RATE_HZ / rng.uniform(1.0, 4.0) + rng.uniform()
        wind *= 1.0 + 0.6 * np.sin(2 * np.pi * gusts)
        noise += wind * 10 ** (rng.uniform(-10.0, 10.0) / 20.0) / np.std(wind)
    return noise


@dataclass(frozen=True)
class Wheels:
    """Where the hum comes from, each a place ahead of the middle (m) and its treads per metre."""

    places: tuple[tuple[float, float], ...]

    def truth(self, ridden: Ridden, told: PassBy) -> PassBy:
        """Return the pass-by of the tyre that was measured, or of the place between both.

        It is that whose pitch is nearest to the one told; its speed is the mean over ±2 d/v about
        the passing told, for that is what a speed is said to be.
        """
        reach = 2.0 * told.closest_m / told.speed_mps
        mean = ridden.mean_speed(told.passing_time_s + ridden.starts_s, reach)
        ahead, per_m = min(self.places, key=lambda place: abs(place[1] * mean - told.source_hz))
        return PassBy(
            per_m * mean,
            mean,
            ridden.closest_m,
            float(np.interp(-ahead, ridden.way_m, ridden.times_s)) - ridden.starts_s,
            ridden.sound_speed_mps,
            acceleration_mps2=ridden.acceleration_mps2,
            speed_tied=True,
        )


RIDERS = (
    "coasts, one tyre hums",
    "coasts",
    "rolls on uneven ground",
    "pedals",
    "rolls on uneven ground, one tyre hums",
)
UNTOLD = "; nobody says that it is a wheel"
ASKED = (*RIDERS, *(rider + UNTOLD for rider in RIDERS))


def recorded(rider: str, seed: int) -> tuple[Recording, Ridden, Wheels]:
    """Return a recording of a bicycle and the truth of it."""
    rng = np.random.default_rng([seed, RIDERS.index(rider), 1])
    ridden = _ridden(rider, rng)
    turn_m, treads = 2 * np.pi * rng.uniform(0.30, 0.35), int(rng.integers(70, 200))
    tread = Tread(
        rng.normal(0.0, rng.uniform(0.01, 0.06), treads),
        np.exp(rng.normal(0.0, 0.25, treads)),
        rng.uniform(0.01, 0.06),
        rng.uniform(0.2, 0.6),
    )
    half = 0.5 * WHEELBASE_M * math.exp(rng.normal(0.0, 0.04))
    finer, fainter = rng.uniform(0.002, 0.015), 10 ** rng.uniform(-0.5, 0.0)
    rear = (-half, treads / turn_m * (1.0 + 0.5 * finer))
    front = (half, treads / turn_m * (1.0 - 0.5 * finer))
    sound = _tyre(ridden, rear[0], tread, rear[1], rng)
    wheels = Wheels((rear,))
    if "one tyre" not in rider:
        sound += fainter * _tyre(ridden, front[0], tread, front[1], rng)
        share = 1.0 / (1.0 + fainter**2)
        between = tuple(share * r + (1.0 - share) * f for r, f in zip(rear, front, strict=True))
        wheels = Wheels((rear, front, (between[0], between[1])))
    near = np.abs(np.arange(sound.size) / RATE_HZ + ridden.starts_s) < 0.3
    loud = float(np.std(sound[near]))
    if "coasts" in rider:
        clicks = _clicks(ridden, -half, turn_m, rng)
        sound += clicks * rng.uniform(0.05, 0.5) * loud / np.std(clicks[near])
    sound += loud * _noise(sound.size, rng)
    sound *= 0.7 / np.max(np.abs(sound))
    return Recording.from_array(sound.astype(np.float32), RATE_HZ, rider), ridden, wheels


def one(item: tuple[str, int]) -> Outcome:
    """Measure one recording, told that it is a wheel unless its name says otherwise."""
    asked, seed = item
    recording, ridden, wheels = recorded(asked.removesuffix(UNTOLD), seed)
    kind = "unknown" if asked.endswith(UNTOLD) else "wheel"
    options = MeasureOptions(sound_speed=SOUND_SPEED, source_kind=kind)
    return measure_recording(recording, options, lambda told: wheels.truth(ridden, told))


def row_of(asked: str, outcomes: list[Outcome]) -> Row:
    """Sum up what came of one kind of rider."""
    found = [o for o in outcomes if o.found]

    def inside(name: str) -> str:
        both = [sum(o.within[name][i] for o in found) for i in (0, 1)]
        return " / ".join(f"{percent(n, len(found)):.0f}" for n in both)

    z = [abs(o.errors["speed_mps"] / o.us["speed_mps"]) for o in found]
    return {
        "who passes": asked,
        "runs": len(outcomes),
        "found (%)": percent(len(found), len(outcomes)),
        **{f"{name}: in 68 / 95 % interval (%)": inside(name) for name in JUDGED},
        "speed beyond 4 u (%)": percent(sum(one > 4.0 for one in z), len(found)),
        "median error of speed (m/s)": median([abs(o.errors["speed_mps"]) for o in found]),
        "median u of speed (m/s)": median([o.us["speed_mps"] for o in found]),
        "seconds a run": float(np.mean([o.seconds for o in outcomes])),
    }


def write_page(path: Path, kept: Kept) -> None:
    """Write the table as a page."""
    harness.write_page(
        path,
        "Bicycles, tread by tread",
        "Recordings made apart from the program's simulator (`tests/benchmarks/bicycles.py`): both "
        "tyres' treads strike the road one by one, unevenly, and hiss; the hub of who coasts "
        "clicks; the speed wavers with the ground and the pedals by half a per cent; the ground "
        "reflects, and there is pink noise, often wind. All numbers are invented. The truth is "
        "that of the tyre whose pitch was measured, or of the place between both.",
        COLUMNS,
        [kept.rows[asked] for asked in ASKED if asked in kept.rows],
        "bicycles",
    )


def main() -> None:
    """Run the benchmark from the command line."""
    by_kind(__doc__, "bicycles", COLUMNS, ASKED, one, row_of, write_page)


if __name__ == "__main__":
    main()
