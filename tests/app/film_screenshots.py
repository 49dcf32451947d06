"""Pictures of the film's sheet, for looking at: ``python tests/app/film_screenshots.py [FOLDER]``.

Walks through the bundled film at two sizes and in every look, without a screen.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from tests.app.screenshots import SIZES, pause, settle, wait_for
from tests.app.window.film.hands import FILM, POSTS, crossing_truth

from wayside.film.geometry import Line, Point
from wayside_app.window.film.film_panel import FilmPanel
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import FILM as FILM_SHEET
from wayside_app.window.services import real_services
from wayside_app.window.theme.looks import LOOKS

MIDDLE = 240.0


def mark(panel: FilmPanel, foot: Point, before_s: float) -> None:
    """Lay a line and mark the two frames around a crossing."""
    desk, film = panel.desk, panel.source.film
    assert film is not None
    desk.add_marker(Line(Point(foot.x, 100), foot))
    desk.go_to(film.times.last_at(before_s))
    desk.mark("before")
    desk.step(1)
    desk.mark("after")


def walk(folder: Path, look: str, size: tuple[int, int], scale: float, workplace: Path) -> None:
    """Take every picture at one size in one look."""
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    settings.clear()
    window = MainWindow(real_services(), settings, workplace / "unsaved", SilentPlayer)
    window.use_look(look, scale)
    window.resize(*size)
    window.show()
    stem = f"{look.replace(' ', '-')}-{size[0]}" + (f"-{scale:g}" if scale != 1 else "")

    def take(step: str) -> None:
        settle(window)
        window.grab().save(str(folder / f"{step}-{stem}.png"))

    window.bench.open_setup(FILM.with_suffix(".setup.json"))
    window.open_path(FILM)
    wait_for(lambda: window.bench.measurement is not None)
    window.go_to_film()
    panel = window.pages.page(FILM_SHEET).panel  # type: ignore[attr-defined]
    wait_for(lambda: panel.source.film is not None)
    take("film-1-open")
    for k, (foot, _) in enumerate(POSTS):
        mark(panel, foot, crossing_truth(k)["frame_before_time_s"] + 1e-3)
    panel.desk.put_into_form()
    take("film-2-crossings")
    panel.desk.add_marker(Line(Point(MIDDLE, 168), Point(MIDDLE, 211)))
    panel.offers.search()
    wait_for(lambda: not panel.offers.searching)
    take("film-3-proposal")
    panel.offers.clear()
    panel.desk.remove_marker()
    mark(panel, Point(MIDDLE, 211), 2.58)
    panel.side.cards[2].at_camera.click()
    panel.view.zoom(4)
    panel.desk.begin_spot()
    panel.desk.move_pending(9.0, -46.0)
    take("film-4-near")
    window.bench.undo_stack.clear()
    window.bench.undo_stack.setClean()
    window.close()
    pause(50)


def main() -> None:
    """Take all pictures."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication([])
    with tempfile.TemporaryDirectory() as workplace:
        for look in LOOKS:
            for size in SIZES:
                walk(folder, look, size, 1.0, Path(workplace))
        walk(folder, "light", SIZES[0], 1.5, Path(workplace))
    del app


if __name__ == "__main__":
    main()
