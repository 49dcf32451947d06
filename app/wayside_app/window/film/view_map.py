"""Where a point of the film lies in the view, and back: zoom and pan as plain numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wayside.film.geometry import Point

MOST_SCALE = 24.0


@dataclass(frozen=True)
class ViewMap:
    """A zoom and a place.

    Parameters
    ----------
    scale : float
        View pixels a film pixel.
    left, top : float
        Where the film's top left corner lies in the view (view pixels).
    """

    scale: float
    left: float
    top: float

    def to_view(self, point: Point) -> tuple[float, float]:
        """Return where a point of the film lies in the view."""
        return self.left + point.x * self.scale, self.top + point.y * self.scale

    def to_film(self, x: float, y: float) -> Point:
        """Return the point of the film at a place in the view."""
        return Point((x - self.left) / self.scale, (y - self.top) / self.scale)


@dataclass(frozen=True)
class Frame:
    """Sizes of film and view (pixels each)."""

    film_width: int
    film_height: int
    view_width: float
    view_height: float

    @property
    def whole(self) -> ViewMap:
        """The map that shows the whole picture, in the middle."""
        scale = min(self.view_width / self.film_width, self.view_height / self.film_height)
        scale = max(scale, 1e-3)
        return ViewMap(
            scale,
            (self.view_width - scale * self.film_width) / 2,
            (self.view_height - scale * self.film_height) / 2,
        )

    def zoomed(self, now: ViewMap, factor: float, x: float, y: float) -> ViewMap:
        """Return the map zoomed about a place in the view, never smaller than the whole."""
        least = self.whole.scale
        scale = min(max(now.scale * factor, least), max(MOST_SCALE, least))
        ratio = scale / now.scale
        return self.kept(ViewMap(scale, x - ratio * (x - now.left), y - ratio * (y - now.top)))

    def moved(self, now: ViewMap, dx: float, dy: float) -> ViewMap:
        """Return the map with the picture moved in the view."""
        return self.kept(replace(now, left=now.left + dx, top=now.top + dy))

    def kept(self, new: ViewMap) -> ViewMap:
        """Return the map with no empty border wider than it need be."""
        return replace(
            new,
            left=_kept(new.left, new.scale * self.film_width, self.view_width),
            top=_kept(new.top, new.scale * self.film_height, self.view_height),
        )


def _kept(start: float, length: float, room: float) -> float:
    if length <= room:
        return (room - length) / 2
    return min(0.0, max(room - length, start))
