"""What the fit leaves over: pitch followed minus pitch fitted."""

from __future__ import annotations

import numpy as np

from wayside.report.curves import FloatArray, PlotData
from wayside.report.figures.axes import Axes
from wayside.report.figures.canvas import INK, QUIET, SOUND, Canvas, Figure

_HEIGHT, _TOP, _PLOT_HEIGHT = 218.0, 12.0, 158.0
_MOST = 240
_PERCENTILE = 98.0


def residuals_figure(
    data: PlotData, span: tuple[float, float], name: str = "residuals"
) -> Figure | None:
    """Return the figure, or None where there are no residuals.

    Parameters
    ----------
    data : PlotData
    span : tuple of float
        Times of the axis (s), the same as those of the spectrogram above.
    name : str
        File name without its ending.
    """
    good = np.isfinite(data.residual_cents) & np.isfinite(data.residual_times_s)
    times, cents = data.residual_times_s[good], data.residual_cents[good]
    bars = np.nan_to_num(data.residual_u_cents[good])
    if times.size < 2:
        return None
    # one wild point must not press all others flat; what lies beyond sits at the edge
    reach = 1.3 * float(np.percentile(np.abs(cents) + bars, _PERCENTILE)) or 1.0
    canvas = Canvas(name, _HEIGHT)
    axes = Axes.across(canvas, _TOP, _PLOT_HEIGHT, span, (-reach, reach))
    zero = axes.at(0.0, 0.0)[1]
    canvas.line((axes.left, zero), (axes.left + axes.width, zero), INK, 1.2)
    every = max(1, -(-times.size // _MOST))
    for t, c, u in zip(times[::every], cents[::every], bars[::every], strict=True):
        if not span[0] <= t <= span[1]:
            continue
        canvas.line(axes.at(t, c - u), axes.at(t, c + u), SOUND, 0.9)
        canvas.dot(axes.at(t, c), 2.0, SOUND)
    axes.draw("time (s)", "residual (cents)", (9, 5))
    if every > 1:
        right = axes.left + axes.width - 6
        canvas.words((right, axes.top + 16), f"every {every}th point", QUIET, "end")
    return canvas.done("Residuals of the fit", _description(cents, bars))


def _description(cents: FloatArray, bars: FloatArray) -> str:
    rms = float(np.sqrt(np.mean(cents**2)))
    within = float(np.mean(np.abs(cents) <= np.maximum(bars, 1e-12)))
    return (
        f"Pitch followed minus pitch fitted, {cents.size} points: they scatter by {rms:.2g} cents "
        f"about zero, and {100 * within:.0f} % lie within one standard uncertainty of it."
    )
