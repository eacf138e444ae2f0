"""Conflicts and edges of the worked cases, each asked anew of the whole search without memory."""

import os
import random
import subprocess
import sys
from typing import Any

import pytest

from recommender.choice.decision.decide import decide
from recommender.explain.concessions import ways_of
from recommender.explain.explained import explain_decision
from recommender.explain.groups import rejections
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import Explanation, worth_explaining
from recommender.explain.requirements import Situation, situations
from recommender.explain.table import list_requirements

SAMPLE = 6
"""Failing options of each case that are asked anew; which ones is drawn with a fixed seed."""

LIKELY = """
from recommender.choice.checks import LAYOUT_CHECKS, OPTION_CHECKS
from recommender.choice.checks.findings import Finding
from recommender.explain.reasons import likely_conflicts

findings = [Finding(check.about, 2.0, 1.0) for check in (*OPTION_CHECKS, *LAYOUT_CHECKS)]
keys = list(dict.fromkeys(key for finding in findings for key in finding.requirements))
print([sorted(each) for each in likely_conflicts(findings, keys)])
"""
"""Prints in which order conflicts are asked for if all these checks fail."""


def drawn(worked: Any) -> list[tuple[str, Explanation]]:
    """Some failing options, those that differ most first."""
    explained = list(worked.explained.failing.items())
    random.Random(worked.name).shuffle(explained)
    explained.sort(key=lambda entry: -len(entry[1].alone))
    half = SAMPLE // 2 + 1
    return [*explained[:half], *explained[half:][-(SAMPLE - half) :]] if explained else []


def situation_of(worked: Any, id_: str) -> Situation:
    option = next(each.option for each in worked.decision.looked if each.option.id == id_)
    return Situation(option, worked.case)


def test_every_failing_option_is_explained(worked: Any) -> None:
    looked = worked.decision.looked
    failing = {each.option.id for each in looked if each.decided and not each.feasible}
    assert set(worked.explained.failing) == failing
    for explanation in worked.explained.failing.values():
        assert explanation.conflicts.sets


def test_conflicts_suffice_and_none_of_their_members_is_superfluous(
    worked: Any, judge: Any
) -> None:
    requirements = worked.explained.requirements
    for id_, explanation in drawn(worked):
        situation = situation_of(worked, id_)
        for conflict in explanation.conflicts.sets[:2]:
            for each in situations(situation, requirements, conflict):
                assert judge.price(each) is None, (id_, conflict)
            for key in conflict:
                left = situations(situation, requirements, conflict - {key})
                assert any(judge.price(each) is not None for each in left), (id_, conflict, key)


def test_edges_hold_on_one_side_and_fail_on_the_other(worked: Any, judge: Any) -> None:
    for id_, explanation in drawn(worked):
        ways = [*explanation.alone[:3], *([explanation.pair] if explanation.pair else [])]
        for relaxed in ways:
            assert judge.price(relaxed.works) is not None, (id_, relaxed.concessions)
            assert relaxed.price is not None
            assert judge.prices_to_half_a_per_cent(relaxed.price, relaxed.works)
            for short in relaxed.fails:
                assert judge.price(short) is None, (id_, relaxed.concessions)


def test_edges_are_as_fine_as_promised(worked: Any) -> None:
    for explanation in worked.explained.failing.values():
        for entry in (each for way in explanation.known for each in way.concessions):
            if entry.value is None or entry.key == "commercial.budget":
                continue
            assert entry.short is not None
            apart = abs(entry.short - entry.value)
            assert apart <= 0.0101 * max(abs(entry.short), abs(entry.value)) or (
                entry.value == 0.0 and abs(entry.short) <= 0.003 * abs(entry.asked or 0.0)
            )


def test_what_helps_alone_is_in_every_conflict(worked: Any) -> None:
    owner = {
        move.key: requirement.key
        for requirement in worked.explained.requirements
        for move in requirement.moves
    }
    for explanation in worked.explained.failing.values():
        for relaxed in explanation.alone:
            (concession,) = relaxed.concessions
            assert all(owner[concession.key] in conflict for conflict in explanation.conflicts.sets)
        if explanation.pair is not None:
            keys = {owner[entry.key] for entry in explanation.pair.concessions}
            assert not explanation.alone
            assert all(keys & conflict for conflict in explanation.conflicts.sets)


def test_an_option_that_nothing_helps_has_the_empty_conflict(worked: Any) -> None:
    # Trucks further apart than the radius of the bend: no case changes that.
    for id_, explanation in worked.explained.failing.items():
        option = situation_of(worked, id_).option
        too_long = (option.carrier.coupling_distance or 0.0) > option.bend.radius
        assert explanation.hopeless == too_long
        if too_long:
            assert not explanation.alone
            assert explanation.pair is None


def test_the_smallest_conflict_comes_first(worked: Any) -> None:
    for explanation in worked.explained.failing.values():
        sizes = [len(keys) for keys in explanation.conflicts.sets]
        assert sizes == sorted(sizes)
        assert explanation.conflict == explanation.conflicts.sets[0]


@pytest.mark.parametrize("worked", ["impossible"], indirect=True, ids=str)
def test_a_case_that_nothing_meets(worked: Any, judge: Any) -> None:
    impasse = worked.explained.impasse
    assert impasse is not None
    requirements = worked.explained.requirements
    options = [each.option for each in worked.decision.looked]
    conflict = impasse.conflicts[0]
    for option in options:
        for each in situations(Situation(option, worked.case), requirements, conflict):
            assert judge.price(each) is None
    for key in conflict:
        left = (
            each
            for option in reversed(options)
            for each in situations(Situation(option, worked.case), requirements, conflict - {key})
        )
        assert any(judge.price(each) is not None for each in left), key
    id_, way = impasse.ways[0]
    decided = decide(way.works.case, worked.catalogue)
    assert next(each for each in decided.looked if each.option.id == id_).feasible
    assert all(way.effort <= other.effort for _, other in impasse.ways)


@pytest.mark.parametrize(
    "worked", ["crate", "cantilever", "impossible", "nest", "two-up", "upright"], indirect=True
)
def test_the_decision_agrees_about_a_relaxed_case(worked: Any, judge: Any) -> None:
    # With the first concession of some option in the case, the decision has it as the edge says.
    found = worked.explained.failing.values()
    ways = [way for each in found for way in ways_of(each.known, worked.case)[:1]]
    if not ways:
        pytest.skip("no option has an offer")
    way = random.Random(worked.name).choice(ways)
    decided = decide(way.works.case, worked.catalogue)
    same = [each for each in decided.looked if each.option.id == way.works.option.id]
    assert same[0].feasible
    assert judge.prices_to_half_a_per_cent(way.price, way.works)


def test_what_is_not_worth_explaining_has_no_offer(worked: Any) -> None:
    """Left out are only options for which the whole explanation offers nothing either."""
    explained, case = worked.explained, worked.case
    failing = {
        entry.option.id: (Situation(entry.option, case), ())
        for entry in worked.decision.looked
        if entry.option.id in explained.failing
    }
    requirements = list_requirements(case, worked.catalogue)
    kept = set(worth_explaining(failing, requirements, Oracle(worked.catalogue)))
    for id_, found in explained.failing.items():
        offered = ways_of(found.known, case)
        if id_ not in kept:
            assert not offered, id_
            assert not found.hopeless, id_
        elif not offered:
            # Everything together may help where nothing does by itself.
            assert found.hopeless or found.conflicts.sets, id_


def test_the_short_answer_tells_the_same_of_options_that_fail(worked: Any) -> None:
    decision, case, catalogue = worked.decision, worked.case, worked.catalogue
    if decision.chosen is None:
        return
    short = explain_decision(decision, case, catalogue, about=())
    assert set(short.failing) <= set(worked.explained.failing)
    currency = catalogue.catalogue.currency
    decided = [entry for entry in decision.looked if entry.decided]
    told, full = (
        [(found.who, found.why, found.near) for found in rejections(decided, each, case, currency)]
        for each in (short, worked.explained)
    )
    assert told == full


def test_likely_conflicts_are_asked_for_in_one_order_in_every_process() -> None:
    """Which conflicts are told of many hangs on it, and sets have another order in each process."""
    orders = {
        subprocess.run(
            [sys.executable, "-c", LIKELY],
            env={**os.environ, "PYTHONHASHSEED": str(seed)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in range(4)
    }
    assert len(orders) == 1
    assert orders != {"[]\n"}
