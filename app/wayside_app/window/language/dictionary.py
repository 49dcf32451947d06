"""Looking texts up: whole ones, and sentences with something filled in by the words around it.

The core writes its sentences whole and knows of no language. A key with ``{…}`` is therefore a
pattern: what stands in the gaps is found again by the fixed words, translated in its turn where
it is in the dictionary, and set into the translation.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources

from wayside_app.window.language.numbers import with_sign

ENGLISH, GERMAN = "en", "de"
LANGUAGES = {ENGLISH: "English", GERMAN: "Deutsch"}
DECIMAL_SIGNS = {ENGLISH: ".", GERMAN: ","}

_JOINED = {GERMAN: {" and ": " und ", " or ": " oder "}}
WORDS, SENTENCES = "words", "sentences"
"""The window's own texts and the core's labels; and what the core says, mostly as patterns."""

_GAP = re.compile(r"\{(\w*)\}")
_GAPS = (r"(?:(?!\. [A-Z“]).)*", r".*")
"""What may stand in a gap: a piece of one sentence, or anything."""

_SPACE = re.escape(" ")
_BETWEEN = re.compile(r"(?<=[.!?])\s+(?=[A-Z“])")
_MANY_WORDS = 3
_REMEMBERED = 2000


def load_words(language: str, *names: str) -> dict[str, str]:
    """Return the entries of a language, of all its files or of some; English has none."""
    if language == ENGLISH:
        return {}
    found: dict[str, str] = {}
    for name in names or (WORDS, SENTENCES):
        entry = resources.files("wayside_app.window") / f"assets/{name}.{language}.json"
        words = json.loads(entry.read_text(encoding="utf-8"))
        found |= {str(key): str(value) for key, value in words.items()}
    return found


@dataclass(frozen=True)
class _Pattern:
    """A text with gaps, once with gaps that end with the sentence and once without."""

    longest: str
    close: re.Pattern[str]
    loose: re.Pattern[str]
    translation: str
    names: tuple[str, ...]


@dataclass
class Dictionary:
    """One language.

    Parameters
    ----------
    words : dict of str to str
        English text to its translation.
    language : str
    sentences : dict of str to str
        The same, where a text may be a pattern.
    """

    words: dict[str, str]
    language: str = ENGLISH
    sentences: dict[str, str] = field(default_factory=dict)
    _patterns: list[_Pattern] = field(default_factory=list)
    _remembered: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        keys = [key for key in self.sentences if _GAP.search(key) and _has_words(key)]
        # the more of a sentence is fixed, the surer the match
        keys.sort(key=lambda key: -len(_GAP.sub("", key)))
        self._patterns = [_pattern(key, self.sentences[key]) for key in keys]

    def exact(self, text: str) -> str | None:
        """Return the translation of a whole text, None if there is none."""
        return self.words.get(text) or self.sentences.get(text) or None

    def sentence(self, text: str) -> str:
        """Return the translation of what the core says; a text that is unknown stays as it is."""
        if self.language == ENGLISH or not text:
            return text
        if text not in self._remembered:
            if len(self._remembered) > _REMEMBERED:
                self._remembered.clear()
            self._remembered[text] = "\n".join(self._line(line) for line in text.split("\n"))
        return self._remembered[text]

    def knows(self, text: str) -> bool:
        """Tell whether the whole of a text can be translated."""
        return self._found(text.strip()) is not None

    def _line(self, text: str) -> str:
        bare = text.strip()
        if not bare:
            return text
        found = self._found(bare)
        if found is None:
            found = with_sign(bare, DECIMAL_SIGNS[self.language])
        start = text.index(bare)
        if found[0] in ",;:":
            return text[:start].rstrip() + found + text[start + len(bare) :]
        return text[:start] + found + text[start + len(bare) :]

    def _found(self, text: str) -> str | None:
        return (
            self._whole(text)
            or self._list(text)
            or self._by_pattern(text, close=True)
            or self._sentences(text)
            or self._after_name(text)
            or self._by_pattern(text, close=False)
        )

    def _whole(self, text: str) -> str | None:
        found = self.exact(text)
        if found is None and text[:1].isupper():
            found = self.exact(text[:1].lower() + text[1:])
            if found is not None:
                found = found[:1].upper() + found[1:]
        return found

    def _by_pattern(self, text: str, close: bool) -> str | None:
        """Translate by the first pattern whose gaps hold nothing strange, else by the first."""
        fitting = list(self._fitting(text, close))
        sure = (fit for fit in fitting if all(map(self._familiar, fit[1].values())))
        pattern, parts = next(sure, fitting[0] if fitting else (None, {}))
        if pattern is None:
            return None
        told = {name: self._line(part) for name, part in parts.items()}
        return _GAP.sub(lambda gap: told[gap[1]], pattern.translation)

    def _fitting(self, text: str, close: bool) -> Iterator[tuple[_Pattern, dict[str, str]]]:
        for pattern in self._patterns:
            if pattern.longest not in text:
                continue
            match = (pattern.close if close else pattern.loose).fullmatch(text)
            if match is not None:
                yield pattern, dict(zip(pattern.names, match.groups(), strict=True))

    def _familiar(self, part: str) -> bool:
        """Tell whether a piece is short, as numbers and names are, or itself in the dictionary."""
        part = part.strip()
        if part.count(" ") < _MANY_WORDS or self._whole(part) or self._list(part):
            return True
        return any(
            all(map(self._familiar, parts.values())) for _, parts in self._fitting(part, True)
        )

    def _sentences(self, text: str) -> str | None:
        """Translate sentences that follow each other; one key may span several of them."""
        pieces = _BETWEEN.split(text)
        if len(pieces) < 2:
            return None
        done: list[str] = []
        known = False
        while pieces:
            for count in range(len(pieces), 0, -1):
                head = " ".join(pieces[:count])
                found = self._whole(head) or self._by_pattern(head, close=True)
                if found is not None or count == 1:
                    known = known or found is not None
                    done.append(found or with_sign(head, DECIMAL_SIGNS[self.language]))
                    del pieces[:count]
                    break
        return " ".join(done) if known else None

    def _after_name(self, text: str) -> str | None:
        """Translate what follows the name of a file, or of something else, and a colon."""
        name, colon, rest = text.partition(": ")
        found = self._found(rest) if colon else None
        return None if found is None else f"{self._whole(name) or name}: {found}"

    def _list(self, text: str) -> str | None:
        joined = _JOINED.get(self.language, {})
        parts = re.split(f"(, {''.join(f'|{word}' for word in joined)})", text)
        if len(parts) < 3:
            return None
        found = [joined.get(p, p) if at % 2 else self._whole(p) for at, p in enumerate(parts)]
        return None if None in found else "".join(p or "" for p in found)


def _has_words(key: str) -> bool:
    return sum(c.isalpha() for c in _GAP.sub("", key)) > 1


def _pattern(key: str, translation: str) -> _Pattern:
    names = tuple(gap.group(1) for gap in _GAP.finditer(key))
    parts = [re.escape(part) for part in _GAP.split(key)[::2]]
    close, loose = (re.compile(_joined(parts, gap), re.DOTALL) for gap in _GAPS)
    longest = max(_GAP.split(key)[::2], key=len)
    return _Pattern(longest, close, loose, translation, names)


def _joined(parts: list[str], gap: str) -> str:
    """Join fixed parts by gaps; of two neighbouring gaps the first holds all words but the last."""
    text = parts[0]
    for before, after in itertools.pairwise(parts):
        greedy = bool(before) and after == _SPACE
        text += f"({gap}{'' if greedy else '?'}){after}"
    return text


@lru_cache(maxsize=1)
def _state() -> dict[str, Dictionary]:
    return {"now": Dictionary({})}


def current() -> Dictionary:
    """Return the dictionary in use."""
    return _state()["now"]


def dictionary_of(language: str) -> Dictionary:
    """Return the dictionary of a language."""
    return Dictionary(load_words(language, WORDS), language, load_words(language, SENTENCES))


def put(dictionary: Dictionary) -> None:
    """Have a dictionary in use from now on."""
    _state()["now"] = dictionary
