"""Pictures of every sheet: ``python -m tests.app.sheet_screenshots``; ``--help`` lists the choices.

Uses a bundled sample with its own set-up, the wheel made too small so that there is something to
explain, at two sizes and in every look, without a screen. The best are kept in docs/screenshots.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from tests.app.screenshots import (
    RECORDING,
    SETUP,
    arguments,
    pause,
    settle,
    sizes_of,
    wait_for,
)

from wayside.session.session import Entry
from wayside_app.window.budget.sampling import SAMPLE
from wayside_app.window.language.speaking import use_language
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import BUDGET, PLAN, titles
from wayside_app.window.plan.plan_page import PlanPage
from wayside_app.window.services import real_services
from wayside_app.window.theme.looks import LOOKS


def walk(folder: Path, look: str, size: tuple[int, int], workplace: Path) -> None:
    """Take every sheet at one size in one look."""
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    settings.clear()
    window = MainWindow(real_services(), settings, workplace / "unsaved", SilentPlayer)
    window.use_look(look)
    window.resize(*size)
    window.show()
    stem = f"{look.replace(' ', '-')}-{size[0]}"

    def take(step: str) -> None:
        settle(window)
        window.resize(*size)
        pause(50)
        window.grab().save(str(folder / f"{step}-{stem}.png"))

    window.bench.open_setup(SETUP)
    window.open_path(RECORDING)
    wait_for(lambda: window.bench.measurement is not None)
    radius = window.hand.row("source.loaded_radius")
    window.bench.type_entry(
        radius.field.path, Entry("21.8", radius.entry().unit, "0.2"), radius.field.label
    )
    for key in titles():
        window.pages.turn_to(key)
        page = window.pages.page(key)
        if isinstance(page, PlanPage):
            take(f"sheet-{key}-usual")
            page.take_over()
        if key == BUDGET:
            pause(600)
            wait_for(lambda: not window.bench.runner.busy(SAMPLE))
        take(f"sheet-{key}")
        if key != PLAN:
            bar = page.scroller.verticalScrollBar()
            bar.setValue(bar.maximum())
            take(f"sheet-{key}-below")
    window.bench.undo_stack.setClean()
    window.keeper.close()
    window.bench.close()
    window.deleteLater()
    QApplication.processEvents()


def main() -> int:
    """Take all pictures."""
    args = arguments("Pictures of every sheet.").parse_args()
    args.folder.mkdir(parents=True, exist_ok=True)
    app = QApplication([])
    use_language(app, args.language)
    with tempfile.TemporaryDirectory() as workplace:
        for look in args.look or LOOKS:
            for size in sizes_of(args):
                walk(args.folder, look, size, Path(workplace))
    return 0


if __name__ == "__main__":
    sys.exit(main())
