"""What a caller may tell the measurement; everything is optional."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.quantity import Quantity

DEFAULT_SOUND_SPEED = Quantity(343.2, 3.0, "m/s")

SOURCE_KINDS = ("unknown", "tone", "wheel")


@dataclass(frozen=True)
class MeasureOptions:
    """Hints and prior knowledge for `wayside.measure.pipeline.measure`.

    Parameters
    ----------
    sound_speed : Quantity
        Speed of sound (m/s) with its standard uncertainty; the default is 20 °C air with an
        uncertainty of about 5 °C.
    start_s, stop_s : float or None
        Only look at this stretch of the recording's clock (s).
    band_hz : tuple of float or None
        Only look for pitches between these two (Hz).
    source_kind : str
        ``"tone"`` (pitch fixed: buzzer, horn, whistle), ``"wheel"`` (pitch tied to the
        speed) or ``"unknown"``.
    closest : Quantity or None
        Taped distance from microphone to track (m), used as prior knowledge.
    cycles_per_metre : Quantity or None
        Known treads per metre (1/m), used as prior knowledge for a wheel source.
    approach_window_s, recede_window_s : tuple of float or None
        Reading windows set by hand (s); None lets the program choose.
    clock_ppm : float
        Standard uncertainty of the recorder's clock (parts per million), which every pitch
        shares; the default is that of an ordinary quartz clock (common practice, no source).
    """

    sound_speed: Quantity = DEFAULT_SOUND_SPEED
    start_s: float | None = None
    stop_s: float | None = None
    band_hz: tuple[float, float] | None = None
    source_kind: str = "unknown"
    closest: Quantity | None = None
    cycles_per_metre: Quantity | None = None
    approach_window_s: tuple[float, float] | None = None
    recede_window_s: tuple[float, float] | None = None
    clock_ppm: float = 20.0
