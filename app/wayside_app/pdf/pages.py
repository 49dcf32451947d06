"""Where pages end: never after a heading, never between a row and its padding."""

from __future__ import annotations

from PySide6.QtGui import (
    QAbstractTextDocumentLayout,
    QTextBlock,
    QTextCursor,
    QTextDocument,
    QTextFormat,
    QTextTable,
)

from wayside.jobs import Job
from wayside_app.pdf.text import KEEP

_MOST_PASSES = 300
_NUDGE = 7.0
_SHORT = 8
"""Lines up to which a paragraph is kept on one page."""

_BEFORE = QTextFormat.PageBreakFlag.PageBreak_AlwaysBefore


def break_pages(document: QTextDocument, job: Job) -> None:
    """Move what a page end would cut apart.

    Parameters
    ----------
    document : QTextDocument
        With its page size set.
    job : Job
    """
    height = document.pageSize().height()
    layout = document.documentLayout()
    for attempt in range(_MOST_PASSES):
        job.step(attempt / _MOST_PASSES, "Breaking pages")
        moved = _lonely(document, layout, height) or _split(document, layout, height)
        if moved is not None:
            style = moved.blockFormat()
            style.setPageBreakPolicy(_BEFORE)
            style.setTopMargin(0.0)
            QTextCursor(moved).setBlockFormat(style)
            continue
        cut = next(iter(cut_tables(document)), None)
        if cut is None:
            return
        caption = document.findBlock(cut.firstPosition()).previous()
        style = caption.blockFormat()
        style.setTopMargin(style.topMargin() + _NUDGE)
        QTextCursor(caption).setBlockFormat(style)


def cut_tables(document: QTextDocument) -> list[QTextTable]:
    """Return the tables of which only the edge lies on the last of their pages."""
    height = document.pageSize().height()
    layout = document.documentLayout()
    tables = [f for f in document.rootFrame().childFrames() if isinstance(f, QTextTable)]
    return [table for table in tables if _is_cut(table, layout, height)]


def _is_cut(table: QTextTable, layout: QAbstractTextDocumentLayout, height: float) -> bool:
    """Tell whether the last row ends on a page and its padding on the next.

    The heading row would be repeated there, over whatever follows the table.
    """
    last = table.rows() - 1
    texts = (table.cellAt(last, k).lastCursorPosition().block() for k in range(table.columns()))
    lowest = max(layout.blockBoundingRect(block).bottom() for block in texts)
    bottom = layout.frameBoundingRect(table).bottom()
    return int((bottom - 0.01) // height) != int((lowest - 0.01) // height)


def _lonely(
    document: QTextDocument, layout: QAbstractTextDocumentLayout, height: float
) -> QTextBlock | None:
    """Return the first paragraph of a chain to be kept together that a page end cuts."""
    first: QTextBlock | None = None
    block = document.begin()
    while block.isValid():
        following = block.next()
        if not block.blockFormat().property(KEEP):
            first = None
        elif following.isValid():
            first = first if first is not None else block
            pages = [int(_top(layout, b) // height) for b in (first, following)]
            forced = first.blockFormat().pageBreakPolicy()
            if pages[0] != pages[1] and not forced & _BEFORE:
                return first
        block = following
    return None


def _split(
    document: QTextDocument, layout: QAbstractTextDocumentLayout, height: float
) -> QTextBlock | None:
    """Return the first short paragraph that a page end cuts in two."""
    block = document.begin()
    while block.isValid():
        lines = block.layout()
        if 1 < lines.lineCount() <= _SHORT and QTextCursor(block).currentTable() is None:
            top = layout.blockBoundingRect(block).top() + 1.0
            ends = (lines.lineAt(0).y(), lines.lineAt(lines.lineCount() - 1).y())
            pages = [int((top + y) // height) for y in ends]
            first = _chain_start(block)
            if pages[0] != pages[1] and not first.blockFormat().pageBreakPolicy() & _BEFORE:
                return first
        block = block.next()
    return None


def _chain_start(block: QTextBlock) -> QTextBlock:
    """Return the first of the paragraphs that have to stay with this one."""
    before = block.previous()
    while before.isValid() and before.blockFormat().property(KEEP):
        block, before = before, before.previous()
    return block


def _top(layout: QAbstractTextDocumentLayout, block: QTextBlock) -> float:
    """Return where the first line lies; a paragraph's own top may be on the page before."""
    lines = block.layout()
    first = lines.lineAt(0).y() if lines.lineCount() else 0.0
    return float(layout.blockBoundingRect(block).top() + first + 1.0)
