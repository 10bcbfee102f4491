"""Small faults put into a module's source, one at a time: what a slip of the hand would do.

Kinds: a comparison moved by one or turned round, `and` for `or`, a number one more or one less, a truth value turned,
arithmetic swapped, a `not` or a minus lost, a condition turned round, what is returned turned round. Annotations,
docstrings, decorators and what only type checkers read are left alone: a fault there changes nothing.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["Spot", "spoilt", "spots"]

_COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt), ast.LtE: (ast.Lt, ast.GtE), ast.Gt: (ast.GtE, ast.Lt), ast.GtE: (ast.Gt, ast.LtE),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,)}
_SWAPPED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr}
_NUMBERS = ("float", "int", "FloatArray", "NDArray[np.float64]")


@dataclass(frozen=True)
class Spot:
    """One fault: where it goes and what it does.

    `order` counts the faults of one place; `within` is the outermost function around it ("<module>" if none), for
    those that are called when it runs.
    """

    line: int
    column: int
    end_column: int
    kind: str
    order: int
    text: str
    within: str


def spots(source: str) -> list[Spot]:
    """Return every fault that can be put into a source, in its order."""
    found = []
    for node, returns, within in _places(ast.parse(source)):
        for n, (kind, new) in enumerate(_faults(node, returns)):
            text = f"{_short(node)}  ->  {_short(new)}"
            found.append(Spot(node.lineno, node.col_offset, node.end_col_offset or 0, kind, n, text, within))
    return found


def spoilt(source: str, spot: Spot) -> ast.Module:
    """Return the source's tree with one fault in it. Raises ValueError where the source has no such place."""
    tree = ast.parse(source)
    for node, returns, _ in _places(tree):
        if (node.lineno, node.col_offset, node.end_col_offset) != (spot.line, spot.column, spot.end_column):
            continue
        for n, (kind, new) in enumerate(_faults(node, returns)):
            if (kind, n) == (spot.kind, spot.order):
                return ast.fix_missing_locations(_Swap(node, new).visit(tree))
    raise ValueError(f"no such place: {spot}")


class _Swap(ast.NodeTransformer):
    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self._old, self._new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        return ast.copy_location(self._new, node) if node is self._old else super().generic_visit(node)


def _places(node: ast.AST, returns: str = "", within: str = "",
            in_function: bool = False) -> Iterator[tuple[ast.expr | ast.stmt, str, str]]:
    """Go through what may be spoilt, with what the function around it says that it returns, and its name."""
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return
    if isinstance(node, ast.expr | ast.stmt):
        yield node, returns, within if in_function else "<module>"
    inner, inside, deeper = within, returns, in_function
    if isinstance(node, ast.FunctionDef | ast.ClassDef) and not in_function:
        inner = f"{within}.{node.name}".lstrip(".")
    if isinstance(node, ast.FunctionDef):
        inside, deeper = ast.unparse(node.returns) if node.returns else "", True
    for name, field in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "ops", "op", "ctx"):
            continue
        body = name == "body" or isinstance(node, ast.expr | ast.ClassDef)
        for child in field if isinstance(field, list) else [field]:
            if not isinstance(child, ast.AST) or _said_only(child):
                continue
            if isinstance(node, ast.FunctionDef) and not body:  # a default: set when the function is made
                yield from _places(child, returns, within, in_function)
            else:
                yield from _places(child, inside, inner, deeper)


def _said_only(node: ast.AST) -> bool:
    """Whether this is a text by itself (a docstring), or the options of a cache."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    return isinstance(node, ast.keyword) and node.arg in ("maxsize", "strict")


def _faults(node: ast.expr | ast.stmt, returns: str) -> Iterator[tuple[str, ast.AST]]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        for op in _COMPARED[type(node.ops[0])]:
            yield "comparison", _with(node, ops=[op()])
    elif isinstance(node, ast.BoolOp):
        yield "and/or", _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield "truth", _with(node, value=not node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        for by in (1, -1):
            yield "constant", _with(node, value=node.value + by)
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in _SWAPPED:
        yield "arithmetic", _with(node, op=_SWAPPED[type(node.op)]())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        yield "sign lost", copy.deepcopy(node.operand)
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        yield "condition", _with(node, test=ast.UnaryOp(ast.Not(), copy.deepcopy(node.test)))
    elif isinstance(node, ast.Return) and node.value is not None:
        if returns == "bool":
            yield "returned", _with(node, value=ast.UnaryOp(ast.Not(), copy.deepcopy(node.value)))
        elif returns in _NUMBERS:
            yield "returned", _with(node, value=ast.UnaryOp(ast.USub(), copy.deepcopy(node.value)))


def _with(node: ast.AST, **changed: object) -> ast.AST:
    new = copy.copy(node)
    for name, value in changed.items():
        setattr(new, name, value)
    return ast.fix_missing_locations(new)


def _short(node: ast.AST) -> str:
    return ast.unparse(node).split("\n")[0][:90]
