"""Options of which the first builds take all the work, and what is found of them nevertheless."""

from types import SimpleNamespace
from typing import Any

import pytest

from recommender.choice.decision import ask, option_report
from recommender.choice.decision.decide import decide
from recommender.choice.decision.explored import LOOK
from recommender.choice.parts.goals import Goal
from recommender.explain.requirements import edited
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from tests.conftest import without_memory


@pytest.fixture(scope="module")
def pressed_in_pairs(worked_case: Any) -> Case:
    """The clamped nests with room for two in the press: short loops keep all but the takt."""
    return edited(worked_case("nest").case, "station.press.positions", 2)


@pytest.fixture(scope="module")
def one_option(catalogue: Catalogue) -> Catalogue:
    return without_memory(
        catalogue,
        carrier=tuple(part for part in catalogue.carrier if part.id == "lm-176"),
        bend=tuple(part for part in catalogue.bend if part.id == "arc-480"),
    )


def test_no_build_keeps_the_others_from_being_looked_at(
    pressed_in_pairs: Case, one_option: Catalogue
) -> None:
    found = decide(pressed_in_pairs, one_option)
    assert found.chosen is not None
    assert not found.chosen.failures
    assert all(entry.decided for entry in found.looked)


def test_what_comes_nearest_and_holds_is_chosen(
    pressed_in_pairs: Case, one_option: Catalogue
) -> None:
    """With next to no work the boxes find nothing, though a setting of the grid holds."""
    found = decide(pressed_in_pairs, one_option, work=LOOK)
    (entry,) = found.looked
    assert found.chosen is not None
    assert entry.feasible
    assert entry.audit == found.chosen
    assert found.bound <= found.price
    assert not found.optimal


def test_of_candidates_alike_one_is_built(monkeypatch: pytest.MonkeyPatch) -> None:
    built: list[int] = []
    prices = {1_000: 1_004, 1_001: 1_002, 1_020: 1_020}

    def finish(candidate: Any, _: Any) -> Any:
        built.append(candidate.rank)
        return SimpleNamespace(audit=prices[candidate.rank])

    monkeypatch.setattr(ask, "_as_tried", lambda *_: None)
    monkeypatch.setattr(ask, "finish", finish)
    monkeypatch.setattr(ask, "_priced", lambda price: SimpleNamespace(price=price))
    candidates: Any = [SimpleNamespace(rank=rank, used=0.5) for rank in (1_020, 1_000, 1_001)]
    book: Any = None
    assert ask._built(candidates, book, 2_000).price == 1_004
    assert built == [1_000]
    # Where something as cheap as that is asked for, the next may be it.
    built.clear()
    assert ask._built(candidates, book, 1_004).price == 1_002
    assert built == [1_000, 1_001]


def test_the_cheapest_that_holds_is_told_and_not_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was found on paper comes to more when its supplies are divided, or to nothing."""
    reports: dict[int, list[int | None]] = {100: [None], 101: [None, 130], 102: [110], 120: [120]}
    looked: list[int] = []

    def reports_on(rank: int, _: Any) -> list[int | None]:
        looked.append(rank)
        return reports[rank]

    monkeypatch.setattr(option_report, "reports_on", lambda one, book: reports_on(one.rank, book))
    monkeypatch.setattr(option_report, "passes", lambda found, _: found is not None)
    monkeypatch.setattr(option_report, "rank_of", lambda found, _: found)
    candidates: Any = [SimpleNamespace(rank=rank) for rank in sorted(reports)]
    book: Any = SimpleNamespace(goal=Goal.PRICE)
    found: Any = option_report.cheapest_report(candidates, book)
    assert found == 110
    # What cannot come to less any more is not looked at.
    assert looked == [100, 101, 102]
    assert option_report.cheapest_report(candidates[:1], book) is None
