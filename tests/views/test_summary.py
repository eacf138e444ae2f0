"""The answer as one reads it first: everything once, in few lines, and nothing that is untrue."""

import io
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from rich.console import Console

from recommender.choice.decision.explored import Effort
from recommender.explain.concessions import A_FIFTH, offered, sensible, size
from recommender.explain.groups import span, who
from recommender.explain.words import undecided
from recommender.inputs.case import Case
from recommender.recommend import recommend
from recommender.results.answer import Answer, Rejection, Verdict
from recommender.views.summary import show_summary
from recommender.views.terminal import show_answer


def printed(answer: Answer, width: int = 80) -> list[str]:
    console = Console(file=io.StringIO(), width=width, force_terminal=False, highlight=False)
    show_summary(console, answer)
    return console.file.getvalue().splitlines()  # type: ignore[attr-defined]


def test_the_crate_fits_in_120_lines(worked_case: Any) -> None:
    assert len(printed(worked_case("crate").answer)) <= 120


def test_an_answer_of_144_options_fits_in_160_lines(worked_case: Any) -> None:
    crate = worked_case("crate")
    many = crate.case.model_copy(
        update={"rate": crate.case.rate.model_copy(update={"per_carrier": (1, 2, 3, 4)})}
    )
    answer = recommend(many, crate.catalogue, in_brief=True, work=Effort(0, 0))
    assert len(answer.options) == 144
    assert len(printed(answer)) <= 160
    # However they are grouped, and however long each takes to tell.
    long = "At unload a carrier takes 7.1 s, where the next one is due after 1.5 s. " * 3
    every = [
        Rejection((option.id,), option.id, long, near)
        for near in (False, True)
        for option in answer.options
    ]
    assert len(printed(replace(answer, rejections=tuple(every)))) <= 160


def test_every_option_that_fails_is_told_exactly_once(worked: Any) -> None:
    answer = worked.answer
    told = Counter(id_ for entry in answer.rejections for id_ in entry.options)
    failing = {o.id for o in answer.options if o.verdict is Verdict.REJECTED}
    assert set(told) == failing
    assert set(told.values()) <= {1}
    assert len({(entry.who, entry.reason) for entry in answer.rejections}) == len(answer.rejections)


def test_differences_in_price_add_up_in_words(worked: Any) -> None:
    for option in worked.answer.options:
        if option.verdict is not Verdict.DEARER:
            continue
        by = option.dearer_by
        assert sum(entry.difference for entry in by.told) == by.price
        assert sum(entry.difference for entry in by.because) == by.price
        for entry in by.told[1:]:
            assert f"{abs(entry.difference):,.2f}" in option.reason, option.reason


def test_near_misses_concede_little_and_come_nearest_first(worked: Any) -> None:
    explained, sizes, order = worked.explained, [], []
    for entry in worked.answer.rejections:
        ways = [
            way
            for id_ in entry.options
            for way in (explained.failing[id_].alone or ())
            if offered(way, worked.case)
        ]
        if not entry.near:
            numbers = [way for way in ways if way.concessions[0].value is not None]
            assert not numbers, entry.who
            continue
        pairs = [explained.failing[id_].pair for id_ in entry.options]
        ways += [pair for pair in pairs if pair is not None and offered(pair, worked.case)]
        assert ways
        order.append(min(size(way) for way in ways))
        sizes.append(min(max(each.share for each in way.concessions) for way in ways))
    assert all(each <= A_FIFTH for each in sizes)
    assert order == sorted(order)


def test_nothing_is_offered_that_nobody_would_ask_for(worked: Any) -> None:
    for found in worked.explained.failing.values():
        for way in (*found.alone, *([found.pair] if found.pair else [])):
            if not sensible(way, worked.case):
                continue
            for entry in way.concessions:
                assert entry.key != "commercial.budget"
                if entry.key == "load.mass":
                    assert entry.value >= worked.case.tooling.mass
                if entry.key == "load.cg_height":
                    assert entry.value >= 0.2 * worked.case.load.cg_height


def told(answer: Answer, id_: str, **changes: Any) -> tuple[str, str]:
    """Both answers as running text, with one option changed."""
    options = tuple(
        replace(option, **changes) if option.id == id_ else option for option in answer.options
    )
    changed = replace(answer, options=options)
    console = Console(file=io.StringIO(), width=200, force_terminal=False, highlight=False)
    show_answer(console, changed)
    texts = "\n".join(printed(changed)), console.file.getvalue()  # type: ignore[attr-defined]
    short, long = (" ".join(text.split()) for text in texts)
    return short, long


def test_what_an_option_costs_at_least_stands_beside_what_was_found(worked_case: Any) -> None:
    answer = worked_case("crate").answer
    second = min(
        (option for option in answer.options if option.verdict is Verdict.DEARER),
        key=lambda option: option.price,
    )
    for option in answer.options:
        assert (option.at_least is None) == (option.verdict is Verdict.REJECTED)
        assert option.at_least is None or option.at_least <= option.price
        if option.verdict is Verdict.DEARER:
            assert ("as found" in option.reason) == (option.at_least < option.price)
    least = answer.choice.price + 123
    short, _ = told(answer, second.id, at_least=least)
    assert f"123 to {second.dearer_by.price:,.0f}" in short
    exact, _ = told(answer, second.id, at_least=second.price)
    assert f"to {second.dearer_by.price:,.0f}" not in exact


def test_what_is_not_decided_is_not_called_a_failure(worked_case: Any) -> None:
    answer = worked_case("crate").answer
    lost = next(option.id for option in answer.options if option.verdict is Verdict.REJECTED)
    words = undecided(6200000, "EUR")
    assert "at least 62,000.00 EUR" in words
    short, long = told(
        answer, lost, verdict=Verdict.UNDECIDED, at_least=Decimal(62000), reason=words
    )
    assert f"- {lost}: not decided: at least 62,000.00 EUR" in short
    assert "at least 62,000.00" in long
    assert "ot decided: nothing of it that works was found" in long


def test_a_case_that_nothing_meets_is_not_called_hopeless_before_it_is_decided(
    worked_case: Any,
) -> None:
    answer = worked_case("impossible").answer
    assert "no option of the catalogue meets this case" in " ".join(printed(answer))
    short, _ = told(answer, answer.options[0].id, verdict=Verdict.UNDECIDED)
    assert "no option was found that meets this case, and 1 are not decided" in short


def test_every_unit_is_printed_in_one_way(worked_case: Any) -> None:
    for show in (show_summary, show_answer):
        text = _letters(show, worked_case("crate").answer, 400)
        assert "m/s²" in text
        assert "s^2" not in text
        assert "s^3" not in text
        assert "*m" not in text


def test_what_is_usual_at_several_stations_is_said_once(worked_case: Any) -> None:
    text = " ".join(" ".join(printed(worked_case("nest").answer)).split())
    assert "no process force at place, check and pick;" in text
    assert "Which process force" not in text


def test_the_proof_and_the_factors_of_safety_stand_in_the_short_answer(worked_case: Any) -> None:
    crate = worked_case("crate")
    text = " ".join(" ".join(printed(crate.answer)).split())
    assert f"costs less than {crate.answer.proof.best_bound:,.2f} EUR" in text
    rules = crate.catalogue.rules
    for name, value in (
        ("holding safety", rules.holding_safety),
        ("drive margin", rules.drive_margin),
        ("static safety", rules.static_safety),
    ):
        assert f"{name} {value:g}" in text
    assert "18.0 items/min asked, 18.9 with 5 % of reserve; could reach" in text


@pytest.mark.parametrize("show", [show_summary, show_answer])
@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("name", ["crate", "nest"])
def test_no_table_loses_a_column_or_a_figure(
    worked_case: Any, name: str, width: int, show: Any
) -> None:
    """What stands at 200 columns stands at fewer, broken into lines but never cut."""
    answer = worked_case(name).answer
    narrow, wide = (_letters(show, answer, columns) for columns in (width, 400))
    assert "…" not in narrow
    figures = [check.utilisation for check in answer.choice.checks]
    assert len(figures) > 20
    assert Counter(narrow) == Counter(wide)


def _letters(show: Any, answer: Answer, width: int) -> str:
    """All letters and figures of the tables: without the plan, rules and spaces."""
    without = replace(answer, options=tuple(_planless(option) for option in answer.options))
    console = Console(file=io.StringIO(), width=width, force_terminal=False, highlight=False)
    show(console, without)
    text = console.file.getvalue()  # type: ignore[attr-defined]
    return "".join(letter for letter in text if letter not in " \n─")


def _planless(option: Any) -> Any:
    return replace(option, carriers=None) if option.verdict is Verdict.RECOMMENDED else option


def test_a_refusal_on_money_is_said_once(worked_case: Any) -> None:
    crate = worked_case("crate")
    poor = Case.model_validate(
        {**_as_read(crate.case), "commercial": {"budget": "34500 EUR"}, "title": "Poor"}
    )
    answer = recommend(poor, crate.catalogue, work=Effort(0, 0))
    dear = [o for o in answer.options if "may be spent" in o.reason]
    assert dear
    for option in dear:
        assert "budget of" not in option.reason
        assert option.reason.count("more than may be spent") == 1
    (group,) = [entry for entry in answer.rejections if "may be spent" in entry.reason][:1]
    assert len(group.options) > 1 or group.near


def _as_read(case: Case) -> dict[str, Any]:
    """A small case like the crate's, as text."""
    return {
        "load": {"mass": "30 kg", "reach": "200 mm", "length": "400 mm", "cg_height": "140 mm"},
        "tooling": {"mass": "1.2 kg"},
        "rate": {"items": "18/min"},
        "loop": {"max_length": "6 m"},
        "limits": {"acceleration": "3 m/s^2"},
    }


@pytest.mark.parametrize(
    ("values", "unit", "text"),
    [([4.0, 23.0], "mass", "4 to 23 kg"), ([0.4], "duration", "0.4 s"), ([1, 2], "1", "1 to 2")],
)
def test_figures_of_many_have_their_unit_once(values: list[float], unit: str, text: str) -> None:
    assert span(values, unit) == text


def test_families_are_named_where_all_of_them_are_there(worked_case: Any) -> None:
    every = [looked.option for looked in worked_case("crate").decision.looked]
    standard = [option for option in every if option.family.id == "standard"]
    assert who(standard, every) == "All standard carriers"
    assert who(every, every) == "All options"
    assert who(standard[:1], every) == f"std-68 on {standard[0].bend.id}"
