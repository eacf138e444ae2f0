"""Tests in a copy of this process that has the libraries already, so that none loads them again.

Nothing of the project itself is loaded before the copy is made: it would be the unchanged one.
"""

import os
import resource
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

# One thread, and before any library begins: a copy of a process has no threads but one.
os.environ.update({f"{name}_NUM_THREADS": "1" for name in ("OPENBLAS", "OMP", "MKL")})

import hypothesis  # noqa: F401
import numpy  # noqa: F401
import pint  # noqa: F401
import pydantic  # noqa: F401
import pytest
import rich.console  # noqa: F401
import scipy.optimize  # noqa: F401
import typer  # noqa: F401
from ortools.sat.python import cp_model  # noqa: F401

OF_ITS_TIME = -1
FOR_ALL = ("-q", "-n", "0", "-p", "no:cacheprovider", "--tb=no", "--no-header")


@dataclass(frozen=True)
class Done:
    """The status of pytest, or `OF_ITS_TIME`; what it printed; seconds of the processor."""

    status: int
    text: str
    seconds: float


def run_tests(
    project: Path,
    arguments: list[str],
    limit: float | None = None,
    plugins: Sequence[object] = (),
) -> Done:
    """Tests of a copy of the project, for so many seconds of the processor at most."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with tempfile.TemporaryFile("w+") as output:
        child = os.fork()
        if child == 0:
            os._exit(_tested(project, arguments, output.fileno(), limit, plugins))
        _, ended = os.waitpid(child, 0)
        output.seek(0)
        text = output.read()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    status = OF_ITS_TIME if os.WIFSIGNALED(ended) else os.WEXITSTATUS(ended)
    return Done(status, text, seconds)


def _tested(
    project: Path,
    arguments: list[str],
    output: int,
    limit: float | None,
    plugins: Sequence[object],
) -> int:
    if limit is not None:
        # Tests that start processes of their own count for themselves.
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit) + 1, int(limit) + 2))
    os.dup2(output, 1)
    os.dup2(output, 2)
    os.chdir(project)
    os.environ.update({"PYTHONPATH": str(project), "COLUMNS": "200"})
    sys.path[:] = [str(project), *(path for path in sys.path if path)]
    try:
        return int(pytest.main([*FOR_ALL, *arguments], plugins=list(plugins)))
    finally:
        sys.stdout.flush()
