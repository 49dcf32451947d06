"""Figures of a report as PNG pictures."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from wayside.report.figures.canvas import UNITS_A_MM, Figure
from wayside_app.pdf.application import application

DOTS_PER_INCH = 300.0


def figure_png(figure: Figure) -> bytes:
    """Return a figure as a PNG at `DOTS_PER_INCH`."""
    running = application()
    scale = DOTS_PER_INCH / 25.4 / UNITS_A_MM
    image = QImage(
        round(figure.width * scale), round(figure.height * scale), QImage.Format.Format_RGB32
    )
    image.fill(0xFFFFFFFF)
    image.setDotsPerMeterX(round(DOTS_PER_INCH / 0.0254))
    image.setDotsPerMeterY(round(DOTS_PER_INCH / 0.0254))
    painter = QPainter(image)
    QSvgRenderer(figure.as_file()).render(painter)
    painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    buffer.close()
    del running
    return bytes(data.data())
