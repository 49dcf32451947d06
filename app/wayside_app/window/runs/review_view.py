"""Side by side on a projector: a run over its prediction or over another run, one key a step."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wayside_app.window.bench import Bench
from wayside_app.window.controls import Choice, restyle, text_label
from wayside_app.window.runs.beside import Beside, beside, beside_twin, cents_text, tells
from wayside_app.window.runs.beside_picture import BesidePicture
from wayside_app.window.runs.run_edits import step_run
from wayside_app.window.runs.store import unique_title
from wayside_app.window.theme.looks import LIGHT, Look
from wayside_app.window.twins.twin_table import Twin
from wayside_app.window.words import said

# as in the projector view: a thirtieth of the height is read from eight picture widths away
# (common practice, no source); capitals are about 0.73 of a font's size
_CAPITALS = 0.73
_LARGE = 1.0 / 30.0 / _CAPITALS
_AXIS = 0.026
_SMALL = 0.022

NEXT = (Qt.Key.Key_PageDown, Qt.Key.Key_Right, Qt.Key.Key_Space)
BEFORE = (Qt.Key.Key_PageUp, Qt.Key.Key_Left, Qt.Key.Key_Backspace)


class ReviewView(QWidget):
    """Steps through the runs.

    Signals
    -------
    left()
        The user goes back to the window.
    """

    left = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._look: Look = LIGHT
        self._beside: Beside | None = None
        self.setProperty("part", "stage")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName(self.tr("Runs side by side"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.headline = text_label("stage-verdict", "", wrap=True)
        self.place = text_label("stage-name")
        self.nothing = text_label("stage-verdict", "", wrap=True)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.picture = BesidePicture(self)
        self.other = Choice(self.tr("Set it over"))
        self.other.activated.connect(self._take_other)
        self.values = {key: text_label("stage-name", "–") for key in ("approach", "recede")}
        self._names: list[QLabel] = []
        self.before_button = QPushButton("◂", self)
        self.before_button.setAccessibleName(self.tr("Run before"))
        self.next_button = QPushButton("▸", self)
        self.next_button.setAccessibleName(self.tr("Next run"))
        self.back_button = QPushButton(self.tr("Back"), self)
        self.before_button.clicked.connect(lambda: self._step(-1))
        self.next_button.clicked.connect(lambda: self._step(1))
        self.back_button.clicked.connect(self.left)
        self._lay_out()
        for signal in (bench.compared, bench.rest.changed):
            signal.connect(self._show_if_seen)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(10)
        head.addWidget(self.before_button)
        head.addWidget(self.next_button)
        head.addWidget(self.place)
        head.addStretch(1)
        self._over = text_label("stage-name", self.tr("over"))
        self._over.setBuddy(self.other)
        head.addWidget(self._over)
        head.addWidget(self.other)
        head.addWidget(self.back_button)
        grid = QGridLayout()
        grid.setHorizontalSpacing(14)
        for column, (key, name) in enumerate(
            (("approach", self.tr("approach", "short")), ("recede", self.tr("recede", "short")))
        ):
            label = text_label("stage-name", name)
            self._names.append(label)
            grid.setColumnMinimumWidth(2, 60)
            self.values[key].setAccessibleName(self.tr("Difference, {when}").format(when=name))
            grid.addWidget(label, 0, 3 * column, Qt.AlignmentFlag.AlignRight)
            grid.addWidget(self.values[key], 0, 3 * column + 1)
        numbers = QHBoxLayout()
        numbers.addStretch(1)
        numbers.addLayout(grid)
        numbers.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(18, 8, 18, 10)
        whole.setSpacing(6)
        whole.addLayout(head)
        whole.addWidget(self.headline)
        whole.addWidget(self.picture, 1)
        whole.addWidget(self.nothing, 1)
        whole.addLayout(numbers)

    def set_look(self, look: Look) -> None:
        """Take the colours."""
        self._look = look
        self._resize_text()

    @property
    def other_key(self) -> int | None:
        """Key of the run underneath; None for what the hand expects."""
        key = self.other.currentData()
        return key if isinstance(key, int) and key else None

    def set_over(self, key: int | None) -> None:
        """Set the run that is shown over another, or over what the hand expects."""
        self._fill_other(key)
        self._show()

    def twin(self) -> Twin | None:
        """Return the numbers behind the picture."""
        return None if self._beside is None else beside_twin(self._beside)

    # --- showing --------------------------------------------------------------------------

    def _show_if_seen(self) -> None:
        if self.isVisible():
            self._fill_other(self.other_key)
            self._show()

    def _fill_other(self, key: int | None) -> None:
        session = self._bench.session
        entries = [(self.tr("what the hand expects"), 0)]
        entries += [
            (unique_title(session, at), run.key)
            for at, run in enumerate(session.runs)
            if at != session.shown or run.key == key
        ]
        now = [(self.other.itemText(k), self.other.itemData(k)) for k in range(self.other.count())]
        if now != entries:
            self.other.clear()
            for text, data in entries:
                self.other.addItem(text, data)
        self.other.setCurrentIndex(max(0, self.other.findData(key or 0)))

    def _step(self, by: int) -> None:
        """Show the next run; the one below is not set over itself."""
        step_run(self._bench, by)
        if self._bench.session.run.key == self.other_key and len(self._bench.session.runs) > 2:
            step_run(self._bench, by)

    def _take_other(self) -> None:
        self._show()
        self.setFocus()

    def _show(self) -> None:
        session = self._bench.session
        shown = self._beside = beside(self._bench, self.other_key)
        seen = self._bench.runs.seen(session, session.shown)
        self.place.setText(
            self.tr("Run {number} of {count}").format(
                number=session.shown + 1, count=len(session.runs)
            )
        )
        tone = {"agree": "agree", "disagree": "differ"}.get(seen.row.overall, "plain")
        if shown.by_hand and shown.aligned is not None and seen.row.overall:
            sign = {"agree": "✓ ", "differ": "✗ "}.get(tone, "? ")
            words = {
                "agree": self.tr("{name}: hand and sound agree"),
                "differ": self.tr("{name}: hand and sound disagree"),
            }.get(tone, self.tr("{name}: it cannot be told for certain"))
            self.headline.setText(sign + words.format(name=shown.first))
        else:
            tone = "plain"
            self.headline.setText(
                self.tr("{first} over {second}").format(first=shown.first, second=shown.second)
            )
        restyle(self.headline, tone=tone)
        # the style sheet, applied again, takes the size away
        self._resize_text()
        there = shown.aligned is not None
        self.picture.setVisible(there)
        self.nothing.setVisible(not there)
        self.nothing.setText(said(shown.why_not))
        self.picture.show_beside(shown)
        for key, quantity in (("approach", shown.apart.approach), ("recede", shown.apart.recede)):
            # two runs may well differ; only the hand's word can be wrong
            judged = shown.by_hand and quantity is not None
            mark = ("✗ " if tells(quantity) else "✓ ") if judged else ""
            self.values[key].setText(mark + cents_text(quantity))

    def _resize_text(self) -> None:
        height = max(self.height(), 480)
        for label, share in (
            (self.headline, _LARGE),
            (self.nothing, _LARGE),
            *((label, _LARGE) for label in (*self._names, *self.values.values())),
            (self.place, _SMALL),
            (self._over, _SMALL),
            (self.other, _SMALL),
        ):
            font = QFont(label.font())
            font.setPixelSize(round(share * height))
            font.setBold(share == _LARGE)
            label.setFont(font)
        self.picture.set_look(self._look, max(9.0, 0.75 * _AXIS * height))

    # --- events ---------------------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fill_other(self.other_key)
        self._show()
        self.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._resize_text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in NEXT:
            self._step(1)
        elif event.key() in BEFORE:
            self._step(-1)
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            by = 1 if event.key() == Qt.Key.Key_Down else -1
            self.other.setCurrentIndex((self.other.currentIndex() + by) % self.other.count())
            self._show()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
