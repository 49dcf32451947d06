"""What a person marked in a film: plain values, stored by time, not by frame number.

Times are presentation times on the film's clock, so the marks still fit a copy of the film that
holds the same frames. Numbers that were typed stay as typed, usable or not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from wayside.film.crossing import MARK_U_PX
from wayside.film.geometry import Line, Point

LINE_U_PX = 1.0
"""Standard uncertainty of a line laid carefully along a marker (pixels); common practice, no
source."""


@dataclass(frozen=True)
class Typed:
    """A number as typed, with its unit and standard uncertainty.

    Parameters
    ----------
    text, unit, u_text : str
        `u_text` is in the same unit.
    """

    text: str = ""
    unit: str = ""
    u_text: str = ""

    @property
    def blank(self) -> bool:
        """True when neither value nor uncertainty was typed."""
        return not self.text.strip() and not self.u_text.strip()


@dataclass(frozen=True)
class Sighting:
    """One frame chosen by eye.

    Parameters
    ----------
    time_s : float
        Presentation time of the frame (s).
    spot : Point or None
        Where the watched point of the vehicle is in it (pixels), if it was marked.
    spot_u_px : float
        Standard uncertainty of the spot across the line (pixels): larger when it was marked in
        a picture shown small.
    """

    time_s: float
    spot: Point | None = None
    spot_u_px: float = MARK_U_PX


@dataclass(frozen=True)
class Marker:
    """A marker line, and the two frames between which it was crossed.

    Parameters
    ----------
    line : Line
        Where the marker is seen (pixels).
    before, after : Sighting or None
        Last frame before and first frame after the crossing.
    place : Typed
        Where it stands along the track, from the first marker.
    at_camera : bool
        True when it stands straight in front of the camera.
    line_u_px : float
        Standard uncertainty of the line's place (pixels).
    """

    line: Line
    before: Sighting | None = None
    after: Sighting | None = None
    place: Typed = Typed(unit="m")
    at_camera: bool = False
    line_u_px: float = LINE_U_PX

    def sighting(self, name: str) -> Sighting | None:
        """Return the frame marked as ``"before"`` or ``"after"``."""
        return self.before if name == "before" else self.after

    def with_sighting(self, name: str, sighting: Sighting | None) -> Marker:
        """Return the marker with another frame as ``"before"`` or ``"after"``."""
        if name == "before":
            return replace(self, before=sighting)
        return replace(self, after=sighting)


@dataclass(frozen=True)
class Clap:
    """One hand clap that is both seen and heard, to set sound against picture.

    Parameters
    ----------
    before_s, after_s : float or None
        Last frame with the hands apart and first with the hands together (s).
    heard : Typed
        When it is heard, on the sound track (s).
    distance : Typed
        From the hands to the microphone.
    """

    before_s: float | None = None
    after_s: float | None = None
    heard: Typed = Typed(unit="s")
    distance: Typed = Typed(unit="m")

    @property
    def blank(self) -> bool:
        """True when nothing was entered."""
        seen = self.before_s is not None or self.after_s is not None
        return not seen and self.heard.blank and self.distance.blank


@dataclass(frozen=True)
class Ruler:
    """A known length in the picture.

    Parameters
    ----------
    start, stop : Point
        Its ends (pixels).
    length : Typed
    """

    start: Point
    stop: Point
    length: Typed = Typed(unit="m")


@dataclass(frozen=True)
class FilmMarks:
    """Everything marked in one film.

    Parameters
    ----------
    markers : tuple of Marker
        The first is where places along the track are counted from.
    watched : str
        Which point of the vehicle is watched at every marker, in the person's words.
    true_fps : str
        Frames a second while filming, as typed; empty when the film runs at natural speed.
    clap : Clap
    ruler : Ruler or None
    """

    markers: tuple[Marker, ...] = ()
    watched: str = ""
    true_fps: str = ""
    clap: Clap = Clap()
    ruler: Ruler | None = None

    @property
    def blank(self) -> bool:
        """True when nothing was marked."""
        return self == FilmMarks(watched=self.watched)

    def with_marker(self, at: int, marker: Marker) -> FilmMarks:
        """Return the marks with one marker replaced."""
        return replace(self, markers=(*self.markers[:at], marker, *self.markers[at + 1 :]))

    def with_new(self, marker: Marker) -> FilmMarks:
        """Return the marks with one more marker."""
        return replace(self, markers=(*self.markers, marker))

    def without(self, at: int) -> FilmMarks:
        """Return the marks without one marker."""
        return replace(self, markers=(*self.markers[:at], *self.markers[at + 1 :]))


NO_MARKS = FilmMarks()
