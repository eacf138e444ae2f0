"""One small change in a module's text at a time, as a slip of the pen would make it."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass

COMPARED = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
}
COMPUTED = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "*"),
    ast.Mod: ("%", "*"),
    ast.Pow: ("**", "*"),
    ast.BitAnd: ("&", "|"),
    ast.BitOr: ("|", "&"),
}
SWAPPED = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "argmin": "argmax",
    "argmax": "argmin",
    "floor": "ceil",
    "ceil": "floor",
    "any": "all",
    "all": "any",
    "sin": "cos",
    "cos": "sin",
}


@dataclass(frozen=True)
class Change:
    """Text between two places of a file, in bytes, and what stands there instead."""

    line: int
    begin: int
    end: int
    old: str
    new: str

    def applied(self, text: bytes) -> bytes:
        return text[: self.begin] + self.new.encode() + text[self.end :]


def changes(text: bytes) -> list[Change]:
    """All changes of a module, in the order of its text.

    What is only said and not computed is left alone: docstrings, annotations, the text of faults
    that are raised, decorators.

    >>> [(c.old, c.new) for c in changes(b"def f(a: int) -> bool:\\n    return a - 1 < 3\\n")]
    [('<', '<='), ('-', '+'), ('1', '2'), ('3', '4')]
    >>> changes(b"x = y + 1")[0].applied(b"x = y + 1")
    b'x = y - 1'
    """
    return list(_Finder(text).of(ast.parse(text)))


class _Finder:
    def __init__(self, text: bytes) -> None:
        self.text = text
        self.starts = [0]
        for line in text.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))

    def of(self, node: ast.AST) -> Iterator[Change]:
        if isinstance(node, ast.Raise | ast.Assert | ast.JoinedStr):
            return
        yield from self.at(node)
        for child in self._computed(node):
            yield from self.of(child)

    @staticmethod
    def _computed(node: ast.AST) -> Iterator[ast.AST]:
        """What of a node is computed when the program runs."""
        said: list[ast.AST | None] = []
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            said += node.decorator_list
        if isinstance(node, ast.FunctionDef):
            said.append(node.returns)
        if isinstance(node, ast.AnnAssign | ast.arg):
            said.append(node.annotation)
        for child in ast.iter_child_nodes(node):
            if not any(child is one for one in said):
                yield child

    def at(self, node: ast.AST) -> Iterator[Change]:
        """Changes of a node itself."""
        if isinstance(node, ast.Compare) and len(node.ops) == 1:
            yield from self._between(node.left, node.comparators[0], COMPARED[type(node.ops[0])])
        elif isinstance(node, ast.BinOp) and type(node.op) in COMPUTED:
            yield from self._between(node.left, node.right, COMPUTED[type(node.op)])
        elif isinstance(node, ast.AugAssign) and type(node.op) in COMPUTED:
            old, new = COMPUTED[type(node.op)]
            yield from self._between(node.target, node.value, (f"{old}=", f"{new}="))
        elif isinstance(node, ast.BoolOp):
            words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            if len(node.values) == 2:
                yield from self._between(*node.values, words)
        elif isinstance(node, ast.UnaryOp):
            yield from self._sign(node)
        elif isinstance(node, ast.Constant):
            yield from self._constant(node)
        elif isinstance(node, ast.Call):
            yield from self._called(node.func)
        elif isinstance(node, ast.Break | ast.Continue):
            old = "break" if isinstance(node, ast.Break) else "continue"
            yield self._change(node, old, "continue" if old == "break" else "break")

    def _place(self, line: int, column: int) -> int:
        return self.starts[line - 1] + column

    def _change(self, node: ast.AST, old: str, new: str) -> Change:
        assert isinstance(node, ast.expr | ast.stmt)
        begin = self._place(node.lineno, node.col_offset)
        return Change(node.lineno, begin, begin + len(old.encode()), old, new)

    def _between(self, left: ast.expr, right: ast.expr, words: tuple[str, str]) -> Iterator[Change]:
        """The operator between two operands; brackets and comments may stand there as well."""
        assert left.end_lineno is not None
        assert left.end_col_offset is not None
        begin = self._place(left.end_lineno, left.end_col_offset)
        end = self._place(right.lineno, right.col_offset)
        at = self.text[begin:end].find(words[0].encode())
        if at < 0 or b"#" in self.text[begin:end]:
            return
        begin += at
        line = self.text[:begin].count(b"\n") + 1
        yield Change(line, begin, begin + len(words[0].encode()), *words)

    def _sign(self, node: ast.UnaryOp) -> Iterator[Change]:
        old = {ast.USub: "-", ast.Not: "not ", ast.Invert: "~"}.get(type(node.op))
        if old is not None and not isinstance(node.operand, ast.Constant):
            yield self._change(node, old, "")

    def _constant(self, node: ast.Constant) -> Iterator[Change]:
        value = node.value
        if isinstance(value, bool):
            yield self._change(node, str(value), str(not value))
        elif isinstance(value, int):
            yield self._change(node, self._text_of(node), str(value + 1))
        elif isinstance(value, float):
            more = 1.0 if value == 0.0 else 1.5 * value
            yield self._change(node, self._text_of(node), repr(more))

    def _text_of(self, node: ast.Constant) -> str:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        begin = self._place(node.lineno, node.col_offset)
        return self.text[begin : self._place(node.end_lineno, node.end_col_offset)].decode()

    def _called(self, function: ast.expr) -> Iterator[Change]:
        name = function.attr if isinstance(function, ast.Attribute) else None
        name = function.id if isinstance(function, ast.Name) else name
        if name in SWAPPED:
            assert function.end_lineno is not None
            assert function.end_col_offset is not None
            end = self._place(function.end_lineno, function.end_col_offset)
            begin = end - len(name.encode())
            yield Change(function.end_lineno, begin, end, name, SWAPPED[name])
