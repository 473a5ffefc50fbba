"""The changes: one small thing said otherwise, somewhere in a function."""

import ast
import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
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
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.FloorDiv,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True)
class Mutant:
    """One change of a module: `name` says where and what; the node at `place` of a walk becomes `new`."""

    name: str
    line: int
    place: int
    new: ast.AST

    def applied(self, source: str) -> ast.Module:
        """Give the module with the change."""
        tree = ast.parse(source)
        old = list(ast.walk(tree))[self.place]
        for parent in ast.walk(tree):
            for field, value in ast.iter_fields(parent):
                if value is old:
                    setattr(parent, field, self.new)
                elif isinstance(value, list) and any(child is old for child in value):
                    setattr(parent, field, [self.new if child is old else child for child in value])
        return ast.fix_missing_locations(tree)


def mutants(source: str) -> list[Mutant]:
    """Give every change of a module, in the order of its lines."""
    tree = ast.parse(source)
    functions = _functions(tree)
    places = [(place, node) for place, node in enumerate(ast.walk(tree)) if node in functions]
    places.sort(key=lambda found: (_line(found[1]), getattr(found[1], "col_offset", 0)))
    seen: Counter[str] = Counter()
    found = []
    for place, node in places:
        for said, new in _changes(node):
            name = f"{functions[node]}: {said}"
            seen[name] += 1
            numbered = name if seen[name] == 1 else f"{name} #{seen[name]}"
            found.append(Mutant(numbered, _line(node), place, new))
    return found


def _line(node: ast.AST) -> int:
    """Give the line of a node; of one without a line that of its first child."""
    return next((child.lineno for child in ast.walk(node) if isinstance(child, ast.expr | ast.stmt)), 0)


def _functions(tree: ast.Module) -> dict[ast.AST, str]:
    """Name the function each node lies in; docstrings, annotations and decorators lie in none."""
    found: dict[ast.AST, str] = {}
    for node, names in _bodies(tree, ()):
        for statement in _said(node):
            for inner in _within(statement):
                found[inner] = ".".join(names)
    return found


def _bodies(node: ast.AST, names: tuple[str, ...]) -> Iterator[tuple[ast.FunctionDef, tuple[str, ...]]]:
    """Find every function, with the names of what it lies in."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef):
            yield child, (*names, child.name)
        if isinstance(child, ast.FunctionDef | ast.ClassDef):
            yield from _bodies(child, (*names, child.name))


def _within(node: ast.AST) -> Iterator[ast.AST]:
    """Walk a statement, but no function in it and no annotation."""
    if isinstance(node, ast.FunctionDef):
        return
    yield node
    for field, value in ast.iter_fields(node):
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and field != "annotation":
                yield from _within(child)


def _said(node: ast.FunctionDef) -> list[ast.stmt]:
    """Give the statements of a function without its docstring."""
    first = node.body[0]
    documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    return node.body[1:] if documented else node.body


def _changes(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Give the changes of one node: what is said of it, and the node in its place."""
    match node:
        case ast.Compare() | ast.BoolOp() | ast.UnaryOp() | ast.BinOp():
            yield from _operators(node)
        case ast.Constant():
            yield from _constants(node)
        case ast.Call():
            yield from _calls(node)
        case ast.IfExp() | ast.If() | ast.comprehension():
            yield from _conditions(node)
        case ast.Return() if node.value is not None and not _is_none(node.value):
            yield _became(node, ast.Return(ast.Constant(None)))
        case ast.AugAssign() | ast.Expr(value=ast.Call() | ast.Yield() | ast.YieldFrom()):
            yield _became(node, ast.Pass())


def _conditions(node: ast.IfExp | ast.If | ast.comprehension) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.IfExp():
            yield _became(node, _with(node, body=node.orelse, orelse=node.body))
        case ast.If():
            turned = _with(node, test=ast.UnaryOp(ast.Not(), node.test))
            yield f"`if {_short(node.test)}` is turned round", turned
        case ast.comprehension() if node.ifs:
            yield _became(node, _with(node, ifs=[]))


def _operators(node: ast.Compare | ast.BoolOp | ast.UnaryOp | ast.BinOp) -> Iterator[tuple[str, ast.AST]]:
    match node:
        case ast.Compare():
            for nth, old in enumerate(node.ops):
                ops = [*node.ops[:nth], COMPARISONS[type(old)](), *node.ops[nth + 1 :]]
                yield _became(node, _with(node, ops=ops))
        case ast.BoolOp():
            yield _became(node, _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And()))
            for nth in range(len(node.values)):
                rest = [*node.values[:nth], *node.values[nth + 1 :]]
                yield _became(node, rest[0] if len(rest) == 1 else _with(node, values=rest))
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield _became(node, node.operand)
        case ast.BinOp() if type(node.op) in OPERATORS:
            yield _became(node, _with(node, op=OPERATORS[type(node.op)]()))


def _constants(node: ast.Constant) -> Iterator[tuple[str, ast.AST]]:
    value = node.value
    if isinstance(value, bool):
        yield _became(node, ast.Constant(not value))
    elif isinstance(value, int | float):
        yield _became(node, ast.Constant(value + 1))
    elif isinstance(value, str):
        yield _became(node, ast.Constant(value + "?"))


def _calls(node: ast.Call) -> Iterator[tuple[str, ast.AST]]:
    name = node.func.id if isinstance(node.func, ast.Name) else ""
    if name in CALLS:
        yield _became(node, _with(node, func=ast.Name(CALLS[name], ast.Load())))
    for nth in range(len(node.keywords) if name == "replace" else 0):
        yield _became(node, _with(node, keywords=[*node.keywords[:nth], *node.keywords[nth + 1 :]]))


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _with(node: ast.AST, **fields: object) -> ast.AST:
    new = copy.copy(node)
    for name, value in fields.items():
        setattr(new, name, value)
    return new


def _became(old: ast.AST, new: ast.AST) -> tuple[str, ast.AST]:
    return f"`{_short(old)}` becomes `{_short(new)}`", new


def _short(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())[:160]
