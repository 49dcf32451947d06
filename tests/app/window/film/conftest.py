"""A film panel of its own, shown, over a bench whose sound is made up and whose films are real."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.film.hands import Film, passing_core
from tests.core.film.conftest import Drive, draw, write_film

from wayside_app.window.bench import Bench
from wayside_app.window.film.film_panel import FilmPanel
from wayside_app.window.theme.apply import apply_look
from wayside_app.window.theme.looks import LIGHT


@pytest.fixture
def core() -> Core:
    """A core that hears the pass-by of the bundled film."""
    return passing_core()


@pytest.fixture
def film(qtbot: QtBot, qapp: QApplication, core: Core) -> Iterator[Film]:
    """Return a shown panel without a film."""
    apply_look(qapp, LIGHT)
    bench = Bench(core.services())
    panel = FilmPanel(bench)
    panel.set_look(LIGHT, qapp.font())
    panel.resize(1250, 690)
    panel.show()
    panel.activateWindow()
    qtbot.waitUntil(panel.isActiveWindow, timeout=5000)
    yield Film(bench, panel)
    panel.close_film()
    assert bench.close(), "work did not stop in time"
    panel.close()
    panel.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def make_film() -> Callable[..., Path]:
    """``make_film(path, times, **options)`` writes a film of a disc crossing the picture."""

    def make(path: Path, times: np.ndarray, **options: object) -> Path:
        return write_film(path, times, lambda t, k: draw(Drive(), t, seed=k), **options)

    return make
