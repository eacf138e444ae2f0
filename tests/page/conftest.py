"""A page without processes: what answers is given at once, or never."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pytest

from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.page.workers import Told

if TYPE_CHECKING:
    from starlette.testclient import TestClient

TOKEN = "a-token-of-its-own"
HOST = "127.0.0.1:8123"


@dataclass
class Stand:
    """Answers with what it is given, and remembers what it was asked."""

    says: list[Any] = field(default_factory=list)
    asked: list[Case] = field(default_factory=list)
    closed: int = 0

    def start(self, case: Case, told: Told) -> None:
        self.asked.append(case)
        for said in self.says:
            told(said)

    def close(self) -> None:
        self.closed += 1


Opened = Callable[..., "TestClient"]


@pytest.fixture
def stand() -> Stand:
    """Answers nothing unless it is told what."""
    return Stand()


@pytest.fixture
def opened(catalogue: Catalogue) -> Iterator[Opened]:
    """How to open a page; it closes with the test."""
    from starlette.testclient import TestClient  # noqa: PLC0415 - an extra

    clients = []

    def client(
        stand: Stand,
        start: Mapping[str, Any] | None = None,
        worked: Mapping[str, Mapping[str, Any]] | None = None,
    ) -> "TestClient":
        from recommender.page.app import Setting, application  # noqa: PLC0415

        app = application(
            Setting(catalogue, start or {}, worked or {}), lambda: stand, TOKEN, [HOST]
        )
        found = TestClient(
            app, base_url=f"http://{HOST}/{TOKEN}", headers={"Origin": f"http://{HOST}"}
        )
        found.__enter__()
        clients.append(found)
        return found

    yield client
    for one in clients:
        one.__exit__()
