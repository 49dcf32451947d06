"""``wayside crossings FILM``: when something crosses marker lines, and the speed from that."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from wayside.errors import InputError

if TYPE_CHECKING:
    from wayside.film.crossing import Crossing
    from wayside.film.film import Film
    from wayside.film.geometry import Line
    from wayside.film.proposals import ProposalList
    from wayside.film.retime import Retiming
    from wayside.film.segments import SpeedResult
    from wayside.quantity import Quantity

NOTHING_PROPOSED = 3


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.description = (
        "Propose when something crosses marker lines in the picture, or take the frames you have "
        "chosen by eye. With the places of the markers, the speed follows. Draw each line only "
        "over the height at which the chosen point of the vehicle passes, for example just above "
        "the ground for the front of the tyre."
    )
    add = parser.add_argument
    add("film", metavar="FILM", help="an MP4, MOV or other film")
    add("--line", action="append", default=[], metavar="X1,Y1,X2,Y2",
        help="a marker line in pixels of the picture as shown, from its top left corner; "
        "give one for each marker")  # fmt: skip
    add("--pair", action="append", default=[], metavar="BEFORE,AFTER",
        help="a crossing confirmed by eye: the last frame before it and the first after it; "
        "give one for each marker")  # fmt: skip
    add("--positions", metavar="A,B,…",
        help="places of the markers along the track, in order, for example 0,3m or 0,10ft "
        "(default unit: metres)")  # fmt: skip
    add("--position-u", default="1cm", metavar="U",
        help="standard uncertainty of each place but the first (default 1cm)")  # fmt: skip
    add("--true-rate", type=float, metavar="R",
        help="frames a second while filming, for a slow-motion clip")  # fmt: skip
    add("--from", dest="start", type=float, metavar="S", help="search from this time (s)")
    add("--to", dest="stop", type=float, metavar="S", help="search to this time (s)")
    add("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Print the crossings and return the exit code."""
    from wayside.film.film import open_film
    from wayside.film.geometry import Line
    from wayside.film.retime import AS_FILMED, retiming

    if bool(args.line) == bool(args.pair):
        raise InputError(
            "Give --line for each marker to have crossings proposed, or --pair for each crossing "
            "you have found by eye."
        )
    lines = [Line.parse(text) for text in args.line]
    pairs = [_pair(text) for text in args.pair]
    places = _places(args.positions, args.position_u, len(lines) or len(pairs))
    with open_film(args.film) as film:
        clock = retiming(film.times, args.true_rate) if args.true_rate is not None else AS_FILMED
        found = _proposed(film, lines, args.start, args.stop)
        crossings = _crossings(film, found, pairs)
        complete = len(crossings) == len(places)
        speed = _speed(crossings, places, clock) if places and complete else None
        _print(args.json, film, list(zip(lines, found, strict=True)), crossings, clock, speed)
    return 0 if crossings else NOTHING_PROPOSED


def _pair(text: str) -> tuple[int, int]:
    try:
        before, after = (int(part) for part in text.replace("-", ",").split(","))
    except ValueError:
        raise InputError(
            f"“{text}” is not a pair of frames; give two whole numbers, for example 61,62."
        ) from None
    return before, after


def _places(text: str | None, u_text: str, n: int) -> list[Quantity]:
    from wayside.quantity import Quantity

    if text is None:
        return []
    places = [_length(part, "--positions") for part in text.split(",")]
    if len(places) != n:
        raise InputError(
            f"--positions gives {len(places)} places for {n} markers; give one for each."
        )
    u = _length(u_text, "--position-u")
    if u < 0:
        raise InputError("--position-u must be 0 or more.")
    return [Quantity(place, u if k else 0.0, "m") for k, place in enumerate(places)]


def _length(text: str, option: str) -> float:
    import math

    from wayside.hand.units import Dimension, find_unit, units_of

    match = re.fullmatch(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*(\D*?)\s*", text)
    unit = find_unit(Dimension.LENGTH, match[2] or "m") if match else None
    try:
        value = unit.to_si(float(match[1])) if unit and match else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        known = ", ".join(u.symbol for u in units_of(Dimension.LENGTH))
        raise InputError(f"{option}: “{text}” is no length; give a number and one of {known}.")
    return value


def _proposed(
    film: Film, lines: list[Line], start: float | None, stop: float | None
) -> list[ProposalList]:
    from wayside.film.proposals import propose_crossings

    if not lines:
        return []
    span = film.times.span(start, stop) if start is not None or stop is not None else None
    return propose_crossings(film, lines, span=span)


def _crossings(
    film: Film, found: list[ProposalList], pairs: list[tuple[int, int]]
) -> list[Crossing]:
    from wayside.film.crossing import crossing_between

    if pairs:
        return [crossing_between(film.times, before, after) for before, after in pairs]
    return [f.best.crossing for f in found if f.best is not None]


def _speed(crossings: list[Crossing], places: list[Quantity], clock: Retiming) -> SpeedResult:
    from wayside.film.segments import speeds
    from wayside.quantity import Quantity

    # The clock's own uncertainty is shared by all times, so it enters once, with the speed.
    times = [Quantity(c.time.value / clock.factor, c.time.u / clock.factor, "s") for c in crossings]
    return speeds(times, places, scale_relative_u=clock.relative_u)


def _print(
    as_json: bool,
    film: Film,
    lines: list[tuple[Line, ProposalList]],
    crossings: list[Crossing],
    clock: Retiming,
    speed: SpeedResult | None,
) -> None:
    import json

    from wayside.film.film_json import crossings_as_json
    from wayside.film.film_text import (
        crossings_as_text,
        film_as_text,
        proposals_as_text,
        speed_as_text,
    )

    confirmed = not lines
    if as_json:
        value = crossings_as_json(film.info, lines, crossings, confirmed, clock, speed)
        print(json.dumps(value, indent=2, ensure_ascii=False))
        return
    text = [*film_as_text(film.info), ""]
    text += crossings_as_text(crossings) if confirmed else proposals_as_text(lines)
    if speed is not None:
        text += speed_as_text(speed, clock, confirmed)
    print("\n".join(text))
