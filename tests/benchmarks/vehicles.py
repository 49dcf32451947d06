"""Sounds of the street, each passing with an echo of a wall and over hard ground.

Writes vehicles.csv and vehicles.md. The other benchmarks draw buzzers and tread hum from the
program's own simulator. These recordings are made apart from it: what a source emits is written
down as a function of its own time, and heard along the direct way, by a wall behind the track and
off the ground (each with the closed formula for the emission time), louder ahead or behind, in
pink noise. Sirens that sweep, engines that speed up and whistles that trill are not what the
program is made for: their rows show whether it says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from tests.benchmarks import harness
from tests.benchmarks.harness import Kept, Row, by_kind, median, percent
from tests.benchmarks.one_run import Outcome, measure_recording

from wayside.measure.options import MeasureOptions
from wayside.physics.passby import PassBy
from wayside.sound.recording import Recording

FloatArray = npt.NDArray[np.float64]
Emitted = Callable[[FloatArray, np.random.Generator], FloatArray]

RATE_HZ = 44_100.0
SOUND_SPEED_MPS = 343.2
FAR_OFF = 4.0
COLUMNS = (
    "what passes",
    "runs",
    "found (%)",
    "speed within 1.96 u (%)",
    f"speed beyond {FAR_OFF:g} u (%)",
    "median error of speed (%)",
    "median u of speed (%)",
    "seconds a run",
)


@dataclass(frozen=True)
class Vehicle:
    """What passes: its speeds (m/s), its distances (m), and what it emits."""

    speeds: tuple[float, float]
    distances: tuple[float, float]
    emitted: Emitted


def _series(
    cycles: FloatArray, rng: np.random.Generator, lines: int, fall: float = 0.5
) -> FloatArray:
    """Return a tone of `lines` harmonics, falling as k to the -`fall`, at random phases."""
    total = np.zeros_like(cycles)
    for k in range(1, lines + 1):
        total += k**-fall * np.cos(2 * np.pi * (k * cycles + rng.uniform()))
    return total


def _walk(tau: FloatArray, coherence_s: float, rng: np.random.Generator) -> FloatArray:
    """Return a random walk of phase (cycles) with that coherence time."""
    step = np.abs(np.diff(tau, prepend=tau[0])) / (2 * np.pi**2 * coherence_s)
    return np.asarray(np.cumsum(rng.standard_normal(tau.size) * np.sqrt(step)))


def _buzzer(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    return _series(rng.uniform(600, 3500) * tau, rng, 1)


def _two_notes(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    low = rng.uniform(300, 1500)
    return _series(low * tau, rng, 7) + _series(low * rng.uniform(1.15, 1.4) * tau, rng, 7)


def _car_horn(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    low = rng.uniform(380, 450)
    return _series(low * tau, rng, 11) + _series(low * rng.uniform(1.2, 1.27) * tau, rng, 11)


def _four_notes(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    notes = rng.choice([277.0, 311.0, 370.0, 415.0, 494.0, 622.0], 4, replace=False)
    total = sum(_series(n * rng.normal(1.0, 0.01) * tau, rng, 8, 0.8) for n in notes)
    # sounded for a few seconds about the passing
    begin, end = -rng.uniform(1.5, 4.0), rng.uniform(1.0, 4.0)
    return np.asarray(total / (1 + np.exp((begin - tau) / 0.03)) / (1 + np.exp((tau - end) / 0.05)))


def _two_tone_siren(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    each = rng.uniform(0.5, 0.8)
    high = np.floor((tau - rng.uniform()) / each) % 2
    pitch = rng.uniform(400, 480) * np.where(high == 0, 1.0, 4 / 3)
    return _series(np.cumsum(pitch * np.gradient(tau)), rng, 7)


def _sweeping_siren(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    low, high = rng.uniform(500, 700), rng.uniform(1200, 1600)
    sweep = 0.5 - 0.5 * np.cos(2 * np.pi * tau / rng.uniform(2, 5))
    return _series(np.cumsum(low * (high / low) ** sweep * np.gradient(tau)), rng, 4, 1.0)


def _racing_engine(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    cycles = rng.uniform(200, 500) * tau + _walk(tau, rng.uniform(0.2, 1.0), rng)
    return _series(cycles, rng, 7) + 0.8 * rng.standard_normal(tau.size)


def _engine_that_speeds_up(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    cycles = tau + rng.uniform(0.03, 0.15) * tau**2 / 2
    return _series(rng.uniform(80, 200) * cycles + _walk(tau, 0.5, rng), rng, 7, 0.4)


def _beeping_buzzer(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    pitch, on, off = rng.uniform(900, 3200), rng.uniform(0.1, 0.6), rng.uniform(0.1, 0.6)
    since = tau + rng.uniform(0, on + off) - tau[0]
    beep = np.floor(since / (on + off)).astype(int)
    # every other buzzer begins each beep anew
    begun = rng.uniform(size=int(beep.max()) + 1) * float(rng.random() < 0.5)
    into = since % (on + off)
    level = 1 / (1 + np.exp((0.02 - into) / 0.004)) / (1 + np.exp((into - on) / 0.004))
    return np.asarray(_series(pitch * tau + begun[beep], rng, 2) * level)


def _warbling_buzzer(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    other = np.floor(tau * 2 * rng.uniform(2, 12)) % 2
    pitch = rng.uniform(1500, 3200) * np.where(other == 0, 1.0, rng.uniform(1.1, 1.3))
    return _series(np.cumsum(pitch * np.gradient(tau)), rng, 2)


def _throbbing_buzzer(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    level = 1 + rng.uniform(0.3, 0.9) * np.cos(2 * np.pi * rng.uniform(5, 40) * tau)
    return np.asarray(_series(rng.uniform(800, 3200) * tau, rng, 2) * level)


def _pea_whistle(tau: FloatArray, rng: np.random.Generator) -> FloatArray:
    turns = 2 * np.pi * rng.uniform(4, 7)
    cycles = tau + rng.uniform(0.002, 0.01) * np.sin(turns * tau) / turns
    whistle = _series(rng.uniform(2200, 3500) * cycles + _walk(tau, 0.3, rng), rng, 2)
    return np.asarray(whistle + 0.3 * rng.standard_normal(tau.size))


RIDER, STREET = ((3.0, 9.0), (1.0, 4.0)), ((12.0, 35.0), (2.0, 15.0))
VEHICLES = {
    "rider with a buzzer": Vehicle(*RIDER, _buzzer),
    "rider with a horn of two notes": Vehicle(*RIDER, _two_notes),
    "car with a horn of two notes": Vehicle(*STREET, _car_horn),
    "train with a horn of four notes": Vehicle(*STREET, _four_notes),
    "siren of two tones": Vehicle(*STREET, _two_tone_siren),
    "racing engine": Vehicle((45.0, 80.0), (4.0, 25.0), _racing_engine),
    "siren that sweeps": Vehicle(*STREET, _sweeping_siren),
    "engine that speeds up": Vehicle(*STREET, _engine_that_speeds_up),
    "rider with a buzzer that beeps": Vehicle(*RIDER, _beeping_buzzer),
    "rider with a buzzer of two tones in turn": Vehicle(*RIDER, _warbling_buzzer),
    "rider with a buzzer that throbs": Vehicle(*RIDER, _throbbing_buzzer),
    "rider with a whistle that trills": Vehicle(*RIDER, _pea_whistle),
}


def recorded(kind: str, seed: int) -> tuple[Recording, PassBy]:
    """Return a recording of a vehicle and the truth; the pitch of the latter means nothing."""
    vehicle = VEHICLES[kind]
    rng = np.random.default_rng([seed, list(VEHICLES).index(kind)])
    length_s = rng.uniform(6.0, 14.0)
    v, d = rng.uniform(*vehicle.speeds), rng.uniform(*vehicle.distances)
    p = PassBy(500.0, v, d, rng.uniform(0.35, 0.65) * length_s, SOUND_SPEED_MPS)
    t = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    tau = np.asarray(p.emission_time(t))
    sound = vehicle.emitted(tau - p.passing_time_s, rng)

    def heard(away_m: float) -> FloatArray:
        """The same sound over a way that is `away_m` long at the closest point."""
        q = p.with_(closest_m=away_m)
        then = np.asarray(q.emission_time(t))
        return np.asarray(np.interp(then, tau, sound) * d / q.distance(then))

    ahead = v * (tau - p.passing_time_s) / p.distance(tau)
    # louder on one side, and by the square of the Doppler factor (Morse and Ingard 1968, 11.2)
    x = heard(d) * (1 + rng.uniform(-0.5, 0.5) * ahead) / (1 + v / SOUND_SPEED_MPS * ahead) ** 2
    if rng.random() < 0.6:
        x = x + rng.uniform(0.15, 0.4) * heard(d + 2 * rng.uniform(3.0, 20.0))
    if rng.random() < 0.7:
        x = x + rng.uniform(0.3, 0.8) * heard(math.hypot(d, 2 * rng.uniform(0.4, 1.2)))
    near = np.abs(t - p.passing_time_s) < 0.5
    pink = np.fft.rfft(rng.standard_normal(t.size))
    pink /= np.sqrt(np.maximum(1, np.arange(pink.size)))
    noise = np.fft.irfft(pink, t.size)
    noise *= 10 ** (-rng.uniform(20, 45) / 20) * np.std(x[near]) / np.std(noise)
    x = 0.7 * (x + noise) / np.max(np.abs(x + noise))
    return Recording.from_array(x.astype(np.float32), RATE_HZ, kind), p


def one(item: tuple[str, int]) -> tuple[Outcome, float]:
    """Measure one recording, told nothing; return what came of it, and the true speed (m/s)."""
    recording, p = recorded(*item)
    return measure_recording(recording, MeasureOptions(), p), p.speed_mps


def row_of(kind: str, outcomes: list[tuple[Outcome, float]]) -> Row:
    """Sum up the outcomes of one kind."""
    found = [
        (o.errors["speed_mps"], o.us["speed_mps"], speed_mps)
        for o, speed_mps in outcomes
        if o.found
    ]
    z = np.array([abs(error / u) for error, u, _ in found])

    return {
        "what passes": kind,
        "runs": len(outcomes),
        "found (%)": percent(len(found), len(outcomes)),
        "speed within 1.96 u (%)": percent(int(np.sum(z < 1.96)), len(found)),
        f"speed beyond {FAR_OFF:g} u (%)": percent(int(np.sum(z > FAR_OFF)), len(found)),
        "median error of speed (%)": median([100 * abs(error) / v for error, _, v in found]),
        "median u of speed (%)": median([100 * u / v for _, u, v in found]),
        "seconds a run": float(np.mean([o.seconds for o, _ in outcomes])),
    }


def write_page(path: Path, kept: Kept) -> None:
    """Write the table as a page."""
    rows = [kept.rows[kind] for kind in VEHICLES if kind in kept.rows]
    harness.write_page(
        path,
        "Sounds of the street",
        "Recordings made apart from the program's simulator (`tests/benchmarks/vehicles.py`): each "
        "source is heard directly, mostly off a wall and off hard ground as well, louder to one "
        "side, in pink noise. Sirens that sweep and engines that speed up change their pitch by "
        "themselves while they pass, which no single microphone can tell from motion, and whistles "
        "trill faster than can be followed: what counts there is how often nothing is claimed.",
        COLUMNS,
        rows,
        "vehicles",
    )


def main() -> None:
    """Run the benchmark from the command line."""
    by_kind(__doc__, "vehicles", COLUMNS, VEHICLES, one, row_of, write_page)


if __name__ == "__main__":
    main()
