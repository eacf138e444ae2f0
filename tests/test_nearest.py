"""Where only what is nearest to the choice is looked at to the end, the same is told of it."""

import re
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from typing import Any

import numpy as np
import pytest
from rich.console import Console

from recommender.choice.decision.decide import decide
from recommender.explain.headroom import headroom
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import recommend
from recommender.results.answer import MOST_HEADROOM, NEAREST, Answer, Verdict
from recommender.units import written_in
from recommender.views.summary import show_summary
from tests.random_enquiries import random_enquiry

FEW, MANY = 3, 40


def told(answer: Answer) -> str:
    """What the terminal shows of an answer at first."""
    file = StringIO()
    with written_in(answer.units):
        show_summary(Console(file=file, width=100), answer)
    return file.getvalue()


def as_found(answer: Answer) -> str:
    """What is told but for how little others may cost at least, which columns and breaks follow.

    How closely that is known hangs on which builds of an option are looked at first.
    """
    text = re.sub(r"[\d,]+ to ([\d,]+)", r"\1", told(answer).replace("─", ""))
    text = re.sub(r"Two\s+figures:\s+at\s+least,\s+and\s+as\s+found\.", "", text)
    return " ".join(text.split())


def assert_told_alike(
    case: Case, catalogue: Catalogue, said: Callable[[Answer], str] = as_found
) -> None:
    near = recommend(case, catalogue, nearest=NEAREST)
    whole = recommend(case, catalogue)
    assert said(near) == said(whole)
    assert not near.extent.whole
    for option in near.options:
        if option.verdict is Verdict.REJECTED:
            # What fails is said alike, and nothing of what was not looked for.
            of_all = whole.option(option.id)
            assert of_all is not None
            fault, _, ways = option.reason.partition(" Would work with ")
            assert of_all.reason.startswith(fault)
            assert bool(ways) <= (" Would work with " in of_all.reason)
            assert option.conflicts in ((), of_all.conflicts)
        if option.verdict is Verdict.DEARER and option.price is None:
            of_all = whole.option(option.id)
            assert of_all is not None
            assert of_all.price is not None
            assert option.at_least is not None
            assert option.at_least <= of_all.price
            assert "costs at least" in option.reason


def test_the_summary_is_the_same(worked: Any) -> None:
    assert_told_alike(worked.case, worked.catalogue, said=told)


@pytest.mark.parametrize("seed", range(FEW))
def test_the_summary_of_random_enquiries_is_the_same(seed: int, catalogue: Catalogue) -> None:
    assert_told_alike(random_enquiry(np.random.default_rng([31, seed])), catalogue)


@pytest.mark.nightly
@pytest.mark.parametrize("seed", range(FEW, MANY))
def test_the_summary_of_many_random_enquiries_is_the_same(seed: int, catalogue: Catalogue) -> None:
    assert_told_alike(random_enquiry(np.random.default_rng([31, seed])), catalogue)


def test_where_money_is_short_it_is_said_by_how_much_of_all(worked_case: Any) -> None:
    """Of what is too dear and was not built it is said what it costs at least."""
    worked = worked_case("crate")
    dearest = max(
        entry.audit.price for entry in worked.decision.looked if entry.feasible and entry.audit
    )
    commercial = worked.case.commercial.model_copy(update={"budget": f"{dearest - 2000} EUR"})
    case = worked.case.model_copy(update={"commercial": commercial})
    whole = recommend(case, worked.catalogue, about=())
    near = recommend(case, worked.catalogue, nearest=1)
    assert near.recommended == whole.recommended
    over = "EUR more than may be spent"
    (exactly,) = (entry for entry in whole.rejections if over in entry.reason)
    (least,) = (entry for entry in near.rejections if over in entry.reason)
    assert exactly.options == least.options
    amounts = [
        float(re.search(r"([\d,.]+) EUR more than may", entry.reason)[1].replace(",", ""))  # type: ignore[index]
        for entry in (exactly, least)
    ]
    assert "ould cost at least" in least.reason
    assert 0.0 < amounts[1] <= amounts[0] <= 2000.0
    assert recommend(case, worked.catalogue, in_brief=True, nearest=0).recommended


def test_a_whole_answer_tells_what_is_too_dear_by_its_price(worked_case: Any) -> None:
    """Of each option named by itself money is one of the things that clash."""
    crate = worked_case("crate")
    budget = Decimal("55000.00")
    commercial = crate.case.commercial.model_copy(update={"budget": f"{budget} EUR"})
    case = crate.case.model_copy(update={"commercial": commercial})
    whole = recommend(case, crate.catalogue, about=None)
    dear, failing = [], []
    for option in whole.options:
        other = crate.answer.option(option.id)
        assert other is not None
        if option.verdict is not Verdict.REJECTED:
            continue
        if other.verdict is Verdict.REJECTED:
            failing.append(option)
            assert option.conflicts == other.conflicts
            within = [way for way in other.relaxations if way.price and way.price <= budget]
            assert [way.key for way in option.relaxations] == [way.key for way in within]
        else:
            dear.append(option)
            (way,) = option.relaxations
            assert (way.key, way.price) == ("commercial.budget", other.price)
            assert way.price > budget
    assert len(dear) > 3
    assert len(failing) > 3
    named = recommend(case, crate.catalogue, about=[dear[0].id]).option(dear[0].id)
    assert named is not None
    assert all("commercial.budget" in clash for clash in named.conflicts)
    assert named.conflicts


@pytest.mark.parametrize("nearest", [1, 5])
def test_the_cheapest_options_are_built(worked: Any, nearest: int) -> None:
    """The others cost at least what is said, and no less than the last that is built."""
    whole = worked.decision
    near = decide(worked.case, worked.catalogue, nearest=nearest)
    assert (near.price, near.bound) == (whole.price, whole.bound)
    assert near.chosen == whole.chosen
    of_all = {entry.option.id: entry for entry in whole.looked}
    prices = {
        id_: entry.audit.price
        for id_, entry in of_all.items()
        if entry.feasible and entry.audit is not None
    }
    built = {
        entry.option.id: entry.audit.price
        for entry in near.looked
        if entry.feasible and entry.audit is not None
    }
    for entry in near.looked:
        assert entry.feasible == of_all[entry.option.id].feasible, entry.option.id
        assert entry.decided == of_all[entry.option.id].decided, entry.option.id
        if entry.feasible and entry.audit is None:
            assert entry.bound <= 100 * prices[entry.option.id]
    cheapest = sorted(prices.values())[: nearest + 1]
    assert sorted(built.values())[: nearest + 1] == cheapest
    assert all(built[id_] == prices[id_] for id_ in built if prices[id_] <= cheapest[-1])


def test_the_choice_alone_is_the_same_choice(worked: Any) -> None:
    near = decide(worked.case, worked.catalogue, nearest=0)
    assert near.chosen == worked.decision.chosen
    assert (near.price, near.optimal) == (worked.decision.price, worked.decision.optimal)
    if near.chosen is None:
        assert [entry.causes for entry in near.looked] == [
            entry.causes for entry in worked.decision.looked
        ]
    else:
        assert sum(entry.audit is not None for entry in near.looked) == 1


def test_of_all_numbers_the_tightest_are_found(worked: Any) -> None:
    explained, chosen = worked.explained, worked.decision.chosen
    if chosen is None:
        pytest.skip("nothing is chosen")
    scene = explained.scenes[chosen.configuration.option.id]
    few = headroom(chosen, explained.requirements, scene, MOST_HEADROOM)
    tightest = sorted(explained.headroom, key=lambda entry: entry.room)[:MOST_HEADROOM]
    assert sorted(few, key=lambda entry: entry.room)[:MOST_HEADROOM] == tightest
