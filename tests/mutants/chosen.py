"""Which test files look at a module, the quickest of those that import it by name first."""

import ast
import json
import sys
from functools import cache
from pathlib import Path

from forked import OF_ITS_TIME, run_tests

LOOKED_AT = ("tests/physics", "tests/choice", "tests/evidence")
LONGEST = 60.0
_OVER = 3.0


def timed(project: Path, kept: Path | None) -> dict[str, float]:
    """Seconds of the processor that each test file takes alone; those that take long are left out.

    What an earlier run kept is not measured again.
    """
    times: dict[str, float] = {}
    if kept is not None and kept.exists():
        times = dict(json.loads(kept.read_text(encoding="utf-8")))
    for folder in LOOKED_AT:
        for path in sorted((project / folder).glob("test_*.py")):
            file = str(path.relative_to(project))
            if file in times:
                continue
            done = run_tests(project, [file], LONGEST)
            if done.status not in (0, OF_ITS_TIME):
                sys.exit(f"the tests do not pass without a mutant:\n{done.text[-3000:]}")
            times[file] = round(done.seconds, 1)
            if kept is not None:
                kept.write_text(json.dumps(times, indent=1, sort_keys=True), encoding="utf-8")
    return {file: seconds for file, seconds in times.items() if seconds < LONGEST}


class Chooser:
    """Chooses test files for a module."""

    def __init__(self, project: Path, times: dict[str, float], budget: float) -> None:
        self.project, self.times, self.budget = project, times, budget
        self._all = cache(self._of_module)

    def files(self, module: str) -> tuple[list[str], float]:
        """Test files and their seconds: those that name a module, then those that reach it.

        Its own examples go first, and at least one file that names it is there though it is slower
        than the budget, unless by far.
        """
        name = module.removesuffix(".py").replace("/", ".").removesuffix(".__init__")
        named, reaching = [], []
        for file in sorted(self.times, key=lambda file: self.times[file]):
            direct = self.imported(self.project / file)
            if name in direct:
                named.append(file)
            elif name in self.reached(direct):
                reaching.append(file)
        chosen, spent = [module], 0.0
        for file in (*named, *reaching):
            first = file in named[:1] and self.times[file] <= _OVER * self.budget
            if first or spent + self.times[file] <= self.budget:
                chosen.append(file)
                spent += self.times[file]
        return chosen, spent

    def reached(self, direct: frozenset[str]) -> frozenset[str]:
        """Modules of the project that are loaded with some."""
        found, new = set(direct), set(direct)
        while new:
            new = {further for name in new for further in self._all(name)} - found
            found |= new
        return frozenset(found)

    def imported(self, file: Path) -> frozenset[str]:
        """Modules of the project that a file names."""
        found: set[str] = set()
        for node in ast.walk(ast.parse(file.read_bytes())):
            if isinstance(node, ast.Import):
                names = [entry.name for entry in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module:
                # A name may be a module of its own.
                names = [node.module, *(f"{node.module}.{entry.name}" for entry in node.names)]
            else:
                continue
            found |= {name for name in names if self._file_of(name) is not None}
        return frozenset(found)

    def _of_module(self, name: str) -> frozenset[str]:
        file = self._file_of(name)
        return self.imported(file) if file is not None else frozenset()

    def _file_of(self, name: str) -> Path | None:
        if not name.startswith("recommender"):
            return None
        path = self.project / name.replace(".", "/")
        candidates = (path.with_suffix(".py"), path / "__init__.py")
        return next((file for file in candidates if file.is_file()), None)
