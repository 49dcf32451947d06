"""Every word of the hand measurements that a form shows, in one table for translators."""

from __future__ import annotations

from wayside.hand.fields import Section
from wayside.hand.inputs import FORMULA_ERROR, TOOL_SCALE
from wayside.hand.predict import RESULTS
from wayside.hand.setup import sections_of
from wayside.hand.sources import SOURCE_KINDS
from wayside.physics.air import AIR_FORMULAS


def translatable() -> dict[str, str]:
    """Return the English words by key, e.g. ``"motion.speed:hint"``.

    Keys end in ``:label`` or ``:hint`` and begin with the dotted path of a field, the key of a
    section, ``section.way``, ``kind.KIND``, ``formula.KEY`` or ``result.NAME``.
    """
    words = {}
    for key, kind in SOURCE_KINDS.items():
        words[f"kind.{key}:label"] = kind.label
        for section in sections_of(key):
            words |= _section(section, key)
    for field in (FORMULA_ERROR, TOOL_SCALE):
        words |= {f"{field.path}:label": field.label, f"{field.path}:hint": field.hint}
    words |= {f"formula.{key}:label": f.label for key, f in AIR_FORMULAS.items()}
    return words | {f"result.{name}:label": label for name, (label, _) in RESULTS.items()}


def _section(section: Section, kind: str) -> dict[str, str]:
    head = f"source.{kind}" if section.key == "source" else section.key
    words = {f"{head}:label": section.label}
    words |= {f"{head}.{way.key}:label": way.label for way in section.ways}
    for field in section.fields:
        words[f"{field.path}:label"] = field.label
        words[f"{field.path}:hint"] = field.hint
    return words
