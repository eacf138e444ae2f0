"""One option in depth on a terminal of 80 columns, and the same content as JSON."""

import io
import json
from typing import Any

import pytest
from rich.console import Console

from recommender.results.answer import Answer, Verdict, as_json
from recommender.views.explanation import bar
from recommender.views.terminal import show_answer, show_option


@pytest.fixture(scope="module")
def answers(worked_case: Any) -> dict[str, Answer]:
    return {name: worked_case(name).answer for name in ("crate", "impossible")}


def printed(show: Any, *what: Any) -> str:
    console = Console(file=io.StringIO(), width=80, force_terminal=False, highlight=False)
    show(console, *what)
    text = console.file.getvalue()
    assert max(len(line.rstrip()) for line in text.splitlines()) <= 80
    return text


def test_a_rejected_option(answers: dict[str, Answer]) -> None:
    answer = answers["crate"]
    option = answer.option("std-68_arc-280_x1")
    assert option is not None
    text = printed(show_option, answer, option)
    assert option.reason.split()[0] in text
    assert "Requirements that clash" in text
    assert option.conflicts == (("load.mass",),)
    assert option.conflict == ("load.mass",)
    assert option.pair is None
    assert "Nothing that would leave it this load and this job" in text
    assert "Roll moment on the guide" in text
    assert "N·m" in text
    used = [check.utilisation for check in option.checks]
    titles = [check.title for check in sorted(option.checks, key=lambda check: -check.utilisation)]
    assert text.index(titles[0].split()[0]) < text.index("What it is made of")
    assert max(used) > 1.0


def test_an_option_that_two_changes_help(answers: dict[str, Answer]) -> None:
    answer = answers["impossible"]
    option = answer.option("pair-230_arc-280_x1")
    assert option is not None
    text = printed(show_option, answer, option)
    assert option.conflict == option.conflicts[0]
    assert ("load.reach", "loop.max_width") in option.conflicts
    assert option.pair is not None
    assert [change.key for change in option.pair.changes] == ["rate.items", "loop.max_width"]
    assert all(change.to in text for change in option.pair.changes)
    assert "together" in text


def test_an_option_that_nothing_helps(answers: dict[str, Answer]) -> None:
    answer = answers["crate"]
    option = answer.option("pair-310_arc-280_x1")
    assert option is not None
    assert option.conflict == ()
    assert option.conflicts == ((),)
    assert option.relaxations == ()
    assert "fails whatever is asked" in printed(show_option, answer, option)


def test_the_recommended_option(answers: dict[str, Answer]) -> None:
    answer = answers["crate"]
    assert answer.choice is not None
    text = printed(show_option, answer, answer.choice)
    assert "How much more it could take" in text
    assert {entry.key for entry in answer.choice.headroom} >= {"load.mass", "rate.items"}
    assert all(not option.headroom for option in answer.options if option is not answer.choice)


def test_a_dearer_option(answers: dict[str, Answer]) -> None:
    answer = answers["crate"]
    option = next(each for each in answer.options if each.verdict is Verdict.DEARER)
    assert option.dearer_by is not None
    assert sum(entry.difference for entry in option.dearer_by.because) == option.dearer_by.price
    assert "What makes it dearer" in printed(show_option, answer, option)


def test_a_case_that_nothing_meets(answers: dict[str, Answer]) -> None:
    answer = answers["impossible"]
    assert answer.impasse is not None
    text = printed(show_answer, answer)
    assert "Why none does" in text
    assert " + ".join(answer.impasse.conflict) in text
    assert answer.impasse.conflict == answer.impasse.conflicts[0]
    assert answer.impasse.ways


def test_the_same_content_in_json(answers: dict[str, Answer]) -> None:
    for answer in answers.values():
        data = json.loads(as_json(answer))
        for option, told in zip(answer.options, data["options"], strict=True):
            assert told["reason"] == option.reason
            assert told["conflict"] == list(option.conflict)
            assert told["conflicts"] == [list(keys) for keys in option.conflicts]
            for entry in told["relaxations"]:
                assert set(entry) == {"key", "from", "to", "price"}
            for entry in told["headroom"]:
                assert {"key", "from", "to", "stopped_by"} <= set(entry)
            for entry in told["breakdowns"]:
                total = sum(share["amount"] for share in entry["shares"])
                assert total == pytest.approx(entry["total"])


@pytest.mark.parametrize("share", [0.001, 0.124, 0.5, 0.999, 1.0])
def test_bars_are_as_long_as_their_share(share: float) -> None:
    drawn = bar(share, 40)
    assert len(drawn) == max(1, -(-round(share * 320) // 8))
    assert bar(-share, 40) == "░" * max(1, round(share * 40))
