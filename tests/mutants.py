"""What can be broken in a module: every change of one thing in one of its functions that still compiles."""

from __future__ import annotations

import ast
import copy
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType
from typing import Any

Where = tuple[str, int]
"""A function: its qualified name and its first line."""


@dataclass(frozen=True)
class Mutant:
    """One thing changed in one function."""

    path: Path
    where: Where
    line: int
    change: str
    code: CodeType
    """Of the function, changed."""
    key: str
    """Function, text of the line, change: what it is known by in the notes, wherever the line moves."""


_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
_TWINS = {
    "max": "min", "min": "max", "any": "all", "all": "any", "demand_up": "supply_down", "supply_down": "demand_up",
    "ceil": "floor", "floor": "ceil", "maximum": "minimum", "minimum": "maximum", "sin": "cos", "cos": "sin",
}  # fmt: skip


def _ways(node: ast.AST) -> Iterator[tuple[str, Callable[[Any], None]]]:
    """What can be done to a node: in words, and the doing."""
    if isinstance(node, ast.Compare):
        for place, op in enumerate(node.ops):
            other = _COMPARISONS[type(op)]
            yield f"{type(op).__name__} to {other.__name__}", lambda n, p=place, o=other: n.ops.__setitem__(p, o())
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        swap = _OPERATORS[type(node.op)]
        yield f"{type(node.op).__name__} to {swap.__name__}", lambda n, o=swap: setattr(n, "op", o())
    elif isinstance(node, ast.AugAssign) and type(node.op) in _OPERATORS:
        swap = _OPERATORS[type(node.op)]
        yield f"{type(node.op).__name__}= to {swap.__name__}=", lambda n, o=swap: setattr(n, "op", o())
    elif isinstance(node, ast.BoolOp):
        turned = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"{type(node.op).__name__} to {turned.__name__}", lambda n, o=turned: setattr(n, "op", o())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        kind = type(node.op).__name__
        yield f"{kind} taken out", lambda n: n.__dict__.update(op=ast.UAdd() if kind == "USub" else ast.Not()) or (
            setattr(n, "operand", ast.UnaryOp(ast.Not(), n.operand)) if kind == "Not" else None)  # fmt: skip
    elif isinstance(node, ast.Constant) and isinstance(node.value, (bool, int, float)):
        new = (not node.value) if isinstance(node.value, bool) else node.value + 1
        yield f"{node.value} to {new}", lambda n, v=new: setattr(n, "value", v)
    elif isinstance(node, (ast.If, ast.IfExp)):
        yield "branch turned round", lambda n: setattr(n, "test", ast.UnaryOp(ast.Not(), n.test))
    elif isinstance(node, ast.Return) and node.value is not None and not isinstance(node.value, ast.Constant):
        yield "nothing returned", lambda n: setattr(n, "value", ast.Constant(None))
    elif isinstance(node, ast.Call):
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        if name in _TWINS:
            field = "id" if isinstance(node.func, ast.Name) else "attr"
            yield f"{name} to {_TWINS[name]}", lambda n, f=field, t=_TWINS[name]: setattr(n.func, f, t)


def mutants(path: Path) -> list[Mutant]:
    """Every change to the functions of a module that still compiles, in the order of its lines."""
    source = path.read_text(encoding="utf-8")
    texts = source.splitlines()
    tree = ast.parse(source)
    seen: Counter[str] = Counter()
    left_out = {below for node in ast.walk(tree) for part in _said_only(node) for below in ast.walk(part)}
    made = []
    for place, node in enumerate(ast.walk(tree)):
        if node in left_out:
            continue
        for change, do in _ways(node):
            other = copy.deepcopy(tree)
            do(next(n for at, n in enumerate(ast.walk(other)) if at == place))
            ast.fix_missing_locations(other)
            before, after = (dict(_functions(compile(t, str(path), "exec"))) for t in (tree, other))
            changed = [where for where, code in after.items() if before.get(where) != code]
            if changed:  # else outside of functions
                outermost = min(changed, key=lambda where: where[0].count("."))
                line = node.lineno  # type: ignore[attr-defined]
                key = f"{outermost[0]} | {texts[line - 1].strip()} | {change}"
                seen[key] += 1
                again = f" ({seen[key]})" if seen[key] > 1 else ""
                made.append(Mutant(path, outermost, line, change, after[outermost], key + again))
    return sorted(made, key=lambda m: (m.line, m.change))


def _said_only(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that run at no time or only say something: annotations, what an assertion or error says."""
    if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.returns is not None:
        yield node.returns
    if isinstance(node, (ast.arg, ast.AnnAssign)) and node.annotation is not None:
        yield node.annotation
    if isinstance(node, (ast.Assert, ast.Raise, ast.JoinedStr)):
        yield node


def _functions(code: CodeType) -> Iterator[tuple[Where, CodeType]]:
    """The functions of a module's code that are not within another; those of its classes too."""
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            inside_class = not constant.co_flags & 0x2  # CO_NEWLOCALS: a class body has none
            if inside_class:
                yield from _functions(constant)
            elif not constant.co_name.endswith("comp>") and constant.co_name != "<genexpr>":  # these ran at the import
                yield (constant.co_qualname, constant.co_firstlineno), constant
