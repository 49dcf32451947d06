"""An axis whose numbers bear the decimal sign of the language."""

from __future__ import annotations

import pyqtgraph as pg

from wayside_app.window import figures


class NumberAxis(pg.AxisItem):  # type: ignore[misc]
    """Ticks as usual, written as everywhere else in the window."""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        return [
            figures.local(text.replace("-", figures.MINUS))
            for text in super().tickStrings(values, scale, spacing)
        ]
