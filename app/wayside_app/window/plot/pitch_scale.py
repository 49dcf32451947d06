"""The pitch axis: even in hertz, or even in octaves with note names if wanted.

Notes are equal-tempered with a1 = 440 Hz (ISO 16:1975).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyqtgraph as pg
from PySide6.QtCore import QLocale

from wayside_app.window import figures

FloatArray = npt.NDArray[np.float64]

LOWEST_HZ = 20.0
_A4_HZ = 440.0
_A4_NUMBER = 69
_NOTES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")
_NOTES_BY_LANGUAGE = {
    "de": ("C", "Cis", "D", "Es", "E", "F", "Fis", "G", "As", "A", "B", "H"),
}
_MOST_TICKS = 9
_NICE = (1.0, 2.0, 2.5, 5.0)


@dataclass(frozen=True)
class PitchScale:
    """How pitch becomes a place on the plot.

    Parameters
    ----------
    octaves : bool
        Even in octaves rather than in hertz.
    notes : bool
        Mark notes rather than round numbers of hertz; only with octaves.
    """

    octaves: bool = False
    notes: bool = False

    def place(self, hz: npt.ArrayLike) -> FloatArray:
        """Return the plot's vertical coordinate of pitches (Hz)."""
        pitches = np.asarray(hz, dtype=np.float64)
        return np.log2(np.maximum(pitches, LOWEST_HZ)) if self.octaves else pitches

    def pitch(self, place: float) -> float:
        """Return the pitch (Hz) at a vertical coordinate."""
        return float(2.0 ** min(place, 30.0)) if self.octaves else float(place)


HERTZ = PitchScale()


class PitchAxis(pg.AxisItem):  # type: ignore[misc]
    """Ticks at round numbers of hertz, or at notes, whatever the scale."""

    def __init__(self, orientation: str = "left") -> None:
        super().__init__(orientation)
        self.scale_ = HERTZ

    def use(self, scale: PitchScale) -> None:
        """Take a scale."""
        self.scale_ = scale
        self.picture = None
        self.update()

    def tickValues(
        self, minimum: float, maximum: float, size: float
    ) -> list[tuple[float, list[float]]]:
        low, high = self.scale_.pitch(minimum), self.scale_.pitch(maximum)
        most = max(2, min(_MOST_TICKS, int(size / 28)))
        if self.scale_.notes:
            ticks = note_ticks(low, high, most)
        elif self.scale_.octaves and high > 4 * low:
            ticks = round_ticks(low, high)
        else:
            ticks = even_ticks(low, high, most)
        return [(1.0, [float(y) for y in self.scale_.place(ticks)])] if ticks else []

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        pitches = [self.scale_.pitch(v) for v in values]
        if self.scale_.notes:
            return [f"{note_name(hz)}  {figures.plain(hz, 0)}" for hz in pitches]
        step = min(np.diff(pitches)) if len(pitches) > 1 else 1.0
        places = max(0, math.ceil(-math.log10(step) - 1e-9)) if step > 0 else 0
        return [figures.plain(hz, min(places, 3)) for hz in pitches]


def note_number(hz: float) -> float:
    """Return the note's number, 69 for a1, one a semitone."""
    return _A4_NUMBER + 12.0 * math.log2(hz / _A4_HZ)


def note_name(hz: float) -> str:
    """Return the nearest note with its octave, e.g. ``A4`` for 440 Hz."""
    number = round(note_number(hz))
    names = _NOTES_BY_LANGUAGE.get(QLocale().name()[:2], _NOTES)
    return f"{names[number % 12]}{number // 12 - 1}"


def note_ticks(low: float, high: float, most: int) -> list[float]:
    """Return the pitches of notes in a range, thinned to at most `most`."""
    first, last = math.ceil(note_number(max(low, 1.0))), math.floor(note_number(max(high, 1.0)))
    step = next((s for s in (1, 2, 3, 4, 6, 12, 24) if (last - first) / s < most), 24)
    first += -first % step
    return [_A4_HZ * 2.0 ** ((n - _A4_NUMBER) / 12.0) for n in range(first, last + 1, step)]


def even_ticks(low: float, high: float, most: int) -> list[float]:
    """Return round pitches at even steps, at most `most`."""
    raw = (high - low) / most
    if not raw > 0:
        return []
    power = 10.0 ** math.floor(math.log10(raw))
    step = next((n * power for n in _NICE if n * power >= raw), 10.0 * power)
    return [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def round_ticks(low: float, high: float) -> list[float]:
    """Return 1, 2, 5 and their tenfolds in a range."""
    powers = range(math.floor(math.log10(max(low, 1.0))), math.ceil(math.log10(max(high, 1.0))) + 1)
    values = [n * 10.0**p for p in powers for n in (1.0, 2.0, 5.0)]
    return [v for v in values if low <= v <= high]
