"""What the hand tells the measurement of the sound; worked out in the core."""

from __future__ import annotations

from wayside.session.told import measure_options

__all__ = ["measure_options"]
