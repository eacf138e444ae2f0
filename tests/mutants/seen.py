"""Plug-ins for pytest: which functions each test calls, and the order in which tests are run."""

import json
import resource
import signal
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FrameType
from typing import TextIO

import pytest


@dataclass(frozen=True)
class Seen:
    """A test, what it takes in seconds of the processor, and the functions it calls."""

    test: str
    seconds: float
    calls: frozenset[str]


def read(file: Path) -> list[Seen]:
    """What `Watch` has written."""
    lines = map(json.loads, file.read_text(encoding="utf-8").splitlines())
    return [Seen(each["test"], each["seconds"], frozenset(each["calls"])) for each in lines]


class Watch:
    """Writes a line for each test that passes: its name, its time, what it calls of some folders.

    A function is called ``path/of/module.py:Class.method``; what is defined within it is its part.
    """

    def __init__(self, project: Path, folders: Sequence[str], output: TextIO) -> None:
        self.roots = tuple(f"{project}/{folder}/" for folder in folders)
        self.project, self.output = project, output
        self._called: dict[int, CodeType] = {}

    def pytest_configure(self) -> None:
        sys.settrace(self._trace)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self._called.clear()
        before = _spent()
        # Something that looks for a failure's cause may have taken the place.
        sys.settrace(self._trace)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            seconds = round(_spent() - before, 3)
            line = {"test": item.nodeid, "seconds": seconds, "calls": sorted(self._names())}
            self.output.write(json.dumps(line) + "\n")
            self.output.flush()

    def _trace(self, frame: FrameType, _event: str, _arg: object) -> None:
        self._called[id(frame.f_code)] = frame.f_code

    def _names(self) -> set[str]:
        names = set()
        for code in self._called.values():
            if code.co_filename.startswith(self.roots):
                module = Path(code.co_filename).relative_to(self.project)
                names.add(f"{module}:{code.co_qualname.split('.<locals>')[0]}")
        return names


class Order:
    """Runs tests in an order and no others, and ends the process when one does not come to an end.

    `limits` is that order, with the seconds of the processor that each may take.
    """

    def __init__(self, limits: Mapping[str, float]) -> None:
        self.limits = limits

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        place = {test: number for number, test in enumerate(self.limits)}
        items[:] = [item for item in items if item.nodeid in place]
        items.sort(key=lambda item: place[item.nodeid])

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        signal.setitimer(signal.ITIMER_PROF, self.limits[item.nodeid])


def _spent() -> float:
    mine = resource.getrusage(resource.RUSAGE_SELF)
    others = resource.getrusage(resource.RUSAGE_CHILDREN)
    return mine.ru_utime + mine.ru_stime + others.ru_utime + others.ru_stime
