"""What a report is made of, before it becomes a web page or a PDF: plain frozen blocks.

Text in blocks is plain text from anywhere; whoever writes the page escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from wayside.hand.steps import Step
from wayside.report.figures.canvas import Figure

PLAIN, QUIET, NOTE, VERDICT, CAUTION = "plain", "quiet", "note", "verdict", "caution"
HAND, SOUND = "hand", "sound"

BLANK = "\0blank"
"""A cell of a table that a student fills in."""


@dataclass(frozen=True)
class Para:
    """A paragraph.

    Parameters
    ----------
    text : str
    kind : str
        ``"plain"``, ``"quiet"``, ``"note"``, ``"verdict"`` or ``"caution"``.
    tone : str
        For a verdict: ``"agree"``, ``"disagree"``, ``"borderline"`` or ``"untested"``.
    """

    text: str
    kind: str = PLAIN
    tone: str = ""


@dataclass(frozen=True)
class Subhead:
    """A heading within a section."""

    text: str


@dataclass(frozen=True)
class Items:
    """A list of sentences."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Table:
    """A table with a heading row and a heading column.

    Parameters
    ----------
    caption : str
    head : tuple of str
    rows : tuple of tuple of str
        The first cell of each names the row; `BLANK` leaves one to be filled in.
    speakers : tuple of str
        For each column ``"hand"``, ``"sound"`` or ``""``: who says what stands in it.
    worded : frozenset of int
        Columns of words, set to the left; numbers stand to the right.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    speakers: tuple[str, ...] = ()
    worded: frozenset[int] = frozenset()

    def speaker(self, column: int) -> str:
        """Return who says what stands in a column."""
        return self.speakers[column] if column < len(self.speakers) else ""


@dataclass(frozen=True)
class Worked:
    """One step of the worked solution.

    Parameters
    ----------
    step : Step
    number : int
        0 for steps that only prepare (conversions, means).
    open : bool
        True leaves everything after the formula to be filled in.
    """

    step: Step
    number: int = 0
    open: bool = False


@dataclass(frozen=True)
class Formula:
    """A formula by itself.

    Parameters
    ----------
    latex, plain : str
    """

    latex: str
    plain: str


@dataclass(frozen=True)
class Shown:
    """A figure with its caption."""

    figure: Figure


@dataclass(frozen=True)
class FillIn:
    """Something to be written by hand.

    Parameters
    ----------
    label : str
        What is asked for.
    lines : int
        Ruled lines to write on; 0 puts one short line behind the label.
    """

    label: str
    lines: int = 0


@dataclass(frozen=True)
class Verbatim:
    """Text to be copied as it stands."""

    text: str


Block: TypeAlias = Para | Subhead | Items | Table | Worked | Formula | Shown | FillIn | Verbatim


@dataclass(frozen=True)
class Section:
    """One part of the report.

    Parameters
    ----------
    key : str
        Name for links within the page.
    title : str
    blocks : tuple of Block
    new_page : bool
        True starts it on a page of its own.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True)
class Report:
    """A whole report.

    Parameters
    ----------
    title : str
    about : tuple of str
        Short lines below the title.
    fill_in : tuple of str
        What is left to be filled in at the top (name, group, date).
    sections : tuple of Section
    answers_from : str
        Key of the first section that only the teacher should see; empty if there is none.
    """

    title: str
    about: tuple[str, ...]
    fill_in: tuple[str, ...]
    sections: tuple[Section, ...]
    answers_from: str = ""
