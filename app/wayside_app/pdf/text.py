"""From the blocks of a report to a text document of Qt."""

from __future__ import annotations

from PySide6.QtCore import QSizeF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
    QTextFormat,
    QTextFrameFormat,
    QTextLength,
    QTextTableCellFormat,
    QTextTableFormat,
)

from wayside.report.blocks import (
    BLANK,
    CAUTION,
    QUIET,
    VERDICT,
    Block,
    FillIn,
    Formula,
    Items,
    Para,
    Report,
    Section,
    Shown,
    Subhead,
    Table,
    Verbatim,
    Worked,
)
from wayside.report.figures import canvas
from wayside.report.text import clean
from wayside_app.pdf.drawn import Drawer, Drawn, DrawnFigure, DrawnFormula, DrawnRule

SANS = ("DejaVu Sans", "Liberation Sans", "Noto Sans", "Arial", "Helvetica")
MONO = ("DejaVu Sans Mono", "Liberation Mono", "Noto Sans Mono", "Courier New")
KEEP = QTextFormat.Property.UserProperty.value + 2
"""Marks a paragraph that must not end a page."""

_SIZE, _SMALL, _CELL, _WIDE_CELL, _CODE = 9.5, 8.5, 8.5, 7.2, 7.5
_HEADS = {1: 19.0, 2: 13.5, 3: 10.5}
_TONES = {"agree": canvas.AGREE, "disagree": canvas.DIFFER}
_SPEAKERS = {"hand": canvas.HAND, "sound": canvas.SOUND}
_OBJECT = "\ufffc"
_WIDE = 7
_RULE_HEIGHT = 26.0
_GAP = 10.0
_SIDE = 5.0
_AlignRight, _AlignLeft = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignLeft


class Setter:
    """Sets blocks one after the other.

    Parameters
    ----------
    width, height : float
        Room on a page (pixels).
    dpi : float
        Pixels an inch, so that distances on paper stay the same.
    """

    def __init__(self, width: float, height: float, dpi: float) -> None:
        self.document = QTextDocument()
        self.document.setUseDesignMetrics(True)
        self.document.setDocumentMargin(0.0)
        self.document.setDefaultFont(font(_SIZE))
        self.document.setIndentWidth(1.0)
        self._width, self._px = width, dpi / 96.0
        self._drawer = Drawer(self.document)
        self._cursor = QTextCursor(self.document)
        self._fresh = True
        self.document.setPageSize(QSizeF(width, height))

    def set_report(self, report: Report) -> QTextDocument:
        """Set a whole report and return its document."""
        # as one edit: else the whole text is laid out anew with every word put in
        self._cursor.beginEditBlock()
        self._paragraph(report.title, _HEADS[1], bold=True, after=4)
        for line in report.about:
            self._paragraph(line, _SIZE, canvas.QUIET, after=2)
        for name in report.fill_in:
            self._fill_in(FillIn(name))
        for section in report.sections:
            self._section(section)
        self._cursor.endEditBlock()
        return self.document

    def _section(self, section: Section) -> None:
        self._heading(section.title, 2, new_page=section.new_page)
        for block in section.blocks:
            self._block(block)

    def _block(self, block: Block) -> None:
        match block:
            case Para():
                self._para(block)
            case Subhead(text):
                self._heading(text, 3)
            case Items(items, numbered):
                self._items(items, numbered)
            case Table():
                self._table(block)
            case Worked():
                self._worked(block)
            case Formula(latex, plain):
                self._thing(DrawnFormula([latex], [plain], _SIZE + 2, 0.9 * self._width, False), 20)
            case Shown():
                self._figure(block)
            case FillIn():
                self._fill_in(block)
            case Verbatim(text):
                self._verbatim(text)

    # --- parts ----------------------------------------------------------------------------

    def _heading(self, text: str, level: int, new_page: bool = False) -> None:
        before = {2: 20, 3: 11}[level]
        style = self._style(before=before, after=4, keep=True)
        style.setHeadingLevel(level)
        if new_page:
            style.setPageBreakPolicy(QTextFormat.PageBreakFlag.PageBreak_AlwaysBefore)
        self._put(text, style, _HEADS[level], canvas.INK, bold=True)

    def _paragraph(
        self,
        text: str,
        size: float = _SIZE,
        colour: str = canvas.INK,
        bold: bool = False,
        after: float = 6,
        keep: bool = False,
    ) -> None:
        self._put(text, self._style(after=after, keep=keep), size, colour, bold)

    def _para(self, para: Para) -> None:
        if para.kind == VERDICT:
            colour = _TONES.get(para.tone, canvas.UNSURE)
            self._paragraph(para.text, 14.0, colour, after=10)
        elif para.kind == CAUTION:
            self._paragraph(para.text, bold=True, keep=True)
        elif para.kind == QUIET:
            self._paragraph(para.text, _SMALL, canvas.QUIET, keep=True)
        else:
            self._paragraph(para.text)

    def _items(self, items: tuple[str, ...], numbered: bool) -> None:
        for k, item in enumerate(items, 1):
            style = self._style(after=3)
            style.setLeftMargin(16 * self._px)
            style.setTextIndent(-12 * self._px)
            self._put(f"{k}. {item}" if numbered else f"•  {item}", style)

    def _figure(self, shown: Shown) -> None:
        self._thing(DrawnFigure(shown.figure, self._width), 0, keep=True)
        style = self._style(after=10)
        self._put(f"{shown.figure.title}. ", style, _SMALL, canvas.INK, bold=True)
        self._more(shown.figure.below, _SMALL, canvas.QUIET)

    def _worked(self, worked: Worked) -> None:
        step = worked.step
        self._heading(f"{worked.number}. {step.title}" if worked.number else step.title, 3)
        lines = {step.formula: step.formula_latex}
        if not worked.open:
            lines |= {step.numbers: step.numbers_latex, step.result: step.result_latex}
        lines.pop("", None)
        plain, latex = [clean(t) for t in lines], list(lines.values())
        formula = DrawnFormula(latex, plain, _SIZE + 1.5, 0.9 * self._width, not worked.open)
        open_lines = worked.open and bool(step.numbers)
        self._thing(formula, 20, keep=open_lines)
        if open_lines:
            self._fill_in(FillIn("with numbers"), keep=True)
            self._fill_in(FillIn("result, with its unit"))
        if step.note:
            self._paragraph(step.note, _SMALL, canvas.QUIET)

    def _fill_in(self, fill_in: FillIn, keep: bool = False) -> None:
        rule_height = _RULE_HEIGHT * self._px
        if fill_in.lines:
            self._paragraph(fill_in.label, keep=True, after=0)
            for k in range(fill_in.lines):
                self._thing(DrawnRule(self._width, rule_height), 0, keep=k + 1 < fill_in.lines)
            return
        text = f"{clean(fill_in.label)}  "
        taken = QFontMetricsF(font(_SIZE)).horizontalAdvance(text) + 6 * self._px
        self._put(text, self._style(after=2, keep=keep))
        room = self._width - taken
        width = room if room > 0.2 * self._width else self._width
        rule = DrawnRule(width, rule_height)
        self._cursor.insertText(_OBJECT, self._drawer.place(rule))

    def _verbatim(self, text: str) -> None:
        style = self._style(after=0)
        style.setBackground(QBrush(QColor("#f4f2ed")))
        lines = clean(text).split("\n")
        for k, line in enumerate(lines):
            if k + 1 == len(lines):
                style.setBottomMargin(8 * self._px)
            self._start(style)
            self._cursor.insertText(line, _letters(_CODE, canvas.INK, families=MONO))

    def _table(self, table: Table) -> None:
        self._paragraph(table.caption, _SIZE, bold=True, after=2, keep=True)
        layout = QTextTableFormat()
        layout.setHeaderRowCount(1)
        layout.setBorder(0.0)
        layout.setBorderCollapse(True)
        layout.setCellPadding(0.0)
        layout.setWidth(QTextLength(QTextLength.Type.PercentageLength, 100.0))
        layout.setBorderStyle(QTextFrameFormat.BorderStyle.BorderStyle_None)
        layout.setBottomMargin(0.0)
        columns = len(table.head)
        size = _WIDE_CELL if columns > _WIDE else _CELL
        percent = QTextLength.Type.PercentageLength
        shares = column_shares(table, size, self._width, 2.0 * _SIDE * self._px)
        layout.setColumnWidthConstraints([QTextLength(percent, 100.0 * x) for x in shares])
        made = self._cursor.insertTable(len(table.rows) + 1, columns, layout)
        for row, cells in enumerate((table.head, *table.rows)):
            for column, text in enumerate(cells):
                cell = made.cellAt(row, column)
                cell.setFormat(self._cell(row == 0, text == BLANK))
                cursor = cell.firstCursorPosition()
                place = QTextBlockFormat()
                words = column == 0 or column in table.worded
                place.setAlignment(_AlignLeft if words else _AlignRight)
                if not words and row:
                    place.setNonBreakableLines(True)
                cursor.setBlockFormat(place)
                colour = _SPEAKERS.get(table.speaker(column), canvas.INK)
                shown = "\n\n" if text == BLANK else clean(text)
                cursor.insertText(shown, _letters(size, colour, bold=row == 0))
        self._cursor.movePosition(QTextCursor.MoveOperation.End)
        # the paragraph that follows a table is made its margin; one of the table itself that
        # falls on the next page would bring the heading row there alone, and an empty paragraph
        # would have no height
        gap = QTextBlockFormat()
        gap.setLineHeight(_GAP * self._px, QTextBlockFormat.LineHeightTypes.FixedHeight.value)
        self._cursor.setBlockFormat(gap)
        self._cursor.insertText("\u00a0", _letters(1.0, canvas.INK))

    def _cell(self, head: bool, blank: bool) -> QTextTableCellFormat:
        style = QTextTableCellFormat()
        style.setTopPadding(3.0 * self._px)
        style.setBottomPadding(3.0 * self._px)
        style.setLeftPadding(_SIDE * self._px)
        style.setRightPadding(_SIDE * self._px)
        line = QTextFrameFormat.BorderStyle.BorderStyle_Solid
        colour = QBrush(QColor(canvas.INK if head or blank else canvas.RULE))
        style.setBottomBorder(1.2 * self._px if head else 0.6 * self._px)
        style.setBottomBorderStyle(line)
        style.setBottomBorderBrush(colour)
        if blank:
            for put_width, put_style, put_brush in (
                (style.setLeftBorder, style.setLeftBorderStyle, style.setLeftBorderBrush),
                (style.setRightBorder, style.setRightBorderStyle, style.setRightBorderBrush),
            ):
                put_width(0.6 * self._px)
                put_style(line)
                put_brush(colour)
        return style

    # --- paragraphs -----------------------------------------------------------------------

    def _style(self, before: float = 0, after: float = 6, keep: bool = False) -> QTextBlockFormat:
        style = QTextBlockFormat()
        style.setTopMargin(before * self._px)
        style.setBottomMargin(after * self._px)
        if keep:
            style.setProperty(KEEP, True)
        return style

    def _start(self, style: QTextBlockFormat) -> None:
        if self._fresh:
            # the empty paragraph that a document begins with
            self._cursor.setBlockFormat(style)
        else:
            self._cursor.insertBlock(style)
        self._fresh = False

    def _put(
        self,
        text: str,
        style: QTextBlockFormat,
        size: float = _SIZE,
        colour: str = canvas.INK,
        bold: bool = False,
    ) -> None:
        self._start(style)
        self._more(text, size, colour, bold)

    def _more(self, text: str, size: float, colour: str, bold: bool = False) -> None:
        self._cursor.insertText(clean(text).replace("\n", "\u2028"), _letters(size, colour, bold))

    def _thing(self, thing: Drawn, indent: float, keep: bool = False) -> None:
        style = self._style(before=2, after=4, keep=keep)
        style.setLeftMargin(indent * self._px)
        self._start(style)
        self._cursor.insertText(_OBJECT, self._drawer.place(thing))


def column_shares(table: Table, points: float, width: float, sides: float) -> list[float]:
    """Return how much of a table's width each column gets, adding up to 1.

    Numbers are not broken; words give way where there is not room for all.

    Parameters
    ----------
    table : Table
    points : float
        Text size.
    width, sides : float
        Width of the table, and what each cell has left and right together (pixels).
    """
    plain, bold = QFontMetricsF(font(points)), QFontMetricsF(font(points, bold=True))
    whole, least = [], []
    for column, head in enumerate(table.head):
        words = column == 0 or column in table.worded
        texts = [clean(row[column]) for row in table.rows if row[column] != BLANK]
        body = max((plain.horizontalAdvance(text) for text in texts), default=0.0)
        parts = [part for text in texts for part in text.split()] if words else texts
        longest = max((plain.horizontalAdvance(part) for part in parts), default=0.0)
        name = max(bold.horizontalAdvance(part) for part in head.split() or [""])
        least.append(max(longest, name) + sides + 1.0)
        whole.append(max(body, bold.horizontalAdvance(head), name) + sides + 1.0)
    spare = width - sum(least)
    wish = sum(w - m for w, m in zip(whole, least, strict=True))
    if spare > wish:
        given = [w * width / sum(whole) for w in whole]
    else:
        share = max(spare, 0.0) / wish if wish else 0.0
        given = [m + share * (w - m) for w, m in zip(whole, least, strict=True)]
    return [g / sum(given) for g in given]


def font(points: float, bold: bool = False, families: tuple[str, ...] = SANS) -> QFont:
    """Return a font of the report."""
    made = QFont()
    made.setFamilies(list(families))
    made.setPointSizeF(points)
    made.setBold(bold)
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    # joined letters would be copied from the page as one strange sign
    made.setFeature(QFont.Tag("liga"), 0)
    return made


def _letters(
    points: float, colour: str, bold: bool = False, families: tuple[str, ...] = SANS
) -> QTextCharFormat:
    style = QTextCharFormat()
    style.setFont(font(points, bold, families))
    style.setForeground(QBrush(QColor(colour)))
    return style
