"""Which tests look at a change: those that call the function it stands in, the quickest first."""

import ast
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from forked import OF_ITS_TIME, run_tests
from seen import Seen, Watch, read

LOOKED_AT = ("tests/physics", "tests/choice", "tests/evidence")
LONGEST = 120.0
SLOWER = 4.0
GRACE = 8.0


def watched(project: Path, folders: Sequence[str], kept: Path) -> dict[str, list[Seen]]:
    """What each test of a file calls and takes, each file in a process of its own.

    Of a file that takes long only the tests are known that end within `LONGEST`. What an earlier
    run kept is not measured again.
    """
    kept.mkdir(parents=True, exist_ok=True)
    found = {}
    for file in _files(project, folders):
        notes = kept / file.replace("/", "-").replace(".py", ".jsonl")
        if not notes.exists():
            unfinished = notes.with_suffix(".part")
            with unfinished.open("w", encoding="utf-8") as output:
                watch = Watch(project, folders, output)
                done = run_tests(project, [file], LONGEST, [watch])
            if done.status not in (0, 5, OF_ITS_TIME):
                raise SystemExit(f"tests do not pass without a mutant:\n{done.text[-3000:]}")
            unfinished.replace(notes)
        found[file] = read(notes)
    return found


def _files(project: Path, folders: Sequence[str]) -> Iterator[str]:
    for folder in folders:
        # Their own examples.
        for path in sorted((project / folder).rglob("*.py")):
            if b">>> " in path.read_bytes():
                yield str(path.relative_to(project))
    for folder in LOOKED_AT:
        for path in sorted((project / folder).glob("test_*.py")):
            yield str(path.relative_to(project))


class Chooser:
    """Chooses tests for a place in a module."""

    def __init__(self, seen: dict[str, list[Seen]], budget: float) -> None:
        self.seen, self.budget = seen, budget

    def tests(self, module: str, text: bytes, line: int) -> dict[str, float]:
        """Tests in the order in which to run them, with the seconds that each may take.

        First those that call the function, then what stands in a file with them, since they may
        share what was computed once. A file whose own are quick goes first.
        """
        function = enclosing(text, line)
        calling: dict[str, list[Seen]] = {}
        others: dict[str, list[Seen]] = {}
        for file, tests in self.seen.items():
            parts: tuple[list[Seen], list[Seen]] = ([], [])
            for each in tests:
                parts[not _calls(each, module, function)].append(each)
            if parts[0]:
                calling[file], others[file] = parts
        chosen: dict[str, float] = {}
        left = self.budget
        for part in (calling, others):
            for file in sorted(part, key=lambda file: _time(part[file])):
                # Without those before it a test may have to compute what they shared.
                longest = SLOWER * _time(self.seen[file]) + GRACE
                for each in part[file]:
                    if not chosen or each.seconds <= left:
                        chosen[each.test] = longest
                        left -= each.seconds
        return chosen


def enclosing(text: bytes, line: int) -> str:
    """The function or the method that a line stands in; nothing where it is run by an import.

    >>> enclosing(b"A = 1\\nclass B:\\n    def c(self):\\n        return A\\n", 4)
    'B.c'
    """
    for node in ast.parse(text).body:
        within = f"{node.name}." if isinstance(node, ast.ClassDef) else ""
        for each in node.body if isinstance(node, ast.ClassDef) else [node]:
            if isinstance(each, ast.FunctionDef) and each.lineno <= line <= (each.end_lineno or 0):
                return within + each.name
    return ""


def _calls(test: Seen, module: str, function: str) -> bool:
    if function:
        return f"{module}:{function}" in test.calls
    return any(call.startswith(f"{module}:") for call in test.calls)


def _time(tests: Sequence[Seen]) -> float:
    return sum(each.seconds for each in tests)


def files_of(tests: Iterable[str]) -> list[str]:
    """The files that tests stand in, each once."""
    return list(dict.fromkeys(test.split("::")[0] for test in tests))
