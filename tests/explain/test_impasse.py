"""Why nothing works, against looking into every option; the enquiries are invented."""

from functools import cache
from typing import Any, NamedTuple

import pytest

from recommender.choice.decision.decide import decide
from recommender.choice.decision.decision import Decision
from recommender.explain.conflicts import NOTHING
from recommender.explain.explained import explain_decision
from recommender.explain.impasse import Impasse, _smallest
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import Failing, explain
from recommender.explain.requirements import Requirement, Situation, situations
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case
from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import shipped

TWO = [{"name": "give", "dwell": "0.3 s"}, {"name": "take", "dwell": "0.5 s"}]
SIZE = {"length": "300 mm", "width": "300 mm", "cg_height": "100 mm"}
ENQUIRIES: dict[str, dict[str, Any]] = {
    # A tank that is wider than the aisle, and one that is too heavy besides.
    "aisle": {
        "load": {**SIZE, "mass": "30 kg", "reach": "150 mm", "held": "nested"},
        "rate": {"items": "12/min"},
        "loop": {"max_width": "800 mm"},
        "station": TWO,
    },
    "heavy": {
        "load": {**SIZE, "mass": "120 kg", "reach": "60 mm", "held": "clamped"},
        "rate": {"items": "12/min"},
        "loop": {"max_width": "1000 mm", "max_length": "9 m"},
        "station": TWO,
    },
    # Two slow stations at a high rate: carriers alike, so that some option is cheaper than others.
    "quick": {
        "load": {**SIZE, "mass": "30 kg", "reach": "0 mm", "held": "nested"},
        "rate": {"items": "70/min"},
        "loop": {"max_width": "1300 mm"},
        "station": [*TWO, {"name": "turn", "dwell": "1.5 s"}],
    },
    "soup": {
        "load": {
            **SIZE,
            "mass": "12 kg",
            "reach": "0 mm",
            "held": "nested",
            "liquid": {
                "length": "280 mm",
                "width": "280 mm",
                "depth": "60 mm",
                "freeboard": "4 mm",
            },
        },
        "rate": {"items": "20/min"},
        "loop": {"max_length": "5 m"},
        "station": TWO,
    },
}


class Told(NamedTuple):
    """An enquiry that nothing meets, what is told of it, and all to ask anew."""

    decision: Decision
    impasse: Impasse
    failing: Failing
    requirements: tuple[Requirement, ...]
    oracle: Oracle

    def works(self, id_: str, kept: frozenset[str]) -> bool:
        return self.oracle.works(*situations(self.failing[id_][0], self.requirements, kept))


@cache
def told(name: str) -> Told:
    case = Case.model_validate(ENQUIRIES[name])
    catalogue = read_catalogue(shipped("catalog"))
    decision = decide(case, catalogue, nearest=0)
    assert decision.chosen is None
    explained = explain_decision(decision, case, catalogue, offers_alone=True)
    assert explained.impasse is not None
    options = [entry.option for entry in decision.looked]
    failing = {option.id: (Situation(option, case), ()) for option in options}
    requirements = tuple(list_requirements(case, catalogue))
    return Told(decision, explained.impasse, failing, requirements, Oracle(catalogue, options))


every_enquiry = pytest.mark.parametrize("name", ENQUIRIES)


@every_enquiry
def test_no_option_meets_a_conflict_and_some_meets_each_part(name: str) -> None:
    found = told(name)
    assert found.impasse.conflicts
    for conflict in found.impasse.conflicts:
        assert not any(found.works(id_, conflict) for id_ in found.failing)
        for key in conflict:
            assert any(found.works(id_, conflict - {key}) for id_ in found.failing), (conflict, key)


@every_enquiry
def test_each_way_works_and_a_step_less_does_for_no_option(name: str) -> None:
    found = told(name)
    for id_, way in found.impasse.ways:
        assert found.oracle.works(way.works), id_
        assert way.price is not None
        if len(way.concessions) == 1:
            (short,) = way.fails
            others = [Situation(entry[0].option, short.case) for entry in found.failing.values()]
            assert not any(map(found.oracle.works, others))


@every_enquiry
def test_what_helps_alone_is_told(name: str) -> None:
    found = told(name)
    if found.impasse.conflicts == (NOTHING,):
        return
    everything = frozenset(each.key for each in found.requirements)
    alone = {keys for _, way in found.impasse.ways if len(keys := _keys(way)) == 1}
    for key in sorted(everything - {"commercial.budget"}):
        helped = [id_ for id_ in found.failing if found.works(id_, everything - {key})]
        # What helps only where next to nothing is left of it nobody would offer.
        if helped and not key.startswith("load."):
            assert (key,) in alone, (key, helped)


def _keys(way: Any) -> tuple[str, ...]:
    return tuple(concession.key for concession in way.concessions)


@pytest.mark.parametrize("name", ["aisle", "quick"])
def test_ways_are_the_smallest_of_all_options_and_cost_no_more(name: str) -> None:
    found = told(name)
    explanations = {
        id_: explain(situation, found.requirements, found.oracle)
        for id_, (situation, _) in found.failing.items()
    }
    best, ways = _smallest(explanations, found.failing), dict(found.impasse.ways)
    of_keys = {_keys(way): way for way in ways.values()}
    for keys, (_, way) in best.items():
        if len(keys) == 1:
            assert of_keys[keys].effort == pytest.approx(way.effort)
            price = found.oracle.price(way.works)
            assert price is None or (of_keys[keys].price or 0) <= price
