"""Small faults made on purpose in a source file: one operator, constant or condition at a time."""

from __future__ import annotations

import ast
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

_SWAPS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Mod: ast.Mult,
    ast.FloorDiv: ast.Mult,
}
_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_NAMES = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "argmax": "argmin",
    "any": "all", "all": "any",
}  # fmt: skip
_DROPPED_CALLS = {"abs", "sqrt", "log", "exp", "round", "sum", "diag"}


@dataclass(frozen=True)
class Mutant:
    """One fault.

    Parameters
    ----------
    line, column : int
        Where it is, from 1 and 0.
    kind : str
        What was done, e.g. ``"operator"``.
    before, after : str
        The expression and what became of it.
    source : str
        The whole file with the fault in it.
    nth : int
        Which of several alike in the file, from 1.
    """

    line: int
    column: int
    kind: str
    before: str
    after: str
    source: str
    nth: int = 1

    @property
    def key(self) -> str:
        """Name of the fault within its file; it does not change when other lines move."""
        nth = f" ({self.nth})" if self.nth > 1 else ""
        return f"{self.kind}: {self.before} -> {self.after}{nth}"


def mutants_of(source: str) -> list[Mutant]:
    """Return every fault this module knows how to make in a file, in the order of its lines."""
    tree = ast.parse(source)
    found = []
    for node in ast.walk(tree):
        for kind, changed in _changes(node):
            mutant = _spliced(source, node, kind, changed)
            if mutant is not None:
                found.append(mutant)
    found.sort(key=lambda m: (m.line, m.column, m.kind, m.after))
    seen: Counter[str] = Counter()
    numbered = []
    for mutant in found:
        seen[mutant.key] += 1
        numbered.append(replace(mutant, nth=seen[mutant.key]))
    return numbered


def some_of(mutants: list[Mutant], most: int, seed: int) -> list[Mutant]:
    """Return at most `most` of them, drawn without repeats, still in order."""
    if len(mutants) <= most:
        return mutants
    chosen = random.Random(seed).sample(range(len(mutants)), most)
    return [mutants[i] for i in sorted(chosen)]


def _changes(node: ast.AST) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(node, ast.BinOp):
        yield from _of_operation(node)
    elif isinstance(node, ast.Compare):
        yield from _of_comparison(node)
    elif isinstance(node, ast.BoolOp):
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield "and/or", ast.BoolOp(other, node.values)
        for i in range(len(node.values)):
            rest = node.values[:i] + node.values[i + 1 :]
            yield "condition dropped", rest[0] if len(rest) == 1 else ast.BoolOp(node.op, rest)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        yield "sign or not dropped", node.operand
    elif isinstance(node, ast.Constant):
        yield from _of_constant(node)
    elif isinstance(node, ast.Call):
        yield from _of_call(node)
    elif isinstance(node, ast.IfExp):
        yield "branches swapped", ast.IfExp(node.test, node.orelse, node.body)


def _of_operation(node: ast.BinOp) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(node.left, ast.JoinedStr) or _is_type_union(node):
        return
    swapped = _SWAPS.get(type(node.op))
    if swapped is not None:
        yield "operator", ast.BinOp(node.left, swapped(), node.right)
    if isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div):
        yield "term dropped", node.left
    if isinstance(node.op, ast.Add | ast.Mult):
        yield "term dropped", node.right


def _is_type_union(node: ast.BinOp) -> bool:
    return isinstance(node.op, ast.BitOr)


def _of_comparison(node: ast.Compare) -> Iterator[tuple[str, ast.expr]]:
    for i, op in enumerate(node.ops):
        for other in _COMPARISONS.get(type(op), ()):
            ops = [*node.ops[:i], other(), *node.ops[i + 1 :]]
            yield "comparison", ast.Compare(node.left, ops, node.comparators)


def _of_constant(node: ast.Constant) -> Iterator[tuple[str, ast.expr]]:
    value = node.value
    if isinstance(value, bool):
        yield "constant", ast.Constant(not value)
    elif isinstance(value, int):
        yield "constant", ast.Constant(value + 1)
    elif isinstance(value, float):
        yield "constant", ast.Constant(2.0 * value if value else 1.0)


def _of_call(node: ast.Call) -> Iterator[tuple[str, ast.expr]]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else None
    name = node.func.id if isinstance(node.func, ast.Name) else name
    if name in _NAMES:
        yield "function", ast.Call(_renamed(node.func, _NAMES[name]), node.args, node.keywords)
    if name in _DROPPED_CALLS and len(node.args) == 1 and not node.keywords:
        yield "function dropped", node.args[0]


def _renamed(func: ast.expr, name: str) -> ast.expr:
    if isinstance(func, ast.Attribute):
        return ast.Attribute(func.value, name)
    return ast.Name(name)


def _spliced(source: str, node: ast.AST, kind: str, changed: ast.expr) -> Mutant | None:
    lines = source.splitlines(keepends=True)
    start = (node.lineno, node.col_offset)  # type: ignore[attr-defined]
    stop = (node.end_lineno, node.end_col_offset)  # type: ignore[attr-defined]
    raw = [line.encode() for line in lines]
    first = sum(len(line) for line in raw[: start[0] - 1]) + start[1]
    last = sum(len(line) for line in raw[: stop[0] - 1]) + stop[1]
    data = source.encode()
    after = ast.unparse(ast.fix_missing_locations(changed))
    whole = data[:first] + b"(" + after.encode() + b")" + data[last:]
    text = whole.decode()
    try:
        compile(text, "mutant", "exec")
    except (SyntaxError, ValueError):
        return None  # inside a formatted text or a pattern, where no bracket may stand
    if ast.dump(ast.parse(text)) == ast.dump(ast.parse(source)):
        return None
    before = " ".join(data[first:last].decode().split())
    return Mutant(start[0], start[1], kind, before, after, text)
