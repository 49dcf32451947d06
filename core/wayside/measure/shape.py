"""Is it the shape of a pass-by? Tests that a glissando, a melody or an engine fails.

A passing source must be loudest at the passing (spreading as 1/r), keep to the curve on both
sides of it, and move at a speed that can be staged. Each rule that fails gives its reason.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wayside.measure.bicycle import MOST_OPEN_PITCH
from wayside.measure.fitted import ModelFit, Wheels
from wayside.measure.result import Track
from wayside.measure.rise import TELLING_RANGE_DB, Rise, level_slope, likeliest_level
from wayside.measure.staging import FAST_MPS
from wayside.measure.strays import half_shift, heard_share, lasting_share, residual_share

# an automatic gain flattens the rise of level, but does not turn it round; with the gain taken
# off, as far as the background shows it, hums come out between 0.8 and 1.2
LEAST_LEVEL_SLOPE = {"coherent": 0.2, "incoherent": 0.4}
LEAST_LEVEL_RANGE_DB = 4.0
# a phase that keeps to the curve speaks for itself; a wavering one needs the level's word
LEAST_CORRELATION = {"coherent": 0.35, "incoherent": 0.85}
# a level that follows less closely may choose passing and distance, as far as they are open
CLEAR_CORRELATION = 0.95
# where little rise and fall is to go by, it must be all the clearer
LITTLE_CORRELATION = 0.6
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
# a passing whose time is open by more crossing times was not heard; a phase that is kept may tell
# of one that the recording leaves out, but not of one at any time
MOST_UNDATED_CROSSINGS = {"coherent": 10.0, "incoherent": 2.0}
# a rise and fall of level this close to 1/r speaks for a passing source by itself, even if
# its pitch wavers about the curve
TELLING_CORRELATION, TELLING_SLOPE = 0.92, (0.3, 1.5)
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
# and of what is known to be a wheel, and keeps its phase for longer than it takes to cross, by so
# many: its pitch speaks for itself, and a level that hardly wanders says little by itself
LEAST_FADING_KEPT = 5.0
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
ONLY_NEAR = "it is not heard from near and far, as that of a passing source is"
TOO_STEEP = "the tone swells and fades faster than distance could make it"
STRAYS = "the pitch strays from the curve of a passing source"
UNDATED = "the sound does not tell when it passes"
BRIEF = "the tone is heard too briefly to tell the shape of its fall"
RUNS_DOWN = "its pitch changes by itself far more than by passing, as that of an engine does"
STANDSTILL = "its speed stays too open to tell it from an engine at standstill"
BEATS = "it beats as the hum of two tyres does; say that it is a wheel to have it measured"
UNFOLLOWED = "its phase cannot be followed"
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


@dataclass(frozen=True)
class Seen:
    """What the rules go by, worked out when it is asked for.

    Parameters
    ----------
    model : ModelFit
    track : Track
    faintest_db : float
    pulsed : bool
    wheels : Wheels or None
    told : bool
        See `judge_shape`.
    """

    model: ModelFit
    track: Track
    faintest_db: float
    pulsed: bool
    wheels: Wheels | None
    told: bool

    @cached_property
    def followed(self) -> float:
        """In how many frames the tone was followed; see `heard_share`."""
        return 1.0 if self.pulsed else heard_share(self.model, self.track)

    @cached_property
    def share(self) -> float:
        """How far the frames stray from the curve; see `residual_share`."""
        return residual_share(self.model, self.track)

    @cached_property
    def at_best(self) -> Rise:
        """How the level follows the passing at the best fit."""
        return level_slope(self.model, self.track, self.faintest_db)

    @cached_property
    def level(self) -> Rise:
        """How the level follows the passing, as a source like this may be heard."""
        level = self.at_best
        if self.coherent:
            return level
        if self.fast and self.close:
            powers = THROWN_AHEAD + (POINTED_AHEAD if self.exact else ())
            thrown = [level_slope(self.model, self.track, self.faintest_db, n) for n in powers]
            level = max([level, *thrown], key=lambda one: one.correlation)
        if level.correlation < CLEAR_CORRELATION:
            level = likeliest_level(self.model, self.track, self.faintest_db, level)
        return level

    @property
    def coherent(self) -> bool:
        """Whether its phase was followed from end to end."""
        return self.model.method == "coherent"

    @property
    def kept(self) -> bool:
        """Whether both wheels of what is told to be one keep their phase while it crosses."""
        if self.wheels is None or not self.told:
            return False
        p = self.model.passby
        return self.wheels.coherence_s > p.closest_m / p.speed_mps

    @property
    def fast(self) -> bool:
        """Whether a wavering pitch calls for more than a rider's speed."""
        return not self.coherent and self.model.passby.speed_mps > FAST_MPS

    @property
    def close(self) -> bool:
        """Whether the pitch keeps close to its curve, at a speed that is known."""
        known = self.model.u(1) < CLOSE_U * self.model.passby.speed_mps
        return self.share < CLOSE_SHARE and known

    @property
    def keeps_exactly(self) -> bool:
        """Whether it keeps as close as no voice and no engine does for long."""
        known = self.model.u(1) < EXACT_U * self.model.passby.speed_mps
        return self.share < EXACT_SHARE and known

    @property
    def exact(self) -> bool:
        """Whether it keeps so close for long."""
        return self.keeps_exactly and self.track.times_s.size >= EXACT_FRAMES

    @property
    def plain(self) -> bool:
        """Whether it is a slow, near passing heard for long enough before and after."""
        p = self.model.passby
        staged = p.closest_m < CLOSE_WITHIN_M and p.speed_mps < CLOSE_MPS
        return staged and self.on_both_sides(1.0) and self.track.times_s.size >= EXACT_FRAMES

    def on_both_sides(self, crossings: float) -> bool:
        """Return True where it is heard for so many crossing times before and after the passing."""
        p, times = self.model.passby, self.track.times_s
        reach = crossings * p.closest_m / p.speed_mps
        heard = p.heard_passing_s
        return bool(times[0] < heard - reach and times[-1] > heard + reach)

    @property
    def slope(self) -> float:
        """The level's rise over that of 1/r; of two wheels that of their envelopes."""
        # frames of a beat do not tell the level; the fit of the envelopes does
        return self.level.slope if self.wheels is None else self.wheels.fading

    @property
    def least(self) -> float:
        """How closely the level must follow 1/r; a pitch that speaks for itself asks for less."""
        least = LEAST_CORRELATION[self.model.method]
        if self.fast:
            # voices and engines slide further than riders
            least = EXACT_CORRELATION if self.exact else FAST_CORRELATION
        elif not self.coherent and self.close and self.plain:
            least = CLOSE_CORRELATION
        return least if self.level.range_db >= TELLING_RANGE_DB else max(least, LITTLE_CORRELATION)

    @property
    def telling(self) -> bool:
        """Whether rise and fall of the level speak for a passing source by themselves."""
        return (
            self.level.range_db >= TELLING_RANGE_DB
            and self.level.correlation >= TELLING_CORRELATION
            and TELLING_SLOPE[0] <= self.slope <= TELLING_SLOPE[1]
        )

    @property
    def sure(self) -> bool:
        """Whether pitch and level both keep to what a passing makes of them."""
        evident = (
            self.level.correlation >= EVIDENT_CORRELATION
            and self.level.range_db >= EVIDENT_RANGE_DB
            and self.share < EVIDENT_SHARE
        )
        slow = self.model.passby.speed_mps < FASTEST_SURE_MPS
        return self.telling and (evident or self.close) and slow


# returns what speaks against a passing, or nothing
Rule = Callable[[Seen], str]


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
    seen = Seen(model, track, faintest_db, pulsed, wheels, told)
    if track.times_s.size < LEAST_FRAMES:
        return Shape(_broken(RULES_IN_FEW_FRAMES, seen), math.nan, math.nan)
    rules = RULES if told else RULES_IF_UNTOLD
    return Shape(_broken(rules, seen), seen.slope, seen.share)


def _broken(rules: tuple[Rule, ...], seen: Seen) -> tuple[str, ...]:
    faults = (rule(seen) for rule in rules)
    return tuple(dict.fromkeys(fault for fault in faults if fault))


def _too_brief(seen: Seen) -> str:
    """Refuse what cannot be followed frame by frame, nor judged by its phase over the curve."""
    if not (seen.coherent or seen.kept) or seen.track.times_s.size < 2:
        return BRIEF
    if seen.told or not seen.pulsed:
        return ""
    # pulses, each begun anew, have no phase over the whole curve
    level = seen.at_best
    even = level.range_db >= LEAST_LEVEL_RANGE_DB and level.slope < LEAST_LEVEL_SLOPE["coherent"]
    return ELSEWHERE if even else ""


def _beyond(seen: Seen) -> str:
    speed = seen.model.passby.speed_mps
    if not speed > FASTEST_MPS[seen.model.method]:
        return ""
    return f"the pitch falls further than any passing could make it (it would need {speed:.0f} m/s)"


def _too_fast(seen: Seen) -> str:
    return "" if seen.sure else _beyond(seen)


def _out_of_reach(seen: Seen) -> str:
    p = seen.model.passby
    far = p.closest_m + seen.model.u(2) > NEAREST_M
    if seen.fast:
        far = p.closest_m > NEAREST_FAST_M
    if far and p.closest_m <= FARTHEST_M:
        return ""
    return f"the fall is not that of a passing at a possible distance ({p.closest_m:.3g} m)"


def _unsure(seen: Seen) -> str:
    model = seen.model
    return UNSURE if model.passby.speed_mps < LEAST_SPEED_IN_U * model.u(1) else ""


def _unfollowed(seen: Seen) -> str:
    lost = not seen.coherent and seen.followed < LEAST_HEARD_SHARE
    jumps = seen.pulsed and seen.share > PULSED_SHARE
    return COMES_AND_GOES if lost or jumps else ""


def _loudest_elsewhere(seen: Seen) -> str:
    """Hold the level against distance; of two wheels, what the fit of their envelopes says."""
    least_slope = LEAST_LEVEL_SLOPE[seen.model.method]
    if seen.wheels is not None:
        least_told = LEAST_FADING_KEPT if seen.kept else LEAST_FADING_TOLD
        unheard = seen.wheels.fading_told < least_told or seen.slope < least_slope
        return ELSEWHERE if unheard else ""
    if seen.level.range_db < LEAST_LEVEL_RANGE_DB:
        return "" if seen.coherent else ONLY_NEAR
    if seen.slope < least_slope or seen.level.correlation < seen.least:
        return ELSEWHERE
    return TOO_STEEP if seen.slope > MOST_LEVEL_SLOPE else ""


def _in_gaps(seen: Seen) -> str:
    """Refuse what is followed too rarely for how its level follows the passing."""
    if seen.wheels is not None or (seen.told and seen.coherent):
        return ""
    # where nobody says what it is, a rider's level counts at the best fit itself
    near = seen.level.correlation
    if not (seen.told or seen.fast):
        near = min(near, seen.at_best.correlation)
    if seen.coherent:
        gaps = seen.followed < FAINT_SHARE and near < FAINT_CORRELATION
    else:
        patchy = LEAST_HEARD_SHARE <= seen.followed < PATCHY_SHARE
        gaps = patchy and near < PATCHY_CORRELATION
    return COMES_AND_GOES if gaps else ""


def _in_few_frames(seen: Seen) -> str:
    few = not (seen.coherent or seen.pulsed) and seen.track.times_s.size < FEW_FRAMES
    # in so few hard ground may upset the level of what is known to be a tone
    tone = seen.told and not seen.model.passby.speed_tied
    exact = tone and seen.keeps_exactly
    return BRIEF if few and not exact and seen.level.correlation < FEW_CORRELATION else ""


def _untold_level(seen: Seen) -> str:
    if seen.fast:
        return ELSEWHERE if seen.at_best.slope < LEAST_FAST_SLOPE else ""
    if not seen.model.passby.speed_tied or seen.wheels is not None:
        return ""
    asked = min(seen.least, TIED_CORRELATION)
    return ELSEWHERE if seen.at_best.correlation < asked else ""


def _at_standstill(seen: Seen) -> str:
    model = seen.model
    wide = model.u(1) > MOST_OPEN_FAST * model.passby.speed_mps
    return STANDSTILL if seen.fast and wide else ""


def _runs_down(seen: Seen) -> str:
    p = seen.model.passby
    if not p.speed_tied:
        return ""
    first, last = p.velocity(p.emission_time(seen.track.times_s[[0, -1]]))
    passing = 2.0 * p.speed_mps / p.sound_speed_mps
    return RUNS_DOWN if abs(last - first) > MOST_OWN_CHANGE * passing * p.speed_mps else ""


def _pitch_open(seen: Seen) -> str:
    """Refuse what falls by itself so evenly that any moment may be the passing."""
    p = seen.model.passby
    open_ = p.speed_tied and seen.model.u(0) > MOST_OPEN_PITCH * p.source_hz
    return UNDATED if open_ else ""


def _beats(seen: Seen) -> str:
    doubtful = (
        seen.level.correlation < UNTOLD_CORRELATION
        or seen.track.times_s.size < UNTOLD_FRAMES
        or seen.model.passby.speed_mps > UNTOLD_MPS
    )
    return BEATS if seen.wheels is not None and doubtful else ""


def _one_sided(seen: Seen) -> str:
    both = seen.on_both_sides(BOTH_SIDES_CROSSINGS)
    return ONE_SIDED if seen.fast and not both else ""


def _strays(seen: Seen) -> str:
    p, wheels = seen.model.passby, seen.wheels
    other = 0.0
    if wheels is not None:
        # frames show now one wheel's pitch, now the other's, and both a speed that wavers
        other = math.hypot(0.5 * wheels.ratio, wheels.waver) * p.sound_speed_mps / p.speed_mps
    if seen.telling or seen.share <= math.hypot(MOST_RESIDUAL_SHARE, other):
        return ""
    clear = float(np.median(seen.track.u_hz)) < CLEAR_SHARE * half_shift(p)
    lasting = lasting_share(seen.model, seen.track) > math.hypot(MOST_LASTING_SHARE, other)
    return STRAYS if lasting and (clear or not seen.coherent) else ""


def _undated(seen: Seen) -> str:
    p, most = seen.model.passby, MOST_UNDATED_CROSSINGS[seen.model.method]
    return UNDATED if seen.model.u(3) * p.speed_mps > most * p.closest_m else ""


# in the order in which they are named
OF_THE_FIT: tuple[Rule, ...] = (_out_of_reach, _unsure)
RULES_IN_FEW_FRAMES: tuple[Rule, ...] = (_beyond, *OF_THE_FIT, _too_brief, _undated)
FIRST: tuple[Rule, ...] = (
    _too_fast,
    *OF_THE_FIT,
    _unfollowed,
    _loudest_elsewhere,
    _in_gaps,
    _in_few_frames,
)
IF_UNTOLD: tuple[Rule, ...] = (
    _untold_level,
    _at_standstill,
    _runs_down,
    _pitch_open,
    _beats,
)
LAST: tuple[Rule, ...] = (_one_sided, _strays, _undated)
RULES, RULES_IF_UNTOLD = (*FIRST, *LAST), (*FIRST, *IF_UNTOLD, *LAST)
