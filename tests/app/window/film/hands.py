"""What hands do at the film: a panel over a real film, places in the picture, key strokes."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core

from wayside.film.geometry import Point
from wayside_app.window.bench import Bench
from wayside_app.window.film.film_panel import FilmPanel

MEDIA = Path(__file__).resolve().parents[4] / "sample_media"
FILM = MEDIA / "courtyard-film.mp4"
TRUTH: dict[str, Any] = json.loads((MEDIA / "courtyard-film.mp4.truth.json").read_text())

# where the bundled film shows its two posts: foot on the ground, and some way up (pixels)
POSTS = ((Point(69, 211), Point(69, 120)), (Point(410, 211), Point(410, 120)))


@dataclass
class Film:
    """A panel with its bench."""

    bench: Bench
    panel: FilmPanel

    def key(self, qtbot: QtBot, key: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
        """Press a key on the picture."""
        qtbot.keyClick(self.panel.view, key, held or Qt.KeyboardModifier.NoModifier)

    def at(self, point: Point) -> QPoint:
        """Return where a point of the film lies on the picture's widget."""
        now = self.panel.view.map
        assert now is not None
        x, y = now.to_view(point)
        return QPoint(round(x), round(y))

    def index_of(self, time_s: float) -> int:
        """Return the frame nearest to a time."""
        film = self.panel.source.film
        assert film is not None
        return film.times.nearest(time_s)


def passing_core() -> Core:
    """Return a core that hears the pass-by of the bundled film."""
    told = {k: TRUTH[k]["value"] for k in ("source_hz", "speed_mps", "closest_m", "passing_time_s")}
    core = Core()
    core.truth = replace(core.truth, **told, sound_speed_mps=TRUTH["sound_speed_mps"]["value"])
    return core


def open_film(qtbot: QtBot, film: Film, path: Path = FILM) -> None:
    """Open a film and wait for its picture."""
    film.bench.open_recording(path)
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    wait_for_picture(qtbot, film)


def wait_for_picture(qtbot: QtBot, film: Film) -> None:
    """Wait until the frame looked at is on show."""

    def there() -> bool:
        shown = film.panel.view.shown
        return shown is not None and shown.index == film.panel.desk.index

    qtbot.waitUntil(there, timeout=20000)


def crossing_truth(k: int) -> dict[str, float]:
    """Return the truth about one post of the bundled film."""
    told: dict[str, float] = TRUTH["film"]["crossings"][k]
    return told


def mark_crossing(qtbot: QtBot, film: Film, before: int) -> None:
    """Go to a frame by key, mark it as the last before, and the next as the first after."""
    step = before - film.panel.desk.index
    for _ in range(abs(step)):
        film.key(qtbot, Qt.Key.Key_Right if step > 0 else Qt.Key.Key_Left)
    assert film.panel.desk.index == before
    film.key(qtbot, Qt.Key.Key_B)
    film.key(qtbot, Qt.Key.Key_Right)
    film.key(qtbot, Qt.Key.Key_A)
