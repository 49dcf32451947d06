"""Randomly drawn pass-bys for the coverage benchmark, one builder a condition.

Speeds, distances and pitches are those of a bicycle passing a phone. The true speed of sound
is drawn about the value given to the measurement, with the uncertainty given to it, and so
are a taped distance and a tread count; a true interval must allow for all of them.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import minimize_scalar

from wayside.measure.options import MeasureOptions
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.film import write_aac
from wayside.simulate.motion import Motion
from wayside.simulate.render import render, source_motion
from wayside.simulate.scene import Background, Recorder, Scene, Source
from wayside.sound.recording import Recording

SOUND_SPEED = Quantity(343.2, 1.5, "m/s")
Rng = np.random.Generator


@dataclass(frozen=True)
class Drawn:
    """One drawn run: what is rendered, what the measurement is told, and whether through AAC.

    `tags` name the groups it is counted in beside its condition; `passby` is what passes where
    that is not the first source, as a bicycle both of whose wheels hum.
    """

    scene: Scene
    options: MeasureOptions
    aac: bool = False
    tags: tuple[str, ...] = ()
    passby: PassBy | None = None


def drawn(condition: str, seed: int) -> Drawn:
    """Draw run number `seed` of a condition."""
    rng = np.random.default_rng([seed, sum(condition.encode())])
    return CONDITIONS[condition](rng)


def record(run: Drawn, seed: int) -> Recording:
    """Render a run and pass it through the codec where the condition asks for it.

    The recorder's clock is off by what the measurement is told it may be, and nobody knows:
    the samples are taken at the true rate and counted at the nominal one.
    """
    nominal = run.scene.rate_hz
    sound = render(run.scene.with_(rate_hz=nominal * _clock(run, seed)), seed)
    if not run.aac:
        return Recording.from_array(sound, nominal)
    from wayside.sound.media import load_recording

    peak = float(np.max(np.abs(sound)))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "run.m4a"
        write_aac(path, sound * np.float32(min(1.0, 0.9 / peak)), nominal, 64_000)
        decoded = load_recording(path)
        return Recording.from_array(decoded.read(0, decoded.n_samples), decoded.rate_hz)


def _clock(run: Drawn, seed: int) -> float:
    """Return how many seconds the recorder counts in one."""
    return 1.0 + float(np.random.default_rng([seed, 20]).normal(0.0, 1e-6 * run.options.clock_ppm))


def truth(run: Drawn, seed: int, told: PassBy | None = None) -> PassBy:
    """Return the true pass-by on the recorder's clock, which is the only one there is.

    On a line that weaves it passes when and where it is nearest. With a wobble its speed is the
    mean over ±2 d/v about the passing, of the pass-by `told` where there is one, for that is what
    its speed is said to be.
    """
    source = run.scene.sources[0]
    p = run.passby or source.passby
    clock = _clock(run, seed)
    heard = p.with_(passing_time_s=p.passing_time_s * clock)
    motion = source_motion(source, 0, seed)
    if motion.weave is not None:
        nearest_s, nearest_m = _nearest(motion)
        heard = heard.with_(passing_time_s=nearest_s * clock, closest_m=nearest_m)
    if not source.wobble:
        return heard
    over = told or heard
    reach = 2 * over.closest_m / over.speed_mps
    ends = motion.travelled((np.array([-reach, reach]) + over.passing_time_s) / clock)
    mean = float(ends[1] - ends[0]) / (2 * reach)
    pitch = p.source_hz * mean / p.speed_mps if p.speed_tied else p.source_hz
    return heard.with_(speed_mps=mean, source_hz=pitch)


def _nearest(motion: Motion) -> tuple[float, float]:
    """Return when a source is nearest (s), and how far it is then (m)."""
    p = motion.passby
    near = 0.5 * p.closest_m / p.speed_mps

    def distance(tau: float) -> float:
        at = np.array([tau])
        lateral, _ = motion.lateral(at, np.array(p.closest_m))
        return float(np.hypot(motion.travelled(at), lateral)[0])

    middle = p.passing_time_s
    found = minimize_scalar(
        distance, bounds=(middle - near, middle + near), method="bounded", options={"xatol": 1e-7}
    )
    return float(found.x), float(found.fun)


def tone(rng: Rng, **source: float) -> Drawn:
    """A buzzer or horn, coherent unless told otherwise."""
    return _run(rng, _log(rng, 400, 2500), rng.uniform(3, 12), rng.uniform(1, 5), "tone", **source)


def ridden(rng: Rng) -> Drawn:
    """A buzzer on a bicycle whose rider keeps neither the line nor the speed quite."""
    weave = {"weave_m": _log(rng, 0.01, 0.08), "weave_period_s": rng.uniform(1.5, 4.0)}
    return _run(
        rng,
        _log(rng, 400, 2500),
        rng.uniform(3, 9),
        rng.uniform(1, 4),
        "tone",
        wobble=0.003,
        **weave,
    )


def hum(rng: Rng, slowing: float | None = None, **source: float) -> Drawn:
    """Tread hum whose phase wanders with a coherence time from 50 ms to 1 s.

    The rider coasts, slowing by 0 to 0.15 m/s^2, unless told otherwise.
    """
    source.setdefault("coherence_s", _log(rng, 0.05, 1.0))
    if slowing is None:
        slowing = rng.uniform(0.0, 0.15)
    pitch, v, d = _log(rng, 150, 500), rng.uniform(3, 9), rng.uniform(1, 4)
    return _run(rng, pitch, v, d, "wheel", slowing, **source)


def _run(
    rng: Rng,
    pitch: float,
    v: float,
    d: float,
    kind: str,
    slowing: float = 0.0,
    **source: float,
) -> Drawn:
    c = rng.normal(SOUND_SPEED.value, SOUND_SPEED.u)
    length = max(3.0, 8 * d / v) * rng.uniform(1.0, 1.4)
    p = PassBy(
        source_hz=pitch,
        speed_mps=v,
        closest_m=d,
        passing_time_s=length * rng.uniform(0.46, 0.54),
        sound_speed_mps=c,
        acceleration_mps2=-slowing,
        speed_tied=kind == "wheel",
    )
    amplitudes = tuple(rng.uniform(0.4, 1.0) / k**0.7 for k in range(1, rng.integers(2, 6)))
    one = Source(p, amplitudes, **source)  # type: ignore[arg-type]
    scene = Scene((one,), length, 44100.0, background=Background(rng.uniform(5, 25)))
    return Drawn(scene, MeasureOptions(sound_speed=SOUND_SPEED, source_kind=kind))


def windy(run: Drawn, rng: Rng) -> Drawn:
    """Wind on the microphone and traffic."""
    noise = replace(
        run.scene.background, wind_tnr_db=rng.uniform(-10, 5), traffic_tnr_db=rng.uniform(5, 15)
    )
    return replace(run, scene=run.scene.with_(background=noise))


def grounded(run: Drawn, rng: Rng) -> Drawn:
    """Hard ground under source and microphone: a comb that sweeps as the source passes."""
    height = 0.05 if run.options.source_kind == "wheel" else rng.uniform(0.4, 1.0)
    sources = tuple(replace(s, height_m=height) for s in run.scene.sources)
    scene = run.scene.with_(sources=sources, ground_reflection=rng.uniform(0.4, 0.95))
    return replace(run, scene=scene)


def coded(run: Drawn, rng: Rng) -> Drawn:
    """AAC of 64 kbit/s."""
    return replace(run, aac=True)


def cut(run: Drawn, rng: Rng) -> Drawn:
    """Peaks clipped at a third to two thirds of the height."""
    recorder = replace(run.scene.recorder, clip_at=rng.uniform(0.33, 0.67))
    return replace(run, scene=run.scene.with_(recorder=recorder))


def levelled(run: Drawn, rng: Rng) -> Drawn:
    """Automatic gain."""
    return replace(run, scene=run.scene.with_(recorder=Recorder(automatic_gain=True)))


def like_a_phone(run: Drawn, rng: Rng) -> Drawn:
    """Wind, ground, automatic gain and AAC together."""
    return coded(levelled(grounded(windy(run, rng), rng), rng), rng)


def paired(run: Drawn, rng: Rng) -> Drawn:
    """Two microphones at the ends of a phone that lies along the track."""
    pair = replace(run.scene.microphone, channels=2, spacing_m=rng.uniform(0.06, 0.17))
    return replace(run, scene=run.scene.with_(microphone=pair))


def beeping(run: Drawn, rng: Rng) -> Drawn:
    """A tone in regular pulses, each begun anew."""
    on_s, off_s = rng.uniform(0.1, 0.5), rng.uniform(0.1, 0.5)
    (source,) = run.scene.sources
    begins = np.arange(-rng.uniform(0.0, on_s + off_s), run.scene.duration_s, on_s + off_s)
    pulses = tuple(replace(source, on_s=float(b), off_s=float(b) + on_s) for b in begins)
    return replace(run, scene=run.scene.with_(sources=pulses))


def two_wheels(run: Drawn, rng: Rng) -> Drawn:
    """Both tyres of a bicycle hum, of one make, the front one no louder than the rear.

    Loads and wear make their treads per metre differ by 0.2 to 1.5 %. What passes is where the
    hum comes from: between them, as much nearer to one as it gives more of the power.
    """
    (source,) = run.scene.sources
    p = source.passby
    v, a = p.speed_mps, p.acceleration_mps2
    half = 0.5 * 1.05 * math.exp(rng.normal(0.0, 0.04))
    finer = rng.uniform(0.002, 0.015)
    fainter = 10 ** rng.uniform(-0.5, 0.0)

    def wheel(ahead: float, ratio: float) -> Source:
        since = (math.sqrt(v * v - 2.0 * a * ahead) - v) / a if a else -ahead / v
        own = p.with_(
            passing_time_s=p.passing_time_s + since,
            speed_mps=v + a * since,
            source_hz=p.source_hz * ratio * (v + a * since) / v,
        )
        return replace(source, passby=own, rider=0)

    rear, front = wheel(-half, 1.0 + 0.5 * finer), wheel(half, 1.0 - 0.5 * finer)
    front = replace(front, level_rms=fainter * front.level_rms)
    behind = 1.0 / (1.0 + fainter**2)
    whole = wheel(half * (1.0 - 2.0 * behind), 1.0 + finer * (behind - 0.5))
    return replace(run, scene=run.scene.with_(sources=(rear, front)), passby=whole.passby)


def cut_short(run: Drawn, rng: Rng) -> Drawn:
    """Recorded from or to near the passing alone: half a crossing short of it to two beyond."""
    p = run.scene.sources[0].passby
    beyond = rng.uniform(-0.5, 2.0) * p.closest_m / p.speed_mps
    if rng.random() < 0.5:
        return _told(run, stop_s=p.heard_passing_s + beyond)
    return _told(run, start_s=p.heard_passing_s - beyond)


def taped(run: Drawn, rng: Rng) -> Drawn:
    """The distance to the track was taped, to 3 cm."""
    true = run.scene.sources[0].passby.closest_m
    return _told(run, closest=Quantity(max(0.1, rng.normal(true, 0.03)), 0.03, "m"))


def counted(run: Drawn, rng: Rng) -> Drawn:
    """Treads were counted and the roll-out measured, to 0.5 %."""
    p = run.scene.sources[0].passby
    true = p.source_hz / p.speed_mps
    u = 0.005 * true
    return _told(run, cycles_per_metre=Quantity(rng.normal(true, u), u, "1/m"))


def untold(run: Drawn, rng: Rng) -> Drawn:
    """The kind of source is not given."""
    return _told(run, source_kind="unknown")


def _told(run: Drawn, **facts: object) -> Drawn:
    return replace(run, options=replace(run.options, **facts))  # type: ignore[arg-type]


def _log(rng: Rng, low: float, high: float) -> float:
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))


_EFFECTS = {
    "plain": lambda run, rng: run,
    "wind": windy,
    "ground": grounded,
    "AAC": coded,
    "clipped": cut,
    "gain": levelled,
    "phone": like_a_phone,
}


def mixed_tones(rng: Rng) -> Drawn:
    """A coherent source, recorded under one of the effects."""
    return _affected(tone(rng), rng)


def mixed_hums(rng: Rng) -> Drawn:
    """A tread hum recorded under one of the effects, one rider in `WAVERING` wavering by 1 %."""
    wavers = rng.integers(WAVERING) == 0
    run = _affected(hum(rng, wobble=0.01 if wavers else 0.0), rng)
    coherence = run.scene.sources[0].coherence_s
    lasting = next(name for name, least in _LASTING.items() if coherence >= least)
    return replace(run, tags=(*run.tags, lasting, "wobble 1 %" if wavers else "no wobble"))


def _affected(run: Drawn, rng: Rng) -> Drawn:
    name = list(_EFFECTS)[rng.integers(len(_EFFECTS))]
    return replace(_EFFECTS[name](run, rng), tags=(name,))


# how many riders to one whose speed wobbles, in the mixed hums
WAVERING = 5
_LASTING = {"coherent over 370 ms": 0.37, "coherent over 136 ms": 0.136, "coherent from 50 ms": 0.0}

CONDITIONS: dict[str, Callable[[Rng], Drawn]] = {
    "tones, any recording": mixed_tones,
    "hums, any recording": mixed_hums,
    **{f"tone, {n}": lambda rng, e=e: e(tone(rng), rng) for n, e in _EFFECTS.items()},
    **{f"hum, {n}": lambda rng, e=e: e(hum(rng), rng) for n, e in _EFFECTS.items()},
    "hum, coherent 50 ms": lambda rng: hum(rng, coherence_s=0.05),
    "hum, coherent 200 ms": lambda rng: hum(rng, coherence_s=0.2),
    "hum, coherent 1 s": lambda rng: hum(rng, coherence_s=1.0),
    "tones, any recording, stereo": lambda rng: paired(mixed_tones(rng), rng),
    "hums, any recording, stereo": lambda rng: paired(mixed_hums(rng), rng),
    "tone, wobble 1 %": lambda rng: tone(rng, wobble=0.01),
    "tone, ridden": ridden,
    "hum, wobble 1 %": lambda rng: hum(rng, wobble=0.01),
    "tone, beeping": lambda rng: beeping(tone(rng), rng),
    "tone, cut short": lambda rng: cut_short(tone(rng), rng),
    "hum, cut short": lambda rng: cut_short(hum(rng), rng),
    "hum, two wheels": lambda rng: two_wheels(hum(rng), rng),
    "hum, two wheels, any recording": lambda rng: _affected(two_wheels(hum(rng), rng), rng),
    "hum, two wheels, wobble 1 %": lambda rng: two_wheels(hum(rng, wobble=0.01), rng),
    "hum, two wheels, distance taped": lambda rng: two_wheels(taped(hum(rng), rng), rng),
    "tone, drifting": lambda rng: tone(rng, drift_per_s=_drift(rng)),
    "tone, slowing": lambda rng: _slowing_tone(rng),
    "tone, kind not told": lambda rng: untold(tone(rng), rng),
    "hum, kind not told": lambda rng: untold(hum(rng), rng),
    "hum, not slowing": lambda rng: hum(rng, 0.0),
    "hum, distance taped": lambda rng: taped(hum(rng), rng),
    "hum, treads counted": lambda rng: counted(hum(rng), rng),
    "hum, taped and counted": lambda rng: counted(taped(hum(rng), rng), rng),
}


def _drift(rng: Rng) -> float:
    """Return how fast a buzzer's own pitch may drift (1/s)."""
    return float(rng.choice([-1.0, 1.0])) * _log(rng, 2e-5, 1e-3)


def _slowing_tone(rng: Rng) -> Drawn:
    run = tone(rng)
    (source,) = run.scene.sources
    slower = source.passby.with_(acceleration_mps2=-rng.uniform(0.0, 0.15))
    return replace(run, scene=run.scene.with_(sources=(replace(source, passby=slower),)))
