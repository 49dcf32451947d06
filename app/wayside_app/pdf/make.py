"""A report as PDF bytes: pages, page numbers, and nothing in it that tells when it was made."""

from __future__ import annotations

import re

from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QHashSeed,
    QIODevice,
    QMarginsF,
    QPointF,
    QRectF,
    Qt,
    QUuid,
)
from PySide6.QtGui import (
    QAbstractTextDocumentLayout,
    QColor,
    QFont,
    QFontDatabase,
    QFontInfo,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QTextDocument,
)

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.report.blocks import Report
from wayside.report.figures.canvas import QUIET as QUIET_COLOUR
from wayside_app.pdf.application import application
from wayside_app.pdf.pages import break_pages
from wayside_app.pdf.text import Setter, font

_MARGIN_MM = 16.0
_FOOT_MM = 8.0
_DATE = re.compile(rb"/(?:Creation|Mod)Date \(D:[^)]*\)")
_STAMP = re.compile(rb' xmp:(?:Create|Modify|Metadata)Date="[^"]*"')
_NAMESPACE = QUuid("{5f0c7c0e-2d3f-5b52-9a55-0c6b1c1f7a11}")


def make_pdf(report: Report, job: Job = QUIET) -> bytes:
    """Return the report as a PDF with vector figures and text that can be selected.

    Parameters
    ----------
    report : Report
    job : Job, optional

    Raises
    ------
    InputError
        If no font is installed.
    Cancelled
        If the job was stopped.
    """
    running = application()
    # else the order of the fonts within the file changes from run to run
    QHashSeed.setDeterministicGlobalSeed()
    try:
        return _made(report, job)
    finally:
        QHashSeed.resetRandomGlobalSeed()
        del running


def _made(report: Report, job: Job) -> bytes:
    if not QFontDatabase.families():
        raise InputError(
            "No font is installed, so no PDF can be set; install one, or write an .html report."
        )
    job.step(0.0, "Setting the report")
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    dpi = float(QFontInfo(_inch_font()).pixelSize())
    writer = QPdfWriter(buffer)
    writer.setResolution(round(dpi))
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    margins = QMarginsF(_MARGIN_MM, _MARGIN_MM, _MARGIN_MM, _MARGIN_MM + _FOOT_MM)
    writer.setPageMargins(margins, QPageLayout.Unit.Millimeter)
    writer.setTitle(report.title)
    writer.setCreator("Wayside")
    area = writer.pageLayout().paintRectPixels(round(dpi))
    document = Setter(area.width(), area.height(), dpi).set_report(report)
    break_pages(document, job.part(0.1, 0.6))
    # the identity follows from the content, so that the same content gives the same bytes
    if hasattr(writer, "setDocumentId"):
        writer.setDocumentId(QUuid.createUuidV5(_NAMESPACE, document.toPlainText().encode()))
    painter = QPainter(writer)
    try:
        painter.setRenderHint(QPainter.RenderHint.LosslessImageRendering)
        _draw(painter, writer, document, report.title, job.part(0.6, 1.0))
    finally:
        painter.end()
        buffer.close()
    return _undated(bytes(data.data()))


def _draw(
    painter: QPainter, writer: QPdfWriter, document: QTextDocument, title: str, job: Job
) -> None:
    page = document.pageSize()
    count = document.pageCount()
    context = QAbstractTextDocumentLayout.PaintContext()
    for k in range(count):
        job.step(k / count, "Drawing the pages")
        if k:
            writer.newPage()
        view = QRectF(0.0, k * page.height(), page.width(), page.height())
        painter.save()
        painter.translate(0.0, -view.top())
        painter.setClipRect(view)
        # a line that begins where the page ends belongs to the next page alone
        context.clip = view.adjusted(0.0, 0.0, 0.0, -1.0)
        document.documentLayout().draw(painter, context)
        painter.restore()
        painter.setFont(font(8.0))
        painter.setPen(QColor(QUIET_COLOUR))
        metrics = painter.fontMetrics()
        y = page.height() + 2.2 * metrics.height()
        number = f"{k + 1} / {count}"
        right = page.width() - metrics.horizontalAdvance(number)
        short = metrics.elidedText(title, Qt.TextElideMode.ElideRight, round(0.8 * page.width()))
        painter.drawText(QPointF(0.0, y), short)
        painter.drawText(QPointF(right, y), number)


def _inch_font() -> QFont:
    made = QFont()
    made.setPointSizeF(72.0)
    return made


def _undated(pdf: bytes) -> bytes:
    """Blank out when the file was made, length kept so that its table of places stays true."""
    for stamp in (_DATE, _STAMP):
        pdf = stamp.sub(lambda m: b" " * len(m.group()), pdf)
    return pdf
