"""What can be read beside the picture: the keys, and how to mark well."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from wayside.film.cache import DEFAULT_LIMIT_BYTES
from wayside.film.crossing import SAME_POINT
from wayside.film.info import FilmInfo
from wayside.film.readout import LEVEL_ADVICE, READOUT_MOST_S, UPRIGHT_CAUTION, is_upright
from wayside_app.window import figures
from wayside_app.window.controls import text_label
from wayside_app.window.film.fold import Fold
from wayside_app.window.film.keys import film_keys
from wayside_app.window.words import said


class KeysFold(Fold):
    """The list of keys."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_tr("Keys"), True, parent)
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(0)
        for row, key in enumerate(film_keys()):
            name = text_label("quiet", key.shown)
            grid.addWidget(name, row, 0)
            grid.addWidget(text_label("quiet", key.what, wrap=True), row, 1)
        grid.setColumnStretch(1, 1)
        self.column.addLayout(grid)


class AdviceFold(Fold):
    """How to mark well, and what row-by-row reading of the sensor does."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_tr("Marking well"), False, parent)
        self.words(said(SAME_POINT))
        self.words(
            _tr(
                "Lay each line along its marker, over the height at which the watched point "
                "passes; zoom in for it. Where the wheel touches the ground is best, as there the "
                "line and the tape measure the same place."
            )
        )
        self.words(said(LEVEL_ADVICE))
        self.words(
            _tr(
                "Held upright (portrait), it reads from one side to the other, and crossing times "
                "shift by up to {ms} ms between the edges of the picture."
            ).format(ms=round(1e3 * READOUT_MOST_S))
        )


class AboutFold(Fold):
    """What is known of the film's frames."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_tr("This film's frames"), False, parent)
        self.text = self.words()
        self.memory = self.words(
            _tr("Up to {mb} MB of frames are kept ready.").format(
                mb=round(DEFAULT_LIMIT_BYTES / 2**20)
            )
        )

        self.choose = QPushButton(_tr("Use another film …"), self)
        self.own = QPushButton(_tr("Use the recording's own film"), self)
        for button in (self.choose, self.own):
            self.column.addWidget(button)

    def show_info(self, info: FilmInfo | None, is_own: bool) -> None:
        """Show size, rate and what was noticed, and whether it is the recording's own film."""
        self.own.setVisible(not is_own)
        if info is None:
            self.text.setText("")
            return
        text = _tr("{w} × {h} pixels, {rate} frames a second, {codec}.").format(
            w=info.width,
            h=info.height,
            rate=figures.plain(info.times.rate_hz, 1),
            codec=info.codec.upper(),
        )
        self.text.setText(" ".join((text, *map(said, info.notes))))


def caution_of(width: int, height: int) -> str:
    """Return the sentence on an upright film; empty for a level one."""
    if not is_upright(width, height):
        return ""
    return said(UPRIGHT_CAUTION).format(most_ms=round(1e3 * READOUT_MOST_S))


def _tr(text: str) -> str:
    return QCoreApplication.translate("FilmFolds", text)
