"""The prediction: results with uncertainty, worked steps, budget, and what the choices do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wayside.hand.board import preparation_steps, worked_steps
from wayside.hand.budget import BudgetLine, budget_of, dof_of
from wayside.hand.inputs import Input, assumptions
from wayside.hand.model import air_speed, apply_tools, evaluate, linear_values, passing_time
from wayside.hand.propagate import Number, as_quantity, cents, correlation, value_of
from wayside.hand.setup import Setup
from wayside.hand.sources.kind import Given, Outcome
from wayside.hand.steps import Step
from wayside.physics.air import AIR_FORMULAS, HUMID_AIR
from wayside.quantity import Quantity


@dataclass(frozen=True)
class FormulaEffect:
    """What another formula for the speed of sound would give, from the same temperature."""

    formula: str
    sound_speed_mps: float
    approach_hz: float
    recede_hz: float


@dataclass(frozen=True)
class Prediction:
    """What to expect from the hand measurements.

    Parameters
    ----------
    setup : Setup
        What it was worked out from.
    speed_mps, source_hz, sound_speed_mps, approach_hz, recede_hz : Quantity
        The results; pitches are the far limits.
    shift_up_hz, shift_down_hz : Quantity
        Approach minus source, and source minus recede (both positive).
    drop_cents : Quantity
        From approach to recede, in cents (1200 to the octave).
    cycles_per_metre, closest_m, passing_time_s : Quantity or None
        Where the set-up gives them.
    conversions, steps : tuple of Step
        The worked solution; conversions include the means of repeats.
    budget : mapping of str to tuple of BudgetLine
        By result name, e.g. ``"approach_hz"``.
    dof : mapping of str to float
        Effective degrees of freedom of each result; inf unless repeats limit it.
    correlation : mapping of (str, str) to float
        Correlation coefficients between the results.
    formulas : tuple of FormulaEffect
        One for each formula for the speed of sound, the chosen one included.
    notes : tuple of str
        What was assumed and what to mind, one sentence each.
    """

    setup: Setup
    speed_mps: Quantity
    source_hz: Quantity
    sound_speed_mps: Quantity
    approach_hz: Quantity
    recede_hz: Quantity
    shift_up_hz: Quantity
    shift_down_hz: Quantity
    drop_cents: Quantity
    cycles_per_metre: Quantity | None
    closest_m: Quantity | None
    passing_time_s: Quantity | None
    conversions: tuple[Step, ...]
    steps: tuple[Step, ...]
    budget: Mapping[str, tuple[BudgetLine, ...]]
    dof: Mapping[str, float]
    correlation: Mapping[tuple[str, str], float]
    formulas: tuple[FormulaEffect, ...]
    notes: tuple[str, ...]


RESULTS: dict[str, tuple[str, str]] = {
    "speed_mps": ("speed", "m/s"),
    "source_hz": ("source pitch", "Hz"),
    "sound_speed_mps": ("speed of sound", "m/s"),
    "approach_hz": ("approach pitch", "Hz"),
    "recede_hz": ("recede pitch", "Hz"),
    "shift_up_hz": ("shift upward", "Hz"),
    "shift_down_hz": ("shift downward", "Hz"),
    "drop_cents": ("drop from approach to recede", "cents"),
    "cycles_per_metre": ("pattern elements per metre", "/m"),
    "closest_m": ("closest distance", "m"),
    "passing_time_s": ("passing time", "s"),
}
"""Name for people and unit of every result."""


def predict(setup: Setup) -> Prediction:
    """Work out the prediction from a set-up, with linear uncertainty propagation."""
    inputs = setup.inputs
    values = linear_values(inputs)
    given, outcome = evaluate(setup, values, inputs)
    results = results_of(setup, given, outcome)
    quantities = {name: as_quantity(x, RESULTS[name][1]) for name, x in results.items()}
    names = list(results)
    budget = {name: budget_of(x, inputs) for name, x in results.items()}
    matrix = correlation(list(results.values()))
    return Prediction(
        setup=setup,
        **{name: quantities.get(name) for name in RESULTS},  # type: ignore[arg-type]
        conversions=preparation_steps(inputs),
        steps=worked_steps(setup, inputs, given, outcome),
        budget=budget,
        dof={name: dof_of(lines) for name, lines in budget.items()},
        correlation={
            (a, b): float(matrix[i, j])
            for i, a in enumerate(names)
            for j, b in enumerate(names)
            if i < j
        },
        formulas=formula_effects(setup, inputs),
        notes=_notes(setup),
    )


def results_of(setup: Setup, given: Given, outcome: Outcome) -> dict[str, Number]:
    """Return every result by name, as numbers of the same type as the inputs."""
    ratio = outcome.approach / outcome.recede
    results = {
        "speed_mps": outcome.speed,
        "source_hz": outcome.source,
        "sound_speed_mps": outcome.sound,
        "approach_hz": outcome.approach,
        "recede_hz": outcome.recede,
        "shift_up_hz": outcome.approach - outcome.source,
        "shift_down_hz": outcome.source - outcome.recede,
        "drop_cents": cents(ratio),
    }
    optional = {
        "cycles_per_metre": outcome.cycles_per_metre,
        "closest_m": given.x.get("microphone.distance"),
        "passing_time_s": passing_time(setup, given.x, outcome.speed),
    }
    return results | {name: x for name, x in optional.items() if x is not None}


def formula_effects(setup: Setup, inputs: tuple[Input, ...]) -> tuple[FormulaEffect, ...]:
    """Return what each formula for the speed of sound gives."""
    plain = {i.path: i.value for i in inputs}
    effects = []
    for formula in AIR_FORMULAS:
        sound = value_of(air_speed(setup, apply_tools(plain, inputs), formula))
        _, outcome = evaluate(setup, plain, inputs, sound)
        effects.append(FormulaEffect(formula, sound, outcome.approach, outcome.recede))
    return tuple(effects)


def _notes(setup: Setup) -> tuple[str, ...]:
    notes = list(assumptions(setup))
    if setup.kind.uses_motion and setup.way("motion") == "frames":
        notes.append(
            "Phones vary their frame rate while filming: frame times from the film itself are "
            "better than a frame count divided by a rate."
        )
    if setup.formula != HUMID_AIR and "air.humidity" in setup.entries:
        notes.append("The chosen formula for the speed of sound does not use the humidity.")
    temp_c = next(i.value for i in setup.inputs if i.path == "air.temperature")
    if not 0.0 <= temp_c <= 30.0:
        notes.append(
            "The humid-air formula is stated for 0 to 30 °C; outside, its uncertainty is widened."
        )
    return tuple(notes)
