"""The worked lines, answered once for all tests that look at the result."""

from pathlib import Path

import pytest

from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import shipped
from recommender.lines.reading import read_line
from recommender.lines.recommend import recommend_line
from recommender.lines.result import LineAnswer, line_as_json

CASES = shipped("cases") / "lines"


def answered(name: str) -> LineAnswer:
    return recommend_line(read_line(CASES / f"{name}.toml"), read_catalogue(shipped("catalog")))


@pytest.fixture(scope="session")
def bottles() -> LineAnswer:
    """Pairs of bottles through a buffer into boxes."""
    return answered("bottles")


@pytest.fixture(scope="session")
def jars() -> LineAnswer:
    """Jars straight into boxes, at two places in turn."""
    return answered("jars")


@pytest.fixture(scope="session")
def saved(jars: LineAnswer, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The answer for jars, as answer --save writes it."""
    path = tmp_path_factory.mktemp("saved") / "jars.json"
    path.write_text(line_as_json(jars) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def saved_bottles(bottles: LineAnswer, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The answer for bottles, in the same way."""
    path = tmp_path_factory.mktemp("saved") / "bottles.json"
    path.write_text(line_as_json(bottles) + "\n", encoding="utf-8")
    return path
