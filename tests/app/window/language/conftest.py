"""A program that speaks German, and English again afterwards."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication

from wayside_app.window.language.dictionary import ENGLISH, GERMAN
from wayside_app.window.language.speaking import use_language


@pytest.fixture
def german(qapp: QApplication) -> Iterator[None]:
    """Speak German."""
    use_language(qapp, GERMAN)
    yield
    use_language(qapp, ENGLISH)
