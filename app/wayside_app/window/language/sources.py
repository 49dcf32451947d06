"""Every text that can be translated, read from the program's own source.

``python -m wayside_app.window.language.sources de`` prints what a dictionary still lacks, as
JSON to be filled in.
"""

from __future__ import annotations

import ast
import json
import re
import string
import sys
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

_CALLS = {"tr": 0, "_tr": 0, "translate": 1}

_NOT_SHOWN = (
    "simulate/",
    "batch/",
    "report/contents/",
    "report/figures/",
    "report/from_session.py",
    "report/html.py",
    "report/material.py",
    "report/numbers.py",
    "report/style.py",
    "maths/",
    "session/plain.py",
    "session/session.py",
    "sound/decode_child.py",
    "decoding/framing.py",
    "film/film_text.py",
    "plan/picture.py",
    "listen/export.py",
    "listen/report.py",
    "measure/report_text.py",
    "measure/channels.py",
    "measure/mixture.py",
    "measure/unrest.py",
    "compare/comparison_text.py",
)
"""Modules of the core whose texts the window never shows."""

_FORMULA = re.compile(r"\\|<\w+>|^c = |^\W*$|^[{}\w]+ = ")
_UNITS = {"Hz", "s", "m", "ms", "dB", "u", "k", "n", "x"}
_LEAST_LETTERS = 2
_RAISED = {"WaysideError": 0, "InputError": 0, "Cancelled": 0, "step": 1}


def window_texts() -> set[str]:
    """Return every literal text handed to a translating call in the window's modules."""
    root = Path(str(resources.files("wayside_app.window")))
    return {text for path in sorted(root.rglob("*.py")) for text in _texts_in(path)}


def table_texts() -> set[str]:
    """Return the labels and hints of the core's tables that the window shows."""
    from wayside.hand.sections import MICROPHONE
    from wayside.hand.texts import translatable
    from wayside.session.ear_form import FIELDS
    from wayside.session.plan_form import SECTIONS

    texts = set(translatable().values())
    fields = [*MICROPHONE.fields, *FIELDS]
    for section in SECTIONS:
        texts.add(section.label)
        texts |= {way.label for way in section.ways}
        fields += section.fields
    for field in fields:
        texts |= {field.label, field.hint}
    return {text for text in texts if text}


def core_texts() -> dict[str, str]:
    """Return the sentences of the core, each with the place it is from.

    What is filled in stands as ``{a}``, ``{b}`` and so on, in order.
    """
    root = Path(str(resources.files("wayside")))
    found: dict[str, str] = {}
    for path in sorted(root.rglob("*.py")):
        name = path.relative_to(root).as_posix()
        if not name.startswith(_NOT_SHOWN):
            for line, text in sentences_in(path.read_text(encoding="utf-8")):
                found.setdefault(text, f"{name}:{line}")
    return found


def fault_texts() -> set[str]:
    """Return what the window itself says in faults and in progress, as patterns."""
    root = Path(str(resources.files("wayside_app.window")))
    found: set[str] = set()
    for path in sorted(root.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            argument = _argument(node, _RAISED)
            if isinstance(argument, ast.JoinedStr):
                found.add(skeleton(argument))
            elif isinstance(argument, ast.Constant) and isinstance(argument.value, str):
                found.add(argument.value)
    return {text for text in found if " " in text}


def sentences_in(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of every literal of a module that looks like words to be read."""
    tree = ast.parse(source)
    silent = {
        id(part)
        for node in ast.walk(tree)
        for part in (_silent_parts(node) if isinstance(node, ast.stmt | ast.JoinedStr) else ())
    }
    answers = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.IfExp)
        for branch in (node.body, node.orelse)
        for part in (branch.elts if isinstance(branch, ast.Tuple) else (branch,))
    }
    for node in ast.walk(tree):
        if id(node) in silent:
            continue
        if isinstance(node, ast.JoinedStr):
            text = skeleton(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        wordy = " " in text.strip() or (id(node) in answers and text.isalpha())
        if wordy and not _FORMULA.search(text):
            for line in filter(_has_words, text.split("\n")):
                yield node.lineno, line.strip()


def _has_words(text: str) -> bool:
    words = set(re.findall(r"[^\W\d_]+", re.sub(r"\{\w\}", "", text))) - _UNITS
    return any(len(word) >= _LEAST_LETTERS for word in words)


def skeleton(node: ast.JoinedStr) -> str:
    """Return a filled-in text as a pattern."""
    names = iter(string.ascii_lowercase)
    return "".join(
        str(part.value) if isinstance(part, ast.Constant) else f"{{{next(names)}}}"
        for part in node.values
    )


def _silent_parts(node: ast.AST) -> Iterator[ast.AST]:
    """Yield docstrings, and the pieces of filled-in texts, which are read with the whole."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node.value
    if isinstance(node, ast.JoinedStr):
        for part in node.values:
            if isinstance(part, ast.Constant):
                yield part
            elif isinstance(part, ast.FormattedValue) and part.format_spec is not None:
                yield part.format_spec


def _texts_in(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        argument = _argument(node, _CALLS)
        if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
            yield argument.value + _hint(node)


def _hint(node: ast.AST) -> str:
    """Return what tells two meanings of one text apart, as its key ends with it."""
    if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "tr" and node.args[1:]:
        told = node.args[1]
        if isinstance(told, ast.Constant) and isinstance(told.value, str):
            return f"|{told.value}"
    return ""


def _argument(node: ast.AST, calls: dict[str, int]) -> ast.expr | None:
    """Return the argument of a call that holds the text, None if it is another call."""
    if not isinstance(node, ast.Call):
        return None
    at = calls.get(getattr(node.func, "attr", getattr(node.func, "id", "")))
    return None if at is None or len(node.args) <= at else node.args[at]


def wanted() -> set[str]:
    """Return everything that a dictionary should hold."""
    return window_texts() | fault_texts() | table_texts() | set(core_texts())


def main() -> int:
    """Print what a dictionary lacks."""
    from wayside_app.window.language.dictionary import load_words

    words = load_words(sys.argv[1] if len(sys.argv) > 1 else "de")
    print(json.dumps({t: "" for t in sorted(wanted() - set(words))}, indent=1, ensure_ascii=False))
    return 0


if __name__ == "__main__":
    sys.exit(main())
