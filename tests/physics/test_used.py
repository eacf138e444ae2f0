"""Physics is what the answer uses; what evidence or tests alone would call is their own oracle."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "recommender"


def names_in(tree: ast.AST) -> set[str]:
    return {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)} | {
        node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)
    }


def modules(*rooms: str) -> list[ast.Module]:
    files = (file for room in rooms for file in sorted((PACKAGE / room).rglob("*.py")))
    return [ast.parse(file.read_text(encoding="utf-8")) for file in files]


def test_the_answer_uses_every_function_of_physics() -> None:
    defined = {
        node.name: node
        for module in modules("physics")
        for node in module.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
    }
    others = [room.name for room in PACKAGE.iterdir() if room.name not in ("physics", "evidence")]
    files = [
        ast.parse((PACKAGE / name).read_text(encoding="utf-8"))
        for name in others
        if name.endswith(".py")
    ]
    rooms = modules(*(name for name in others if not name.endswith(".py")))
    reached: set[str] = set()
    new = set().union(*map(names_in, files + rooms)) & defined.keys()
    while new:
        reached |= new
        new = set().union(*(names_in(defined[name]) for name in new)) & defined.keys() - reached
    assert len(reached) > 100
    assert sorted(defined.keys() - reached) == []
