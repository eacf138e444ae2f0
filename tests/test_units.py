"""An enquiry in pounds and feet is answered in pounds and feet, from the same figures in SI."""

import io
import re
import tomllib
from dataclasses import replace
from typing import Any

import pytest
from rich.console import Console

from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, parse
from recommender.recommend import recommend
from recommender.results.answer import Answer
from recommender.units import written_in
from recommender.views.summary import show_summary
from recommender.views.terminal import show_answer, show_option

US = """
title = "Crate in pounds"
load = { mass = "66 lb", length = "16 in", width = "12 in", reach = "8 in", cg_height = "5.5 in" }
tooling = { mass = "2.6 lb" }
rate = { items = "18/min" }
loop = { max_length = "26 ft", max_width = "6.2 ft" }
limits = { acceleration = "10 ft/s^2" }
station = [
  { name = "load", dwell = "1.2 s" },
  { name = "unload", dwell = "1.5 s", after = "6.5 ft", force = ["0 N", "0 N", "-20 N"] },
]
"""

METRIC = r"\b(kg|mm|cm|m|m/s|m/s²|m/s\^2|m/s³|m/s\^3|N|N·m|J)(?![\w·/^])"


def asked() -> dict[str, Any]:
    return tomllib.loads(US)


@pytest.fixture(scope="module")
def answer(catalogue: Catalogue) -> Answer:
    return recommend(make_case(asked(), "test"), catalogue)


def printed(answer: Answer, show: Any, *details: Any) -> str:
    console = Console(file=io.StringIO(), width=100, force_terminal=False, highlight=False)
    with written_in(answer.units):
        show(console, answer, *details)
    return console.file.getvalue()  # type: ignore[attr-defined]


def test_no_figure_is_metric(answer: Answer) -> None:
    assert answer.units == "us"
    # The raster on which stations are set is metric and said so.
    told = tuple(line for line in answer.assumptions if line.group != "method")
    answer = replace(answer, assumptions=told)
    texts = [printed(answer, show_summary), printed(answer, show_answer)]
    texts += [printed(answer, show_option, option) for option in answer.options[::5]]
    texts += [option.reason for option in answer.options]
    texts += [entry.reason for entry in answer.rejections]
    for text in texts:
        # What a part is called in the catalogue stays as it is.
        figures = [m.group() for m in re.finditer(rf"[\d.,]+ {METRIC}", text)]
        named = " ".join(part.description for part in answer.parts)
        assert not [figure for figure in figures if figure not in named], text


def test_numbers_of_the_document_are_si_all_the_same(answer: Answer, catalogue: Catalogue) -> None:
    metric = recommend(Case.model_validate({**asked(), "units": "metric"}), catalogue)
    assert metric.units == "metric"
    assert metric.recommended == answer.recommended
    for one, other in zip(answer.options, metric.options, strict=True):
        assert [check.demand for check in one.checks] == [check.demand for check in other.checks]
        assert one.price == other.price


def test_what_would_have_to_give_can_be_written_into_the_case(answer: Answer) -> None:
    seen = set()
    for option in answer.options:
        for entry in option.relaxations:
            if entry.key == "load.mass":
                assert entry.to.endswith(" lb")
                seen.add(parse(entry.to, KINDS["mass"]))
            if entry.key == "load.reach":
                assert entry.to.endswith((" in", " ft"))
                parse(entry.to, KINDS["length"])
    assert seen
    # Round in pounds, not in kilograms: four digits at most.
    texts = [e.to for o in answer.options for e in o.relaxations if e.key == "load.mass"]
    assert all(len(re.sub(r"\D", "", text)) <= 4 for text in texts)


@pytest.mark.parametrize(
    ("load", "system"),
    [
        ({"mass": "66 lb", "reach": "8 in"}, "us"),
        ({"mass": "30 kg", "reach": "8 in", "length": "12 in"}, "us"),
        ({"mass": "30 kg", "reach": "200 mm", "length": "12 in"}, "metric"),
        ({"mass": "30 kg"}, "metric"),
    ],
)
def test_most_of_the_enquiry_decides(load: dict[str, str], system: str) -> None:
    assert Case.model_validate({"load": load, "rate": {"items": "18/min"}}).units == system
