"""What a kind of source is: its fields, its formulas both ways, and its worked steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from wayside.hand.fields import Section
from wayside.hand.propagate import Number
from wayside.hand.steps import Step, Symbol

Values = Mapping[str, Number]
"""SI numbers by dotted path: floats, arrays, or numbers that carry uncertainty."""

SOURCE, OBSERVER, BOTH, CIRCLE = "source", "observer", "both", "circle"


@dataclass(frozen=True)
class Given:
    """What a source kind works from.

    Parameters
    ----------
    x : mapping
        Every input in SI by dotted path.
    way : str
        Key of the way in which the source section was filled in.
    speed : number
        Speed from the motion section (m/s); 0 for kinds without one.
    sound : number
        Speed of sound in still air (m/s).
    forward, backward : number
        Ground speed of sound with and against the direction of travel (m/s).
    """

    x: Values
    way: str
    speed: Number
    sound: Number
    forward: Number
    backward: Number


@dataclass(frozen=True)
class Outcome:
    """What follows from it; every field a number of the same type as the inputs.

    Parameters
    ----------
    speed, source, sound, approach, recede : number
        Speed of whatever moves (m/s), source pitch (Hz), speed of sound (m/s), far pitches
        (Hz).
    cycles_per_metre : number or None
        Pattern elements per metre of track (1/m), for sources whose pitch follows the speed.
    """

    speed: Number
    source: Number
    sound: Number
    approach: Number
    recede: Number
    cycles_per_metre: Number = None


@dataclass(frozen=True)
class Work:
    """Everything the worked steps may quote: the givens, the outcome and the letters."""

    given: Given
    outcome: Outcome
    symbols: Mapping[str, Symbol]

    def pick(self, *names: str) -> dict[str, Symbol]:
        """Return some of the symbols by name."""
        return {name: self.symbols[name] for name in names}


@dataclass(frozen=True)
class Implied:
    """An input as it would follow from a measured speed and source pitch.

    Parameters
    ----------
    path : str
        The input's dotted path.
    sentence : str
        English with ``{}`` for the value, e.g. ``"your wheel's loaded radius is then {}"``.
    value : number
        In SI.
    """

    path: str
    sentence: str
    value: Number


def _nothing_wrong(x: Values, way: str) -> dict[str, str]:
    return {}


def _nothing_implied(x: Values, way: str, speed: Number, source: Number) -> Sequence[Implied]:
    return ()


@dataclass(frozen=True)
class SourceKind:
    """One kind of source.

    Parameters
    ----------
    key, label : str
        Name in set-up files and on screen.
    section : Section
        Its fields.
    mover : str
        Who moves: ``"source"``, ``"observer"``, ``"both"`` or ``"circle"``.
    measure_as : str
        The source model for measuring a recording: ``"tone"``, ``"wheel"``, ``"unknown"``.
    solve : callable
        ``solve(given) -> Outcome``.
    source_steps, limit_steps : callable
        ``steps(work) -> steps`` for the source pitch, and for the pitches heard.
    back_solve : callable or None
        ``back_solve(approach, recede, given) -> (speed, source)``; None when a straight
        pass-by cannot be compared with this kind.
    check : callable
        ``check(x, way) -> {path: sentence}``: what fields cannot see alone.
    implied : callable
        ``implied(x, way, speed, source) -> [Implied, ...]``.
    """

    key: str
    label: str
    section: Section
    mover: str
    measure_as: str
    solve: Callable[[Given], Outcome]
    source_steps: Callable[[Work], Sequence[Step]]
    limit_steps: Callable[[Work], Sequence[Step]]
    back_solve: Callable[[Number, Number, Given], tuple[Number, Number]] | None
    check: Callable[[Values, str], dict[str, str]] = field(default=_nothing_wrong)
    implied: Callable[[Values, str, Number, Number], Sequence[Implied]] = field(
        default=_nothing_implied
    )

    @property
    def uses_motion(self) -> bool:
        """Whether the speed comes from the motion section."""
        return self.mover != CIRCLE
