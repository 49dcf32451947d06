"""Drawing on an SVG element: lines, words, boxes, curves; nothing is ever pasted as markup.

One unit is a quarter of a millimetre on paper. Colours follow the window: orange and dashed for
the hand, blue and solid for the sound, ink for everything else.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, tostring

from wayside.report.text import clean

UNITS_A_MM = 4.0
WIDTH = 680.0
"""Width of a figure: 170 mm, what A4 and Letter have room for."""

INK, QUIET, RULE, PAPER = "#1c2126", "#535b63", "#8b8577", "#ffffff"
HAND, SOUND = "#a64400", "#0a4fb5"
AGREE, DIFFER, UNSURE = "#0b6148", "#8f1046", "#4c5560"
DASH = "9 6"

_FAMILY = "DejaVu Sans, Verdana, Arial, sans-serif"
TEXT_SIZE = 13.0
LETTER = 0.6 * TEXT_SIZE
"""Width allowed for one letter (units)."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Figure:
    """A finished figure.

    Parameters
    ----------
    svg : Element
        The ``svg`` element.
    title : str
        What it shows, in a few words.
    description : str
        One or two sentences for people who do not see it.
    width, height : float
        Size (units).
    name : str
        File name without its ending.
    caption : str
        What to write below it where that is less than the description.
    """

    svg: Element
    title: str
    description: str
    width: float
    height: float
    name: str
    caption: str = ""

    @property
    def below(self) -> str:
        """The sentence below the figure."""
        return self.caption or self.description

    def as_file(self) -> bytes:
        """Return the figure as an SVG file that stands alone."""
        text: str = tostring(self.svg, "unicode")
        return f'<?xml version="1.0" encoding="utf-8"?>\n{text}\n'.encode()


class Canvas:
    """A sheet to draw on."""

    def __init__(self, name: str, height: float, width: float = WIDTH) -> None:
        self.name, self.width, self.height = name, width, height
        self._root = Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "xmlns:xlink": "http://www.w3.org/1999/xlink",
                "viewBox": f"0 0 {_n(width)} {_n(height)}",
                "width": f"{_n(width / UNITS_A_MM)}mm",
                "height": f"{_n(height / UNITS_A_MM)}mm",
                "role": "img",
                "aria-labelledby": f"{name}-title {name}-desc",
                "font-family": _FAMILY,
                "font-size": _n(TEXT_SIZE),
            },
        )
        self._title = SubElement(self._root, "title", {"id": f"{name}-title"})
        self._desc = SubElement(self._root, "desc", {"id": f"{name}-desc"})
        self.box(0, 0, width, height, PAPER)

    def done(self, title: str, description: str, caption: str = "") -> Figure:
        """Return the figure with its title and description."""
        self._title.text, self._desc.text = clean(title), clean(description)
        return Figure(self._root, title, description, self.width, self.height, self.name, caption)

    def line(
        self, a: Point, b: Point, colour: str = INK, width: float = 1.0, dash: str = ""
    ) -> None:
        """Draw a straight line."""
        ends = {"x1": _n(a[0]), "y1": _n(a[1]), "x2": _n(b[0]), "y2": _n(b[1])}
        SubElement(self._root, "line", {**ends, **_stroke(colour, width, dash)})

    def path(
        self, points: Iterable[Point], colour: str = INK, width: float = 1.0, dash: str = ""
    ) -> None:
        """Draw a curve through points."""
        joined = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        SubElement(
            self._root,
            "polyline",
            {"points": joined, "fill": "none", **_stroke(colour, width, dash)},
        )

    def area(self, points: Sequence[Point], colour: str, opacity: float) -> None:
        """Fill a closed shape."""
        joined = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        fill = {"fill": colour, "fill-opacity": _n(opacity)}
        SubElement(self._root, "polygon", {"points": joined, **fill})

    def box(
        self,
        left: float,
        top: float,
        width: float,
        height: float,
        fill: str = "none",
        edge: str = "none",
        opacity: float = 1.0,
        dash: str = "",
    ) -> None:
        """Draw a rectangle."""
        place = {"x": _n(left), "y": _n(top), "width": _n(width), "height": _n(height)}
        style = {"fill": fill, "fill-opacity": _n(opacity), "stroke": edge}
        if dash:
            style["stroke-dasharray"] = dash
        SubElement(self._root, "rect", {**place, **style})

    def dot(self, at: Point, radius: float, colour: str, hollow: bool = False) -> None:
        """Draw a disc, or a ring."""
        style = (
            {"fill": PAPER, "stroke": colour, "stroke-width": "1.6"} if hollow else {"fill": colour}
        )
        SubElement(
            self._root, "circle", {"cx": _n(at[0]), "cy": _n(at[1]), "r": _n(radius), **style}
        )

    def words(
        self,
        at: Point,
        text: str,
        colour: str = INK,
        anchor: str = "start",
        bold: bool = False,
        upright: bool = True,
        size: float = TEXT_SIZE,
    ) -> None:
        """Write words; `upright` False turns them a quarter to the left."""
        style = {"x": _n(at[0]), "y": _n(at[1]), "fill": colour, "text-anchor": anchor}
        if bold:
            style["font-weight"] = "bold"
        if size != TEXT_SIZE:
            style["font-size"] = _n(size)
        if not upright:
            style["transform"] = f"rotate(-90 {_n(at[0])} {_n(at[1])})"
        SubElement(self._root, "text", style).text = clean(text)

    def picture(self, left: float, top: float, width: float, height: float, url: str) -> None:
        """Place a picture that the link itself carries."""
        place = {"x": _n(left), "y": _n(top), "width": _n(width), "height": _n(height)}
        style = {"preserveAspectRatio": "none", "xlink:href": url}
        SubElement(self._root, "image", {**place, **style})


def nice_step(span: float, about: int) -> float:
    """Return 1, 2 or 5 times a power of ten that cuts `span` into about so many parts."""
    raw = span / about
    power = 10.0 ** math.floor(math.log10(raw))
    return power * next(m for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9))


def ticks(low: float, high: float, about: int) -> list[float]:
    """Return round numbers from low to high."""
    step = nice_step(high - low, about)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def plain(x: float) -> str:
    """Write the number of a tick."""
    return f"{round(x, 9) + 0.0:g}".replace("-", "−")


def _stroke(colour: str, width: float, dash: str) -> dict[str, str]:
    style = {"stroke": colour, "stroke-width": _n(width)}
    return {**style, "stroke-dasharray": dash} if dash else style


def _n(x: float) -> str:
    return f"{round(x, 2) + 0.0:g}"
