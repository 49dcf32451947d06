"""From the inputs to the outcome: one function for values, budgets and Monte Carlo alike."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from wayside.hand.inputs import Input
from wayside.hand.propagate import Number, traced, u_of, uncertain, value_of
from wayside.hand.sources.kind import OBSERVER, SOURCE, Given, Outcome, Values
from wayside.physics.air import sound_speed
from wayside.physics.limits import speeds_along_track

if TYPE_CHECKING:
    from wayside.hand.setup import Draft


def linear_values(inputs: tuple[Input, ...]) -> dict[str, Number]:
    """Return every input as a number that carries its uncertainty under its path."""
    return {i.path: uncertain(i.value, i.u, i.path) for i in inputs}


def apply_tools(values: Values, inputs: tuple[Input, ...]) -> dict[str, Number]:
    """Return the values with the scale error of shared instruments put in.

    A reading x taken with an instrument of relative scale error eps stands for x (1 + eps);
    two readings with the same instrument so share one eps.
    """
    out = dict(values)
    for i in inputs:
        if i.tool:
            out[i.path] = values[i.path] * (1.0 + values[f"tools.{i.tool}"])
    return out


def motion_speed(x: Values, way: str) -> Number:
    """Return the speed (m/s) from crossing times, frames, or as given."""
    if way == "times":
        return x["motion.marker_distance"] / (x["motion.second_time"] - x["motion.first_time"])
    if way == "frames":
        frames = x["motion.second_frame"] - x["motion.first_frame"]
        return x["motion.marker_distance"] * x["motion.frame_rate"] / frames
    return x["motion.speed"]


def air_speed(draft: Draft, x: Values, formula: str = "") -> Number:
    """Return the speed of sound (m/s) by the set-up's formula, or by another one."""
    c = sound_speed(
        formula or draft.formula,
        x["air.temperature"],
        x["air.humidity"],
        x["air.pressure"],
        x["air.co2"],
    )
    return traced(c + x["air.formula_error"])


def given_of(draft: Draft, x: Values, sound: Number = None) -> Given:
    """Return what the source kind works from; `sound` overrides the set-up's formula."""
    c = air_speed(draft, x) if sound is None else sound
    speed = traced(motion_speed(x, draft.way("motion"))) if draft.kind.uses_motion else 0.0
    forward, backward = speeds_along_track(c, x["air.wind_along"], x["air.wind_across"])
    return Given(x, draft.way("source"), speed, c, forward, backward)


def evaluate(
    draft: Draft, values: Values, inputs: tuple[Input, ...], sound: Number = None
) -> tuple[Given, Outcome]:
    """Work out the outcome from SI values of any numeric type."""
    given = given_of(draft, apply_tools(values, inputs), sound)
    return given, draft.kind.solve(given)


def passing_time(draft: Draft, x: Values, speed: Number) -> Number:
    """Return when the source passes the microphone on the film's clock (s), or None."""
    if "microphone.position" not in x or draft.kind.mover not in (SOURCE, OBSERVER):
        return None
    way = draft.way("motion")
    if way == "times":
        start = x["motion.first_time"]
    elif way == "frames":
        start = x["motion.first_frame"] / x["motion.frame_rate"]
    else:
        return None
    return start + x["microphone.position"] / speed


def check_physics(draft: Draft, inputs: tuple[Input, ...]) -> dict[str, str]:
    """Return what is wrong with inputs that are fine one by one: ``{path: sentence}``."""
    plain = apply_tools({i.path: i.value for i in inputs}, inputs)
    problems = _check_order(draft, plain) or draft.kind.check(plain, draft.way("source"))
    if problems:
        return problems
    try:
        _, outcome = evaluate(draft, linear_values(inputs), inputs)
    except ZeroDivisionError:
        return {_speed_path(draft): "The speed comes out as that of sound; check the numbers."}
    return _check_speed(draft, outcome)


def _check_order(draft: Draft, x: Mapping[str, float]) -> dict[str, str]:
    way = draft.way("motion") if draft.kind.uses_motion else ""
    if way == "times" and x["motion.second_time"] <= x["motion.first_time"]:
        return {
            "motion.second_time": "motion.second_time is not later than motion.first_time; "
            "swap the two or read them again."
        }
    if way == "frames" and x["motion.second_frame"] <= x["motion.first_frame"]:
        return {
            "motion.second_frame": "motion.second_frame is not later than motion.first_frame; "
            "swap the two or read them again."
        }
    return {}


def _speed_path(draft: Draft) -> str:
    if not draft.kind.uses_motion:
        return "source"
    return "motion.speed" if draft.way("motion") == "speed" else "motion.marker_distance"


def _check_speed(draft: Draft, outcome: Outcome) -> dict[str, str]:
    speed, u = value_of(outcome.speed), u_of(outcome.speed)
    sound = value_of(outcome.sound)
    path = _speed_path(draft)
    if speed >= sound:
        return {
            path: f"The speed comes out as {speed:.4g} m/s, faster than sound "
            f"({sound:.4g} m/s); check distance, times and units."
        }
    if speed + 3.0 * u >= sound or u >= 0.5 * speed:
        return {
            path: f"The speed comes out as {speed:.3g} ± {u:.2g} m/s, too uncertain to predict "
            "anything; measure distance and times better or check their units."
        }
    if value_of(outcome.approach) <= value_of(outcome.recede):
        return {
            "source.observer_speed": "Source and observer move the same way at speeds that "
            "never bring them past each other; check source.observer_speed."
        }
    if not value_of(outcome.recede) > 0:
        return {path: "The observer outruns the sound; check the speeds and the wind."}
    return {}
