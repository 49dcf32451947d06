"""Every kind of source a demonstration may use; a new one is one file and one line here."""

from __future__ import annotations

from wayside.hand.sources import (
    both_moving,
    engine,
    moving_observer,
    siren_disk,
    tone,
    wheel,
    whirled,
)
from wayside.hand.sources.kind import SourceKind

_MODULES = (wheel, tone, siren_disk, engine, moving_observer, both_moving, whirled)

SOURCE_KINDS: dict[str, SourceKind] = {m.KIND.key: m.KIND for m in _MODULES}
