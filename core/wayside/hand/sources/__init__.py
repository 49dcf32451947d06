"""Every kind of source a demonstration may use; each module here that has a ``KIND`` is one."""

from __future__ import annotations

import pkgutil
from importlib import import_module

from wayside.hand.sources.kind import SourceKind

# in the order of a list to choose from, the usual ones first; any other comes after them
_FIRST = ("wheel", "tone", "siren_disk", "engine", "moving_observer", "both_moving", "whirled")


def _found() -> dict[str, SourceKind]:
    names = sorted(module.name for module in pkgutil.iter_modules(__path__))
    names.sort(key=lambda name: _FIRST.index(name) if name in _FIRST else len(_FIRST))
    modules = (import_module(f"{__name__}.{name}") for name in names)
    kinds = (getattr(module, "KIND", None) for module in modules)
    return {kind.key: kind for kind in kinds if isinstance(kind, SourceKind)}


SOURCE_KINDS: dict[str, SourceKind] = _found()
