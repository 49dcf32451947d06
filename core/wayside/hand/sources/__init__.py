"""Every kind of source a demonstration may use; a new one is one file and one line here."""

from __future__ import annotations

from wayside.hand.sources import tone, wheel
from wayside.hand.sources.kind import SourceKind

SOURCE_KINDS: dict[str, SourceKind] = {k.key: k for k in (wheel.KIND, tone.KIND)}
