"""The column beside the picture: the markers, the assistant, and what unfolds."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from wayside.film.crossing import SAME_POINT
from wayside.film.together import Together
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.film.clap_fold import ClapFold
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.help_folds import AboutFold, AdviceFold, KeysFold, caution_of
from wayside_app.window.film.marker_card import MarkerCard
from wayside_app.window.film.offer_box import OfferBox
from wayside_app.window.film.offers import Offers
from wayside_app.window.film.rate_fold import RateFold
from wayside_app.window.film.ruler_fold import RulerFold
from wayside_app.window.jobs import JobRunner
from wayside_app.window.words import said

_WIDTH_DIGITS = 39


class SideColumn(QScrollArea):
    """Everything about the markers.

    Signals
    -------
    new_wanted()
        The user asks for a new marker line.
    """

    new_wanted = Signal()

    def __init__(
        self, desk: FilmDesk, offers: Offers, runner: JobRunner, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk, self._offers = desk, offers
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        content = QWidget(self)
        content.setProperty("part", "plain")
        self.new = QPushButton(self.tr("New line (N)"), self)
        self.propose = QPushButton(self.tr("Propose (P)"), self)
        self.propose.setToolTip(self.tr("Look for crossings from what changes along the lines"))
        self.offer_box = OfferBox(offers, runner, self)
        self.hint = text_label("advice", "", wrap=True)
        self.hint.hide()
        self.caution = text_label("fault", "", wrap=True)
        self.cards: list[MarkerCard] = []
        self._cards = QVBoxLayout()
        self._cards.setSpacing(5)
        self.watched = Choice(self.tr("point watched at every marker"), self)
        self.watched.addItem(self.tr("Which point do you watch?"), "")
        for text in self._points():
            self.watched.addItem(text, text)
        self.same_point = text_label("quiet", said(SAME_POINT), wrap=True)
        self.keys = KeysFold(self)
        self.advice = AdviceFold(self)
        self.clap = ClapFold(desk, self)
        self.ruler = RulerFold(desk, self)
        self.rate = RateFold(desk, self)
        self.about = AboutFold(self)
        head = QHBoxLayout()
        head.setSpacing(5)
        head.addWidget(self.new)
        head.addWidget(self.propose)
        head.addStretch(1)
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(5)
        column.addLayout(head)
        for part in (self.offer_box, self.hint, self.caution):
            column.addWidget(part)
        column.addLayout(self._cards)
        for widget in (
            self.watched,
            self.same_point,
            self.keys,
            self.advice,
            self.clap,
            self.ruler,
            self.rate,
            self.about,
        ):
            column.addWidget(widget)
        column.addStretch(1)
        self.setWidget(content)
        self.new.clicked.connect(self.new_wanted)
        self.propose.clicked.connect(offers.search)
        self.watched.activated.connect(self._chosen)
        desk.hinted.connect(self._show_hint)

    def set_look(self, font: QFont) -> None:
        """Take the text size."""
        self.setFixedWidth(_WIDTH_DIGITS * QFontMetrics(font).horizontalAdvance("0"))

    def show_all(self, together: Together | None) -> None:
        """Show the marks and what follows from them."""
        marks, reading = self._desk.marks, self._desk.reading
        film = self._desk.source.film
        self._fit_cards(len(marks.markers))
        for k, (card, marker) in enumerate(zip(self.cards, marks.markers, strict=True)):
            card.show_marker(marker, None if reading is None else reading.markers[k])
        self._show_watched(marks.watched)
        self.same_point.setVisible(len(marks.markers) > 1)
        caution = "" if film is None else caution_of(film.info.width, film.info.height)
        self.caution.setText(f"⚠ {caution}" if caution else "")
        self.caution.setVisible(bool(caution))
        self.clap.show_clap(together)
        self.ruler.show_ruler(reading)
        self.rate.show_rate(reading)
        for part in (self.new, self.propose):
            part.setEnabled(film is not None)

    def _fit_cards(self, count: int) -> None:
        while len(self.cards) > count:
            card = self.cards.pop()
            self._cards.removeWidget(card)
            card.hide()
            card.deleteLater()
        while len(self.cards) < count:
            card = MarkerCard(len(self.cards), self._desk, self._offers, self.widget())
            self._cards.addWidget(card)
            self.cards.append(card)

    def _show_watched(self, text: str) -> None:
        at = self.watched.findData(text)
        if at < 0:
            self.watched.addItem(text, text)
            at = self.watched.count() - 1
        self.watched.setCurrentIndex(at)

    def _chosen(self) -> None:
        marks = replace(self._desk.marks, watched=self.watched.currentData())
        self._desk.change(marks, self.tr("choose the point watched"))

    def _show_hint(self, sentence: str) -> None:
        self.hint.setText(sentence)
        self.hint.setVisible(bool(sentence))

    def _points(self) -> tuple[str, ...]:
        return (
            self.tr("front tyre where it touches the ground"),
            self.tr("front of the front tyre"),
            self.tr("axle of the front wheel"),
            self.tr("axle of the rear wheel"),
            self.tr("another point, always the same"),
        )
