"""What stands behind the ± of one entry: its meaning, its shape, the scale, the instrument."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, Signal
from PySide6.QtWidgets import QFormLayout, QFrame, QLineEdit, QSizePolicy, QWidget

from wayside.hand.entry import NORMAL, RECTANGULAR, TRIANGULAR
from wayside.session.session import Entry
from wayside_app.window import figures
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.language import numbers

_PARTS = ("resolution", "distribution", "tool")
"""Order in which an entry keeps them, as when it was read from a file."""

_USUAL_SHAPE = {"u": NORMAL, "half_width": RECTANGULAR, "resolution": RECTANGULAR}


class DetailBox(QFrame):
    """Asks for the details of one entry; most entries need none of them.

    Parameters
    ----------
    name : str
        Name of the entry.
    sharing : bool
        Whether it may share an instrument with other entries.

    Signals
    -------
    edited()
        `u_kind` or `extra` changed.
    """

    edited = Signal()

    def __init__(self, name: str, sharing: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "detail")
        self._other: dict[str, str] = {}
        self.kind = Choice(
            self.tr("what stands after ± for {name}").format(name=name), self, yielding=True
        )
        for key, words in (
            ("u", self.tr("one standard uncertainty")),
            ("half_width", self.tr("limits it lies within")),
            ("resolution", self.tr("smallest step of the scale")),
        ):
            self.kind.addItem(words, key)
        self.shape = Choice(
            self.tr("shape of that for {name}").format(name=name), self, yielding=True
        )
        for key, words in (
            (NORMAL, self.tr("bell: middle likeliest")),
            (RECTANGULAR, self.tr("flat: all equally likely")),
            (TRIANGULAR, self.tr("triangle")),
        ):
            self.shape.addItem(words, key)
        for choice in (self.kind, self.shape):
            choice.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.step = QLineEdit(self)
        self.step.setAccessibleName(self.tr("smallest step of the scale, {name}").format(name=name))
        self.tool = QLineEdit(self)
        self.tool.setAccessibleName(self.tr("instrument read for {name}").format(name=name))
        self.tool.setPlaceholderText(self.tr("if others share it"))
        self.repeats = text_label(
            "quiet",
            self.tr("Read it several times? Type all readings as the value, with spaces between."),
            wrap=True,
        )
        form = QFormLayout(self)
        form.setContentsMargins(8, 4, 6, 6)
        form.setVerticalSpacing(3)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.ExpandingFieldsGrow)
        form.addRow(self.tr("± is"), self.kind)
        form.addRow(self.tr("Shape"), self.shape)
        form.addRow(self.tr("Step"), self.step)
        form.addRow(self.tr("Read with"), self.tool)
        form.addRow(self.repeats)
        form.setRowVisible(self.tool, sharing)
        self._form = form
        self.kind.activated.connect(self._kind_chosen)
        self.shape.activated.connect(self._tell)
        for box in (self.step, self.tool):
            box.textEdited.connect(self._tell)

    def parts(self) -> tuple[QWidget, ...]:
        """Return the controls in reading order."""
        return (self.kind, self.shape, self.step, self.tool)

    @property
    def u_kind(self) -> str:
        """What the number after ± means."""
        return str(self.kind.currentData())

    @property
    def extra(self) -> tuple[tuple[str, str], ...]:
        """The further parts of the entry."""
        found = dict(self._other)
        if self.u_kind != "resolution":
            found["resolution"] = numbers.plain(self.step.text())
        shape = str(self.shape.currentData())
        if shape != _USUAL_SHAPE[self.u_kind]:
            found["distribution"] = shape
        found["tool"] = self.tool.text()
        known = [(key, found[key]) for key in _PARTS if found.get(key)]
        return (*known, *((k, v) for k, v in self._other.items()))

    def show_entry(self, entry: Entry) -> None:
        """Show an entry's details; a cursor in an unchanged text stays put."""
        extra = dict(entry.extra)
        self.kind.setCurrentIndex(max(self.kind.findData(entry.u_kind), 0))
        shape = extra.get("distribution") or _USUAL_SHAPE[self.u_kind]
        self.shape.setCurrentIndex(max(self.shape.findData(shape), 0))
        step = extra.get("resolution", "")
        if numbers.plain(self.step.text()) != numbers.plain(step):
            self.step.setText(figures.typed(step))
        if self.tool.text() != extra.get("tool", ""):
            self.tool.setText(extra.get("tool", ""))
        self._other = {k: v for k, v in extra.items() if k not in _PARTS}
        self._show_rows()

    def _show_rows(self) -> None:
        step = self.u_kind == "resolution"
        self._form.setRowVisible(self.shape, not step)
        self._form.setRowVisible(self.step, not step)

    def _kind_chosen(self) -> None:
        self.shape.setCurrentIndex(self.shape.findData(_USUAL_SHAPE[self.u_kind]))
        self._show_rows()
        self._tell()

    def _tell(self) -> None:
        self.edited.emit()


def sign_of(u_kind: str) -> str:
    """Return what stands between value and uncertainty."""
    signs = {
        "u": _tr("±"),
        "half_width": _tr("± max"),
        "resolution": _tr("step"),
    }
    return signs.get(u_kind, signs["u"])


def _tr(text: str) -> str:
    return QCoreApplication.translate("DetailBox", text)
