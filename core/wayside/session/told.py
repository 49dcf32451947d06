"""What the hand tells the measurement of the sound: speed of sound, kind of source, distance.

The tread count is held back: a measurement that used it would no longer be an independent
check of the prediction.
"""

from __future__ import annotations

from wayside.hand.sources import SOURCE_KINDS
from wayside.measure.options import DEFAULT_SOUND_SPEED, MeasureOptions
from wayside.session.hand_form import SOURCE_KIND, FormReading
from wayside.session.session import Session


def measure_options(session: Session, reading: FormReading) -> MeasureOptions:
    """Return the options for measuring, from whatever is known by hand so far."""
    return MeasureOptions(
        sound_speed=reading.sound_speed or DEFAULT_SOUND_SPEED,
        source_kind=_source_kind(session, reading),
        closest=reading.closest,
        approach_window_s=session.windows.approach_s,
        recede_window_s=session.windows.recede_s,
    )


def _source_kind(session: Session, reading: FormReading) -> str:
    """Return the kind for measuring; unknown until the user said anything about the source."""
    said = SOURCE_KIND in session.choices or any(
        path.startswith("source.") for path in reading.entries
    )
    return SOURCE_KINDS[reading.draft.source_kind].measure_as if said else "unknown"
