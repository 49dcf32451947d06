"""The worked solution as a teacher writes it on the board, step by step."""

from __future__ import annotations

import math
from statistics import stdev
from typing import TYPE_CHECKING

from wayside.hand import digits
from wayside.hand.inputs import Input
from wayside.hand.propagate import Number, as_quantity
from wayside.hand.sources.kind import CIRCLE, OBSERVER, Given, Outcome, Work
from wayside.hand.steps import Step, Symbol, take_over, work_out
from wayside.physics.air import AIR_FORMULAS, HUMID_AIR, IDEAL_GAS, water_mole_fraction
from wayside.quantity import Quantity

if TYPE_CHECKING:
    from wayside.hand.setup import Setup


def preparation_steps(inputs: tuple[Input, ...]) -> tuple[Step, ...]:
    """Return the steps before the formulas: means of repeats, and unit conversions."""
    steps = [_mean(i) for i in inputs if len(i.readings) > 1]
    steps += [_conversion(i) for i in inputs if i.unit.rule and not i.assumed]
    return tuple(steps)


def worked_steps(
    setup: Setup, inputs: tuple[Input, ...], given: Given, outcome: Outcome
) -> tuple[Step, ...]:
    """Return the steps from converted inputs to the pitches heard."""
    work = Work(given, outcome, _symbols(setup, inputs, given, outcome))
    steps = [*_motion_steps(setup, work)] if setup.kind.uses_motion else []
    steps += setup.kind.source_steps(work)
    steps += _air_steps(setup, inputs, work)
    steps += setup.kind.limit_steps(work)
    steps += _shift_steps(setup, work)
    return tuple(steps)


def _conversion(i: Input) -> Step:
    from_unit = Quantity(i.unit.from_si(i.value), i.unit.u_from_si(i.u), i.unit.symbol)
    to_unit = Quantity(i.value, i.u, i.field.si_symbol)
    number = digits.number_text(from_unit)
    shown = f"({number})" if number.startswith(digits.MINUS) else number
    numbers = i.unit.rule.replace("#", shown)
    latex = numbers.replace("×", r"\times").replace(digits.MINUS, "-").replace("−", "-")
    return Step(
        f"Convert the {i.label}",
        f"{i.field.symbol} = {digits.full_text(from_unit)}",
        f"{i.field.symbol} = {numbers} {to_unit.unit}".rstrip(),
        f"{i.field.symbol} = {digits.full_text(to_unit)}",
        f"{i.field.latex} = {digits.full_latex(from_unit)}",
        f"{i.field.latex} = {latex}{digits.unit_latex(to_unit.unit)}",
        f"{i.field.latex} = {digits.full_latex(to_unit)}",
        to_unit,
    )


def _mean(i: Input) -> Step:
    n = len(i.readings)
    own = Quantity(i.unit.from_si(i.value), i.unit.u_from_si(i.u), i.unit.symbol)
    scatter = Quantity(stdev(i.readings), stdev(i.readings) / 10, i.unit.symbol)
    parts = [f"{r:g}" for r in (i.readings if n <= 6 else i.readings[:4])]
    listed = " + ".join(parts + (["…", f"{i.readings[-1]:g}"] if n > 6 else []))
    letter, latex = i.field.symbol, i.field.latex
    return Step(
        f"Mean of the repeats of the {i.label}",
        f"{letter} = (x₁ + … + x_n) / n, u = s / √n, s = {digits.with_unit(scatter)}",
        f"{letter} = ({listed}) / {n} {own.unit}".rstrip(),
        f"{letter} = {digits.full_text(own)}",
        rf"{latex} = \frac{{1}}{{n}}\sum x_i,\quad u = \frac{{s}}{{\sqrt{{n}}}}",
        rf"{latex} = \frac{{{listed.replace('…', chr(92) + 'dots')}}}{{{n}}}"
        + digits.unit_latex(own.unit),
        f"{latex} = {digits.full_latex(own)}",
        own,
        "resolution and other limits are added to s/√n in quadrature"
        if len(i.components) > 1
        else "",
    )


def _symbols(
    setup: Setup, inputs: tuple[Input, ...], given: Given, outcome: Outcome
) -> dict[str, Symbol]:
    symbols = {
        i.field.key: Symbol(
            i.field.symbol, i.field.latex, as_quantity(given.x[i.path], i.field.si_symbol)
        )
        for i in inputs
        if not i.path.startswith("tools.")
    }

    def put(name: str, text: str, latex: str, x: Number, unit: str) -> None:
        symbols[name] = Symbol(text, latex, as_quantity(x, unit))

    put("v", "v", "v", outcome.speed, "m/s")
    put("c", "c", "c", outcome.sound, "m/s")
    put("f0", "f₀", "f_0", outcome.source, "Hz")
    put("fa", "f_a", r"f_\mathrm{a}", outcome.approach, "Hz")
    put("fr", "f_r", r"f_\mathrm{r}", outcome.recede, "Hz")
    if outcome.cycles_per_metre is not None:
        n = outcome.cycles_per_metre
        put("n", "n", "n", n, "/m")
        put("r", "r", "r", given.x["source.count"] / n / (2.0 * math.pi), "m")
    if "air.wind_along" in setup.entries:
        symbols["w"] = symbols["wind_along"]
    return symbols


def _motion_steps(setup: Setup, work: Work) -> list[Step]:
    s, way = work.symbols, setup.way("motion")
    if way == "times":
        return [
            work_out(
                "Speed",
                s["v"],
                "<marker_distance> / (<second_time> − <first_time>)",
                r"\frac{<marker_distance>}{<second_time> - <first_time>}",
                work.pick("marker_distance", "second_time", "first_time"),
            )
        ]
    if way == "frames":
        return [
            work_out(
                "Speed",
                s["v"],
                "<marker_distance> × <frame_rate> / (<second_frame> − <first_frame>)",
                r"\frac{<marker_distance> \times <frame_rate>}{<second_frame> - <first_frame>}",
                work.pick("marker_distance", "frame_rate", "second_frame", "first_frame"),
            )
        ]
    return [take_over("Speed, as given", s["v"])]


def _air_steps(setup: Setup, inputs: tuple[Input, ...], work: Work) -> list[Step]:
    s = work.symbols
    error = next(i for i in inputs if i.path == "air.formula_error")
    good_to = digits.u_text(Quantity(0.0, error.u, "m/s"))
    note = (
        f"{AIR_FORMULAS[setup.formula].source}; the formula itself has a standard uncertainty "
        f"of {good_to}"
    )
    if setup.formula == HUMID_AIR:
        x = work.given.x
        xw = water_mole_fraction(x["air.temperature"], x["air.humidity"], x["air.pressure"])
        water = Symbol("x_w", r"x_\mathrm{w}", as_quantity(100.0 * xw, "%"))
        names = ("temperature", "humidity", "pressure")
        return [
            work_out(
                "Water vapour in the air (share of the molecules)",
                water,
                "<humidity> × f × p_sv(<temperature>) / <pressure>",
                r"\frac{<humidity>\, f\, p_\mathrm{sv}(<temperature>)}{<pressure>}",
                work.pick(*names),
                "saturation pressure p_sv and enhancement factor f: Davis 1992",
            ),
            work_out(
                "Speed of sound",
                s["c"],
                "c(<temperature>, <xw>, <pressure>, <co2>)",
                r"c(<temperature>, <xw>, <pressure>, <co2>)",
                {**work.pick("temperature", "pressure", "co2"), "xw": water},
                note,
            ),
        ]
    text, latex = ("331 m/s + 0.6 m/s per °C × <temperature>", r"331 + 0.6 \times <temperature>")
    if setup.formula == IDEAL_GAS:
        text = "343.2 m/s × √((<temperature> + 273.15) / 293.15)"
        latex = r"343.2\,\sqrt{\frac{<temperature> + 273.15}{293.15}}"
    return [work_out("Speed of sound", s["c"], text, latex, work.pick("temperature"), note)]


def _shift_steps(setup: Setup, work: Work) -> list[Step]:
    up = work.outcome.approach - work.outcome.source
    down = work.outcome.source - work.outcome.recede
    note = (
        "in still air a moving observer hears equal shifts up and down"
        if setup.kind.mover == OBSERVER
        else "the two shifts are not equal: the source pitch is not half-way between"
    )
    if setup.kind.mover == CIRCLE:
        note += "; they come once each turn, not once each pass"
    return [
        work_out(
            "Shift upward",
            Symbol("Δf_a", r"\Delta f_\mathrm{a}", as_quantity(up, "Hz")),
            "<fa> − <f0>",
            "<fa> - <f0>",
            work.pick("fa", "f0"),
        ),
        work_out(
            "Shift downward",
            Symbol("Δf_r", r"\Delta f_\mathrm{r}", as_quantity(down, "Hz")),
            "<f0> − <fr>",
            "<f0> - <fr>",
            work.pick("f0", "fr"),
            note,
        ),
    ]
