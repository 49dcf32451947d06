"""The window in German: what it says, how numbers are typed and shown, how it is chosen."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, QSettings, Qt
from PySide6.QtWidgets import QApplication, QMenu, QMessageBox
from pytestqt.qtbot import QtBot
from tests.app.window.hands import PAPER, fill_in, retype
from tests.app.window.language.shown import english_in, every_text

from wayside.hand.sources import SOURCE_KINDS
from wayside_app.window.help.help_window import PAGES, page_text
from wayside_app.window.language.dictionary import LANGUAGES
from wayside_app.window.language.speaking import VARIABLE, language_to_use, use_language
from wayside_app.window.main_window import MainWindow
from wayside_app.window.menus import SHEET_KEYS

MakeWindow = Callable[..., MainWindow]
GERMAN_PAPER = {
    path: tuple(text.replace(".", ",") for text in entry) for path, entry in PAPER.items()
}


@pytest.fixture
def window(german: None, make_window: MakeWindow) -> MainWindow:
    return make_window()


def _open_sample(qtbot: QtBot, window: MainWindow) -> None:
    window.open_sample()
    qtbot.waitUntil(lambda: window.bench.comparison is not None, timeout=20_000)


def test_the_sample_gets_a_german_verdict(qtbot: QtBot, window: MainWindow) -> None:
    _open_sample(qtbot, window)
    assert window.verdict.headline.text() == "✓ Hand und Schall stimmen überein"
    assert "im Rahmen ihrer Unsicherheiten" in window.verdict.why.text()
    speed = window.hand.expectation.values["speed_mps"].text()
    assert re.fullmatch(r"\d,\d+ ± 0,\d+ m/s", speed)
    assert window.hand.row("motion.marker_distance").value.text() == "6,1"


def test_decimal_comma_and_point_are_both_understood(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window, GERMAN_PAPER)
    session = window.bench.session
    assert session.entry("motion.marker_distance").text == "6.10"
    assert session.entry("source.loaded_radius").u_text == "0.4"
    by_comma = window.bench.prediction
    assert by_comma is not None
    row = window.hand.row("motion.marker_distance")
    assert row.value.text() == "6,10"
    retype(qtbot, row.value, "6.10")
    assert window.bench.prediction is not None
    assert window.bench.prediction.approach_hz == by_comma.approach_hz


def test_a_number_that_can_be_read_in_two_ways_is_refused_in_german(
    qtbot: QtBot, window: MainWindow
) -> None:
    row = window.hand.row("motion.marker_distance")
    retype(qtbot, row.value, "1.234,5")
    retype(qtbot, row.u, "1")
    assert row.fault_text.startswith("„1.234,5“ lässt sich auf zwei Arten lesen")
    assert row.value.text() == "1.234,5"


def test_a_saved_session_shows_commas_again(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    retype(qtbot, window.hand.row("motion.marker_distance").value, "6,25")
    path = tmp_path / "a.wayside.json"
    assert window.keeper.save(path)
    assert '"6.25"' in path.read_text(encoding="utf-8")
    window.new_session()
    window.open_path(path)
    assert window.hand.row("motion.marker_distance").value.text() == "6,25"


def test_window_numbers_take_either_sign(qtbot: QtBot, window: MainWindow) -> None:
    _open_sample(qtbot, window)
    box = window.sound.numbers.starts["approach"]
    assert "," in box.text()
    for typed in ("1,25", "1.75"):
        retype(qtbot, box.lineEdit(), typed)
        qtbot.keyClick(box, Qt.Key.Key_Return)
        span = window.bench.session.windows.approach_s
        assert span is not None
        assert span[0] == pytest.approx(float(typed.replace(",", ".")))


def test_nothing_in_the_window_stays_english(qtbot: QtBot, window: MainWindow) -> None:
    _open_sample(qtbot, window)
    window.sound.listen_button.click()
    for key in SHEET_KEYS:
        window.pages.turn_to(key)
        QApplication.processEvents()
    window.go_to_film()
    QApplication.processEvents()
    window.toggle_projector()
    window.leave_projector()
    window.show_keys()
    window.show_numbers()
    window.show_help()
    for kind in SOURCE_KINDS:
        window.bench.choose("source.kind", kind, "Art der Quelle wählen")
        assert english_in(every_text(window)) == []
    for part in ("KeysList", "TwinTable", "HelpWindow"):
        for child in window.children():
            if type(child).__name__ == part:
                child.close()


def test_undo_steps_have_german_names(qtbot: QtBot, window: MainWindow) -> None:
    retype(qtbot, window.hand.row("air.temperature").value, "20,5")
    assert window.bench.undo_stack.undoText() == "Lufttemperatur ändern"


@pytest.mark.parametrize("language", LANGUAGES)
def test_letters_of_a_menu_are_unique(
    qapp: QApplication, make_window: MakeWindow, language: str
) -> None:
    use_language(qapp, language)
    try:
        window = make_window()
        bars = [window.menuBar().actions()]
        bars += [m.actions() for m in window.menuBar().findChildren(QMenu)]
        for actions in bars:
            letters = [
                found[0].lower()
                for action in actions
                if (found := re.findall(r"&(\w)", action.text()))
            ]
            assert sorted(set(letters)) == sorted(letters), [a.text() for a in actions]
    finally:
        use_language(qapp, "en")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("page", PAGES)
def test_each_help_page_is_there_in_each_language(
    qapp: QApplication, language: str, page: str
) -> None:
    use_language(qapp, language)
    try:
        text = page_text(page)
    finally:
        use_language(qapp, "en")
    assert text.startswith("# ")
    assert (" und " in text) == (language == "de")


def test_qt_speaks_the_same_language(german: None) -> None:
    box = QMessageBox()
    box.setStandardButtons(QMessageBox.StandardButton.Save | QMessageBox.StandardButton.Cancel)
    texts = {button.text().replace("&", "") for button in box.buttons()}
    box.deleteLater()
    assert texts == {"Speichern", "Abbrechen"}


def test_the_menu_remembers_a_language_for_the_next_start(
    make_window: MakeWindow, settings: QSettings
) -> None:
    window = make_window()
    window.choose_language("de")
    assert window.preferences.language == "de"
    assert window.banner.sentence == "From the next start, Wayside speaks Deutsch."
    window.choose_language("en")
    assert window.banner.sentence == ""
    settings.setValue("language", "xx")
    assert window.preferences.language == ""


def test_which_language_is_spoken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Command line before variable before menu before the system's own."""
    monkeypatch.setattr(QLocale, "system", lambda: QLocale("de_AT"))
    monkeypatch.delenv(VARIABLE, raising=False)
    assert language_to_use("", "") == "de"
    assert language_to_use("", "en") == "en"
    monkeypatch.setenv(VARIABLE, "de_DE.UTF-8")
    assert language_to_use("", "en") == "de"
    assert language_to_use("en", "de") == "en"
    monkeypatch.setattr(QLocale, "system", lambda: QLocale("fr_FR"))
    monkeypatch.setenv(VARIABLE, "fr")
    assert language_to_use("", "") == "en"


def test_formulas_and_copies_have_the_comma(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window, GERMAN_PAPER)
    window.pages.turn_to("working")
    page = window.pages.page("working")
    card = page.steps.cards[0]  # type: ignore[attr-defined]
    card.copy_latex()
    assert "32{,}60" in QApplication.clipboard().text()
    assert card.title.text() == "Umrechnen: Radradius unter Last"
    page.copy_text.click()  # type: ignore[attr-defined]
    text = QApplication.clipboard().text()
    assert "Von Hand gemessen" in text
    assert "32,60" in text
    assert english_in(iter(text.split("\n"))) == []
