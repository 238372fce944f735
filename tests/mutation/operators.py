"""The small faults that can be put into a module: where, what becomes of it, and the code that results.

Left alone, since no test should hold them: words (strings, f-strings), annotations, the options of decorators, hairs
that keep rounding from deciding, and `strict=` of zip, which only guards against a programmer's mistake.
"""

import ast
import copy
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import Enum
from types import CodeType
from typing import Any, NamedTuple

FLOAT_FACTOR = 1.02
HAIR = re.compile(r"1e-\d+")  # a number that keeps rounding from deciding, where any other as small would do
COMPARISONS = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Add,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
TWINS = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "floor": "ceil",
    "ceil": "floor",
    "minimum": "maximum",
    "maximum": "minimum",
    "union": "intersection",
}
TESTS = (ast.If, ast.IfExp, ast.While)
NEGATED = (
    ast.Name,
    ast.Attribute,
    ast.Call,
    ast.Subscript,
    ast.NamedExpr,
)  # the others have faults of their own
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
NO_FAULT = -1  # the kind of a mutant that changes nothing, by which the trials themselves are tried
FALSY = {"return False", "return ''", "return ()", "return []"}  # None would be taken for the same
Enumerations = dict[str, tuple[str, ...]]  # members by name of the class
Change = tuple[str, Callable[[ast.AST], ast.AST]]


@dataclass(frozen=True)
class Mutant:
    """One fault. place: the number of the node in the order of a walk; kind: which of the faults of that node.

    first, last: the lines of its statement; line: its own.
    function: the outermost function or method it lies in, or an empty string for a line that runs at import.
    """

    module: str
    path: str
    place: int
    kind: int
    first: int
    last: int
    line: int
    function: str
    was: str
    becomes: str
    known: Enumerations = field(default_factory=dict, compare=False, repr=False)

    @property
    def is_idle(self) -> bool:
        """Whether it changes nothing that anybody could notice: a hair of another width, None in place of nothing."""
        return self.was in FALSY or bool(HAIR.fullmatch(self.was))

    def __str__(self) -> str:
        return f"{self.path}:{self.line} {self.function or 'module'}: {self.was}  ->  {self.becomes}"


def _const(value) -> Callable[[ast.AST], ast.AST]:
    return lambda _: ast.Constant(value)


def _numbers(node: ast.Constant) -> Iterator[Change]:
    value = node.value
    if isinstance(value, bool):
        yield "the other truth", _const(not value)
    elif isinstance(value, int):
        yield "one more", _const(value + 1)
    elif isinstance(value, float):
        yield "2 % more", _const(value * FLOAT_FACTOR if value else 1.0)


def _with(name, value) -> Callable[[ast.AST], ast.AST]:
    """The node with one of its fields put in another way."""

    def change(node):
        setattr(node, name, value(getattr(node, name)) if callable(value) else value)
        return node

    return change


def _comparisons(node: ast.Compare) -> Iterator[Change]:
    for i, op in enumerate(node.ops):
        for other in COMPARISONS[type(op)]:
            yield (
                "comparison",
                _with("ops", lambda ops, i=i, other=other: [*ops[:i], other(), *ops[i + 1 :]]),
            )


def _negated(test: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), test)


def _is_for_types_alone(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


def _calls(node: ast.Call) -> Iterator[Change]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in TWINS:
        yield "its twin", _with("func", lambda func: _renamed(func, TWINS[name]))
    for i, keyword in enumerate(node.keywords):
        if keyword.arg not in (None, "strict", "default_factory", "default"):
            yield "default", _with("keywords", lambda kept, i=i: [*kept[:i], *kept[i + 1 :]])


def _renamed(func: ast.expr, name: str) -> ast.expr:
    func = copy.copy(func)
    setattr(func, "attr" if isinstance(func, ast.Attribute) else "id", name)
    return func


def enumerations_in(names: dict) -> Enumerations:
    """The members of every enumeration that a namespace knows."""
    return {
        name: tuple(kind.__members__)
        for name, kind in names.items()
        if isinstance(kind, type) and issubclass(kind, Enum)
    }


def _members(node: ast.Attribute, known: Enumerations) -> Iterator[Change]:
    """Another member of an enumeration, the one that follows."""
    members = known.get(node.value.id, ()) if isinstance(node.value, ast.Name) else ()
    if node.attr in members and len(members) > 1:
        yield "another member", _with("attr", members[(members.index(node.attr) + 1) % len(members)])


def _statements(node: ast.stmt) -> Iterator[Change]:
    if isinstance(node, ast.Return) and node.value is not None and ast.unparse(node.value) != "None":
        yield "return None", _with("value", ast.Constant(None))
    elif isinstance(node, ast.Raise) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)):
        yield "left out", lambda _: ast.Pass()
    elif isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
        yield "arithmetic", _with("op", ARITHMETIC[type(node.op)]())


def _changes(node: ast.AST, known: Enumerations) -> Iterator[Change]:
    if isinstance(node, ast.Constant):
        yield from _numbers(node)
    elif isinstance(node, ast.Compare):
        yield from _comparisons(node)
    elif isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
        yield "arithmetic", _with("op", ARITHMETIC[type(node.op)]())
    elif isinstance(node, ast.BoolOp):
        yield "and, or", _with("op", ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        yield "sign or not", lambda unary: unary.operand
    elif isinstance(node, ast.Call):
        yield from _calls(node)
    elif isinstance(node, ast.Attribute):
        yield from _members(node, known)
    yield from _statements(node)
    if isinstance(node, TESTS) and isinstance(node.test, NEGATED) and not _is_for_types_alone(node):
        yield "negated", _with("test", _negated)


UNTOUCHED = {"annotation", "returns", "decorator_list", "type_params"}


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """The children in the order of the source, without annotations, decorators and words."""
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.keyword) and node.arg == "strict"):
        return
    if _is_for_types_alone(node):
        return
    for name, value in ast.iter_fields(node):
        if name not in UNTOUCHED:
            yield from (child for child in _as_list(value) if isinstance(child, ast.AST))


def _as_list(value: Any) -> list:
    return value if isinstance(value, list) else [value]


class Spot(NamedTuple):
    """A node that may be changed: the outermost function it runs in, and the lines of its statement."""

    node: ast.AST
    function: str
    first: int
    last: int


def walk(tree: ast.AST) -> list[Spot]:
    """Every node that may be changed, in the order of the source."""
    found: list[Spot] = []
    _gather(tree, Spot(tree, "", 0, 0), "", found)
    return found


def _gather(node: ast.AST, above: Spot, owner: str, found: list[Spot]) -> None:
    lines = (node.lineno, node.end_lineno) if isinstance(node, ast.stmt) else above[2:]
    spot = Spot(node, above.function, *lines)
    found.append(spot)
    if isinstance(node, FUNCTIONS) and not above.function:
        for default in (default for default in [*node.args.defaults, *node.args.kw_defaults] if default):
            _gather(default, spot, owner, found)
        for statement in node.body:
            _gather(statement, spot._replace(function=f"{owner}{node.name}"), owner, found)
        return
    if isinstance(node, ast.ClassDef) and not above.function:
        owner = f"{owner}{node.name}."
    for child in _children(node):
        _gather(child, spot, owner, found)


def _shown(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())[:100]


def mutants_of(source: str, module: str, path: str, names: dict) -> list[Mutant]:
    """Every fault that can be put into a module. names: its namespace, to tell enumerations."""
    known = enumerations_in(names)
    found = []
    for place, spot in enumerate(walk(ast.parse(source))):
        for kind, (_, change) in enumerate(_changes(spot.node, known)):
            becomes = _shown(change(copy.deepcopy(spot.node)))
            was = _shown(spot.node)
            found.append(
                Mutant(
                    module,
                    path,
                    place,
                    kind,
                    spot.first,
                    spot.last,
                    spot.node.lineno,
                    spot.function,
                    was,
                    becomes,
                    known,
                )
            )
    return found


def code_of(source: str, mutant: Mutant, filename: str) -> CodeType:
    """The module with one fault in it, compiled; lines keep their numbers."""
    tree = ast.parse(source)
    if mutant.kind == NO_FAULT:
        return compile(tree, filename, "exec")
    node = walk(tree)[mutant.place].node
    _, change = list(_changes(node, mutant.known))[mutant.kind]
    changed = ast.copy_location(change(copy.copy(node)), node)
    tree = _Put(node, changed).visit(tree)
    return compile(ast.fix_missing_locations(tree), filename, "exec")


class _Put(ast.NodeTransformer):
    """Puts one node in the place of another."""

    def __init__(self, was: ast.AST, becomes: ast.AST):
        self.was, self.becomes = was, becomes

    def visit(self, node: ast.AST) -> ast.AST:
        return self.becomes if node is self.was else self.generic_visit(node)
