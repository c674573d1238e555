"""The single mutations of a module, and its text with one of them.

A mutation is one slip of a programmer: a limit that counts on the wrong side, a number that is one off, a condition
turned round, a result that is not returned, a step that is left out. Annotations, decorators and texts are left alone:
sentences are compared whole by the tests of the screens and reports.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
NOT_CARRIED_OUT = frozenset({"annotation", "returns", "decorator_list", "type_params", "bases", "keywords"})
"""Parts of a definition in which nothing happens when the program runs."""

Change = Callable[[ast.AST], ast.AST]


@dataclass(frozen=True)
class Mutant:
    """One mutation.

    Attributes:
        path: of the file, from the root.
        line: where it stands.
        kind: what is mutated.
        inside: the function or class it stands in; empty at the outermost level.
        before, after: the code in one line, as it is and as it becomes.
        number: which of the mutations of its file it is, from 0.
    """

    path: str
    line: int
    kind: str
    inside: str
    before: str
    after: str
    number: int

    @property
    def key(self) -> str:
        """It without line and number, which move with every edit."""
        return f"{self.path}: {self.inside}: {self.before} -> {self.after}"


@dataclass(frozen=True)
class _Spot:
    """A node, the way to it from the root of its tree, and what is made of it."""

    node: ast.AST
    way: tuple[tuple[str, int | None], ...]
    kind: str
    inside: str
    change: Change


def mutants(path: Path, root: Path) -> list[Mutant]:
    """Every mutation of a file, in the order of its text."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    name = path.relative_to(root).as_posix()
    found = []
    for number, spot in enumerate(_spots(tree)):
        before, after = _short(spot.node), _short(spot.change(copy.deepcopy(spot.node)))
        found.append(Mutant(name, getattr(spot.node, "lineno", 0), spot.kind, spot.inside, before, after, number))
    return found


def mutated(text: str, number: int) -> str:
    """The text of a module with its mutation of that number."""
    tree = ast.parse(text)
    spot = list(_spots(tree))[number]
    *to_parent, (field, place) = spot.way
    parent: ast.AST = tree
    for name, index in to_parent:
        parent = getattr(parent, name) if index is None else getattr(parent, name)[index]
    changed = spot.change(copy.deepcopy(spot.node))
    if place is None:
        setattr(parent, field, changed)
    else:
        getattr(parent, field)[place] = changed
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def run_lines(text: str, number: int) -> range | None:
    """The lines of which one is run whenever a mutation of that number is; None where it is run as the module loads."""
    tree = ast.parse(text)
    spot = list(_spots(tree))[number]
    statement, in_a_body, node = None, False, tree
    for name, index in spot.way:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and name == "body":
            in_a_body = True
        node = getattr(node, name) if index is None else getattr(node, name)[index]
        if isinstance(node, ast.stmt):
            statement = node
    if statement is None or not in_a_body:
        return None
    return range(statement.lineno, _end_of_head(statement) + 1)


def _end_of_head(statement: ast.stmt) -> int:
    """The last line of a statement, without the statements in it; a match is whole, its cases are asked in turn."""
    body = getattr(statement, "body", None)
    last = statement.end_lineno or statement.lineno
    return max(statement.lineno, body[0].lineno - 1) if isinstance(body, list) else last


def _short(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())[:160]


def _spots(node: ast.AST, way: tuple[tuple[str, int | None], ...] = (), inside: str = "") -> Iterator[_Spot]:
    yield from (_Spot(node, way, kind, inside, change) for kind, change in _changes(node))
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        inside = f"{inside}.{node.name}".lstrip(".")
    if isinstance(node, ast.JoinedStr | ast.Raise):  # what is said, not what is done
        return
    for field, value in ast.iter_fields(node):
        if field in NOT_CARRIED_OUT and not isinstance(node, ast.Call):
            continue
        parts = enumerate(value) if isinstance(value, list) else [(None, value)]
        for place, part in parts:
            if isinstance(part, ast.AST) and not _is_docstring(part):
                yield from _spots(part, (*way, (field, place)), inside)


def _is_docstring(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.stmt):
        yield from _of_a_statement(node)
    else:
        yield from _of_an_expression(node)


def _of_a_statement(node: ast.stmt) -> Iterator[tuple[str, Change]]:
    match node:
        case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
            yield "return", lambda _: ast.Return(ast.Constant(None))
        case ast.Raise() | ast.Break() | ast.Continue() | ast.AugAssign() | ast.Delete() | ast.Expr():
            yield "removed statement", lambda _: ast.Pass()
        case ast.Assign(targets=[ast.Attribute() | ast.Subscript()]):
            yield "removed statement", lambda _: ast.Pass()


def _of_an_expression(node: ast.AST) -> Iterator[tuple[str, Change]]:
    match node:
        case ast.Compare(ops=[operator]) if type(operator) in COMPARED:
            yield "comparison", _compared_otherwise
        case ast.BoolOp():
            yield "boolean operator", _joined_otherwise
        case ast.UnaryOp(op=ast.Not()):
            yield "boolean operator", lambda whole: whole.operand  # type: ignore[attr-defined]
        case ast.BinOp(op=operator, left=left, right=right) if type(operator) in RECKONED and not _texts(left, right):
            yield "arithmetic", _reckoned_otherwise
        case ast.Constant(value=bool() as said):
            yield "constant", lambda _: ast.Constant(not said)
        case ast.Constant(value=int() | float() as number):
            yield "constant", lambda _: ast.Constant(number + 1)


def _texts(*nodes: ast.AST) -> bool:
    """Whether one of them is a text, which is joined and not reckoned with."""
    return any(
        isinstance(n, ast.JoinedStr) or (isinstance(n, ast.Constant) and isinstance(n.value, str)) for n in nodes
    )


def _compared_otherwise(node: ast.AST) -> ast.AST:
    assert isinstance(node, ast.Compare)  # noqa: S101 - narrows the type
    node.ops = [COMPARED[type(node.ops[0])]()]
    return node


def _joined_otherwise(node: ast.AST) -> ast.AST:
    assert isinstance(node, ast.BoolOp)  # noqa: S101 - narrows the type
    node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    return node


def _reckoned_otherwise(node: ast.AST) -> ast.AST:
    assert isinstance(node, ast.BinOp)  # noqa: S101 - narrows the type
    node.op = RECKONED[type(node.op)]()
    return node
