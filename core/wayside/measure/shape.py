"""Is it the shape of a pass-by? Tests that a glissando, a melody or an engine fails.

A passing source must be loudest at the passing (spreading as 1/r), keep to the curve on both
sides of it, and move at a speed that can be staged. Each test that fails gives its reason.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.measure.fitted import ModelFit, Wheels
from wayside.measure.result import Track
from wayside.measure.staging import FAST_MPS
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# an automatic gain flattens the rise of level, but does not turn it round; with the gain taken
# off, as far as the background shows it, hums come out between 0.8 and 1.2
LEAST_LEVEL_SLOPE = {"coherent": 0.2, "incoherent": 0.4}
LEAST_LEVEL_RANGE_DB = 4.0
# a phase that keeps to the curve speaks for itself; a wavering one needs the level's word
LEAST_CORRELATION = {"coherent": 0.35, "incoherent": 0.85}
# a wavering pitch leaves passing and distance so open that the level may choose among them
CLEAR_CORRELATION, LEVEL_WITHIN_U, MOST_OPEN = 0.95, 1.5, 0.7
FAST_CORRELATION = 0.93
# a source that moves is louder ahead: by the square of the Doppler factor if it is small and
# pulsates (Morse and Ingard 1968, 11.2), by less if it is larger. Engines point some way, too:
# of one whose pitch speaks for itself that may add as much again
THROWN_AHEAD, POINTED_AHEAD = (1, 2), (3, 4)
# a pitch so close to the curve, on both sides of the passing, speaks for itself, even if echoes
# upset the level
CLOSE_SHARE, CLOSE_U, CLOSE_CORRELATION = 0.06, 0.12, 0.55
# of a slow source; further away an engine that runs down at standstill does so too, and beyond
# the speed of most riders a voice
CLOSE_WITHIN_M, CLOSE_MPS = 15.0, 12.0
# no voice and no engine keeps so close to the curve for so many frames
EXACT_SHARE, EXACT_U, EXACT_FRAMES, EXACT_CORRELATION = 0.02, 0.03, 30, 0.75
# strays of single frames, and of means over a crossing time, which a hum's unrest leaves small
MOST_RESIDUAL_SHARE, MOST_LASTING_SHARE = 0.22, 0.33
# frames are clear whose own uncertainty is less than this share of half the shift
CLEAR_SHARE = 0.2
LEAST_SPEED_IN_U = 2.0
# a passing whose time is open by more crossing times was not heard
MOST_UNDATED_CROSSINGS = 2.0
# a rise and fall of level this close to 1/r speaks for a passing source by itself, even if
# its pitch wavers about the curve
TELLING_CORRELATION, TELLING_SLOPE, TELLING_RANGE_DB = 0.92, (0.3, 1.5), 7.0
# a wavering pitch over a wider fall than this is a voice or an engine, not a vehicle's hum,
# unless pitch and level both keep to what a passing makes of them
FASTEST_MPS = {"coherent": 60.0, "incoherent": 40.0}
FASTEST_SURE_MPS = 100.0
# a level that follows the passing this closely lets the pitch stray so much further
EVIDENT_CORRELATION, EVIDENT_RANGE_DB, EVIDENT_SHARE = 0.97, 12.0, 0.1
# nothing that fast is let pass nearer than so
NEAREST_M, NEAREST_FAST_M, FARTHEST_M = 0.2, 0.35, 60.0
LEAST_FRAMES = 10
# a wavering pitch followed through no more frames must be heard from near and far the more clearly
FEW_FRAMES, FEW_CORRELATION = 16, 0.95
# by so many nats a level that falls with distance must be likelier than an even one
LEAST_FADING_TOLD = 20.0
# and where nobody says that it is a wheel, it must be seen frame by frame as well
UNTOLD_CORRELATION, UNTOLD_FRAMES, UNTOLD_MPS = 0.8, 24, 15.0
# of what is not known to be a wheel, the pitch falls or rises by itself by no more than so many
# times as much as passing changes it
MOST_OWN_CHANGE = 25.0
# an engine whose speed is open by more is not told from one at standstill; whichever way it points,
# its level rises by such a share of what distance makes
MOST_OPEN_FAST, LEAST_FAST_SLOPE = 0.15, 0.5
# the level of what may be a rider must follow the passing as well at the best fit itself
TIED_CORRELATION = 0.75
# a passing hum is followed through nearly every frame in which it should be loud enough
LEAST_HEARD_SHARE = 0.6
# a voice is, too, in six or seven frames of ten, but its level does not follow a passing so closely
PATCHY_SHARE, PATCHY_CORRELATION = 0.75, 0.95
# a faint tone is heard in fewer, but then it is louder the nearer it is
FAINT_SHARE, FAINT_CORRELATION = 0.45, 0.85
# no melody keeps its notes so close to the curve
PULSED_SHARE = 0.05
MOST_LEVEL_SLOPE = 1.9
# engines pass from far to far; one that runs down at standstill looks like the end of a passing
BOTH_SIDES_CROSSINGS = 2.0
ELSEWHERE = "the tone is not loudest where its pitch falls fastest, as that of a passing source is"
ONE_SIDED = "it is heard for too short a time on one side to be told from an engine at standstill"
UNSURE = "the pitch does not change by more than its uncertainty"
COMES_AND_GOES = "the tone comes and goes as it passes, as a voice or a melody does"
UNDATED = "the sound does not tell when it passes"
BRIEF = "the tone is heard too briefly to tell the shape of its fall"
RUNS_DOWN = "its pitch changes by itself far more than by passing, as that of an engine does"
STANDSTILL = "its speed stays too open to tell it from an engine at standstill"
BEATS = "it beats as the hum of two tyres does; say that it is a wheel to have it measured"
# faults that leave it open whether it was a passing source
OPEN = (UNSURE, UNDATED, BRIEF, STANDSTILL, BEATS)


@dataclass(frozen=True)
class Shape:
    """Outcome of the shape tests.

    Parameters
    ----------
    faults : tuple of str
        What speaks against a pass-by, a clause each; empty when nothing does.
    level_slope : float
        Rise of level towards the passing over that of 1/r spreading; NaN if not testable.
    residual_share : float
        RMS of pitch residuals over half the shift.
    """

    faults: tuple[str, ...]
    level_slope: float
    residual_share: float


def judge_shape(
    model: ModelFit,
    track: Track,
    faintest_db: float,
    pulsed: bool = False,
    wheels: Wheels | None = None,
    told: bool = False,
) -> Shape:
    """Test the shape of a fitted pass-by against its own track.

    `faintest_db` is the level below which the track's frames hold only noise; `pulsed` says that
    the tone comes and goes in regular pulses, `wheels` that it is the hum of two, which beats,
    `told` that it is known whether it is a wheel or a tone.
    """
    p = model.passby
    faults = []
    too_fast = (
        f"the pitch falls further than any passing could make it "
        f"(it would need {p.speed_mps:.0f} m/s)"
    )
    beyond = p.speed_mps > FASTEST_MPS[model.method]
    coherent = model.method == "coherent"
    far = p.closest_m + model.u(2) > NEAREST_M
    if _fast(model):
        far = p.closest_m > NEAREST_FAST_M
    if not far or p.closest_m > FARTHEST_M:
        faults.append(
            f"the fall is not that of a passing at a possible distance ({p.closest_m:.3g} m)"
        )
    if p.speed_mps < LEAST_SPEED_IN_U * model.u(1):
        faults.append(UNSURE)
    if track.times_s.size < LEAST_FRAMES:
        # too faint to follow frame by frame: a coherent source's likelihood over the whole
        # curve must do
        if not coherent or track.times_s.size < 2:
            faults.append(BRIEF)
        if beyond:
            faults.insert(0, too_fast)
        return Shape(tuple(faults), float("nan"), float("nan"))
    followed = 1.0 if pulsed else heard_share(model, track)
    if not coherent and followed < LEAST_HEARD_SHARE:
        faults.append(COMES_AND_GOES)
    share = residual_share(model, track)
    if pulsed and share > PULSED_SHARE:
        faults.append(COMES_AND_GOES)
    close = share < CLOSE_SHARE and model.u(1) < CLOSE_U * p.speed_mps
    exact = share < EXACT_SHARE and model.u(1) < EXACT_U * p.speed_mps
    exact = exact and track.times_s.size >= EXACT_FRAMES
    at_best = level_slope(model, track, faintest_db)
    slope, correlation, spread_db = _heard_level(model, track, faintest_db, at_best, close, exact)
    least = _least_correlation(model, close and _is_plain(p, track), exact)
    if spread_db < TELLING_RANGE_DB:
        # little rise and fall to go by: it must be all the clearer
        least = max(least, 0.6)
    if wheels is not None:
        # frames of a beat do not tell the level; the fit of the envelopes does
        slope = wheels.fading
        if wheels.fading_told < LEAST_FADING_TOLD or slope < LEAST_LEVEL_SLOPE[model.method]:
            faults.append(ELSEWHERE)
    elif spread_db < LEAST_LEVEL_RANGE_DB:
        if not coherent:
            faults.append("it is not heard from near and far, as that of a passing source is")
    elif slope < LEAST_LEVEL_SLOPE[model.method] or correlation < least:
        faults.append(ELSEWHERE)
    elif slope > MOST_LEVEL_SLOPE:
        faults.append("the tone swells and fades faster than distance could make it")
    # where nobody says what it is, a rider's level counts at the best fit itself
    as_near = correlation if told or _fast(model) else min(correlation, at_best[1])
    if wheels is None and not (told and coherent) and _in_gaps(coherent, followed, as_near):
        faults.append(COMES_AND_GOES)
    few = not (coherent or pulsed) and track.times_s.size < FEW_FRAMES
    if few and correlation < FEW_CORRELATION:
        faults.append(BRIEF)
    if not told:
        asked = min(least, TIED_CORRELATION)
        faults += _as_untold(model, track, wheels, correlation, at_best, asked)
    if _fast(model) and not _on_both_sides(p, track, BOTH_SIDES_CROSSINGS):
        faults.append(ONE_SIDED)
    # frames show now one wheel's pitch, now the other's
    other = 0.0 if wheels is None else 0.5 * abs(wheels.ratio) * p.sound_speed_mps / p.speed_mps
    strays = share > math.hypot(MOST_RESIDUAL_SHARE, other)
    strays = strays and lasting_share(model, track) > math.hypot(MOST_LASTING_SHARE, other)
    telling = (
        spread_db >= TELLING_RANGE_DB
        and correlation >= TELLING_CORRELATION
        and TELLING_SLOPE[0] <= slope <= TELLING_SLOPE[1]
    )
    evident = correlation >= EVIDENT_CORRELATION and spread_db >= EVIDENT_RANGE_DB
    evident = evident and share < EVIDENT_SHARE
    sure = telling and (close or evident) and p.speed_mps < FASTEST_SURE_MPS
    if beyond and not sure:
        faults.insert(0, too_fast)
    clear = float(np.median(track.u_hz)) < CLEAR_SHARE * half_shift(p)
    if strays and not telling and (clear or not coherent):
        faults.append("the pitch strays from the curve of a passing source")
    if not coherent and model.u(3) * p.speed_mps > MOST_UNDATED_CROSSINGS * p.closest_m:
        faults.append(UNDATED)
    return Shape(tuple(dict.fromkeys(faults)), slope, share)


def _in_gaps(coherent: bool, followed: float, correlation: float) -> bool:
    """Return True for what is followed too rarely for how its level follows the passing."""
    if coherent:
        return followed < FAINT_SHARE and correlation < FAINT_CORRELATION
    return LEAST_HEARD_SHARE <= followed < PATCHY_SHARE and correlation < PATCHY_CORRELATION


def _as_untold(
    model: ModelFit,
    track: Track,
    wheels: Wheels | None,
    correlation: float,
    at_best: tuple[float, float, float],
    asked: float,
) -> list[str]:
    """Return what speaks for an engine at standstill or a voice, of what may be either.

    `correlation` is how the level follows the passing, `at_best` slope, correlation and range at
    the best fit alone, `asked` how well a rider's must follow there.
    """
    p = model.passby
    faults = []
    if _fast(model):
        if at_best[0] < LEAST_FAST_SLOPE:
            faults.append(ELSEWHERE)
        if model.u(1) > MOST_OPEN_FAST * p.speed_mps:
            faults.append(STANDSTILL)
    elif p.speed_tied and wheels is None and at_best[1] < asked:
        faults.append(ELSEWHERE)
    if p.speed_tied:
        first, last = p.velocity(p.emission_time(track.times_s[[0, -1]]))
        passing = 2.0 * p.speed_mps / p.sound_speed_mps
        if abs(last - first) > MOST_OWN_CHANGE * passing * p.speed_mps:
            faults.append(RUNS_DOWN)
    if wheels is not None and (
        correlation < UNTOLD_CORRELATION
        or track.times_s.size < UNTOLD_FRAMES
        or p.speed_mps > UNTOLD_MPS
    ):
        faults.append(BEATS)
    return faults


def _fast(model: ModelFit) -> bool:
    """Return True for a wavering pitch that calls for more than a rider's speed."""
    return model.method != "coherent" and model.passby.speed_mps > FAST_MPS


def _is_plain(p: PassBy, track: Track) -> bool:
    """Return True for a slow, near passing heard for long enough before and after."""
    staged = p.closest_m < CLOSE_WITHIN_M and p.speed_mps < CLOSE_MPS
    return staged and _on_both_sides(p, track, 1.0) and track.times_s.size >= EXACT_FRAMES


def _on_both_sides(p: PassBy, track: Track, crossings: float) -> bool:
    """Return True where it is heard for so many crossing times before and after the passing."""
    reach = crossings * p.closest_m / p.speed_mps
    heard = p.heard_passing_s
    return bool(track.times_s[0] < heard - reach and track.times_s[-1] > heard + reach)


def _heard_level(
    model: ModelFit,
    track: Track,
    faintest_db: float,
    level: tuple[float, float, float],
    close: bool,
    exact: bool,
) -> tuple[float, float, float]:
    """Return slope, correlation and range of level, as a source like this may be heard.

    `level` is what they are at the best fit.
    """
    if model.method == "coherent":
        return level
    if close and _fast(model):
        powers = THROWN_AHEAD + (POINTED_AHEAD if exact else ())
        thrown = [level_slope(model, track, faintest_db, n) for n in powers]
        level = max([level, *thrown], key=lambda one: one[1])
    if level[1] < CLEAR_CORRELATION:
        level = _likeliest_level(model, track, faintest_db, level)
    return level


def _least_correlation(model: ModelFit, plain: bool, exact: bool) -> float:
    """Return how closely the level must follow 1/r; with `plain` the pitch speaks for itself."""
    if model.method == "coherent":
        return LEAST_CORRELATION[model.method]
    if _fast(model):
        # voices and engines slide further than riders
        return EXACT_CORRELATION if exact else FAST_CORRELATION
    if plain:
        return CLOSE_CORRELATION
    return LEAST_CORRELATION[model.method]


def level_slope(
    model: ModelFit, track: Track, faintest_db: float, thrown: int = 0
) -> tuple[float, float, float]:
    """Return slope and correlation of level against 1/r spreading, and the range it spans (dB).

    Both the level and what spreading predicts of it are held at the noise, so that faint
    frames agree in being faint. With `thrown` the sound is louder ahead of the source than
    behind, as that power of the Doppler factor.
    """
    p = model.passby
    tau = p.emission_time(track.times_s)
    fall = -20.0 * np.log10(p.distance(tau) / p.closest_m)
    if thrown:
        fall += 20.0 * thrown * np.log10(p.pitch(track.times_s) / p.source_hz)
    peak = float(np.max(track.level_db[fall > np.max(fall) - 3.0]))
    expected = np.maximum(peak + fall, faintest_db)
    level = np.maximum(track.level_db, faintest_db)
    x = expected - expected.mean()
    y = level - level.mean()
    if not np.any(x):
        return float("nan"), float("nan"), 0.0
    size = float(np.sqrt(np.sum(x**2) * np.sum(y**2)))
    slope = float(np.sum(x * y) / np.sum(x**2))
    return slope, float(np.sum(x * y)) / max(size, 1e-12), float(np.ptp(expected))


def _likeliest_level(
    model: ModelFit, track: Track, faintest_db: float, at_fit: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Return slope, correlation and range of level where they agree best within the fit's u."""
    p = model.passby
    crossing = p.closest_m / p.speed_mps
    later = LEVEL_WITHIN_U * min(model.u(3), MOST_OPEN * crossing)
    farther = LEVEL_WITHIN_U * min(model.u(2) / p.closest_m, MOST_OPEN)
    found = [at_fit]
    for time, factor in itertools.product(np.linspace(-later, later, 7), np.linspace(-1, 1, 5)):
        q = p.with_(
            passing_time_s=p.passing_time_s + float(time),
            closest_m=p.closest_m * math.exp(factor * farther),
        )
        found.append(level_slope(replace(model, passby=q), track, faintest_db))
    # a place from which the level hardly changes proves nothing
    telling = [f for f in found if f[2] >= TELLING_RANGE_DB] or found[:1]
    return max(telling, key=lambda f: f[1])


def heard_share(model: ModelFit, track: Track) -> float:
    """Return in how many frames the tone was followed, of those nearer than most followed."""
    p = model.passby
    gaps = np.diff(track.times_s)
    frame = float(np.min(gaps))
    enough = float(np.quantile(_distance(p, track.times_s), 0.75))
    slots = np.arange(track.times_s[0], track.times_s[-1] + 0.5 * frame, frame)
    near = slots[_distance(p, slots) <= enough * (1.0 + 1e-9)]
    followed = np.min(np.abs(near[:, None] - track.times_s[None, :]), axis=1) < 0.6 * frame
    return float(np.mean(followed))


def _distance(p: PassBy, times_s: FloatArray) -> FloatArray:
    return p.distance(p.emission_time(times_s))


def half_shift(p: PassBy) -> float:
    """Return about half the fall of the pitch (Hz)."""
    return p.source_hz * p.speed_mps / p.sound_speed_mps


def _strays(p: PassBy, track: Track) -> tuple[FloatArray, FloatArray]:
    """Return how far each frame strays from the curve (Hz), and its weight."""
    rest = track.pitch_hz - p.pitch(track.times_s)
    return rest, 1.0 / (track.u_hz**2 + np.median(track.u_hz) ** 2)


def residual_share(model: ModelFit, track: Track) -> float:
    """Return how far the track strays from the curve, beyond noise, over half the shift."""
    p = model.passby
    rest, weight = _strays(p, track)
    excess = float(np.sum(weight * (rest**2 - track.u_hz**2)) / np.sum(weight))
    return float(np.sqrt(max(0.0, excess))) / half_shift(p)


def lasting_share(model: ModelFit, track: Track) -> float:
    """Return the RMS stray from the curve in means over a crossing time, over half the shift."""
    p = model.passby
    frame = float(np.min(np.diff(track.times_s)))
    many = max(1, round(p.closest_m / p.speed_mps / frame))
    edges = np.arange(0, track.times_s.size, many)
    rest, weight = _strays(p, track)
    total = np.add.reduceat(weight, edges)
    mean = np.add.reduceat(weight * rest, edges) / total
    rms = float(np.sqrt(np.sum(total * mean**2) / np.sum(total)))
    return rms / half_shift(p)
