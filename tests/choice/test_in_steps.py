"""The choice alone, as soon as it is proven, is the choice among all options that follows."""

import pytest

from recommender.choice.decision.decide import decide, decide_in_steps


@pytest.mark.parametrize("name", ["crate", "upright", "nest", "assembly"])
def test_the_first_step_is_the_choice_among_all(name, catalogue, worked_case):
    worked = worked_case(name)
    first, last = decide_in_steps(worked.case, catalogue)
    known = worked.decision
    assert first.chosen == last.chosen == known.chosen
    assert (first.price, first.bound) == (known.price, known.bound) == (last.price, last.bound)
    assert [entry.option.id for entry in first.looked] == [e.option.id for e in known.looked]
    assert last.looked == known.looked


@pytest.mark.parametrize("name", ["upright", "nest"])
def test_what_is_not_looked_at_yet_costs_no_less_than_it_says(name, catalogue, worked_case):
    worked = worked_case(name)
    first = next(decide_in_steps(worked.case, catalogue))
    left = [entry for entry in first.looked if not entry.decided]
    assert len(left) > 20
    priced = {e.option.id: e.audit.price for e in worked.decision.looked if e.feasible}
    for entry in left:
        if entry.option.id in priced:
            assert first.price <= entry.bound <= 100 * priced[entry.option.id]
    refused = [entry for entry in first.looked if entry.decided and entry.audit is None]
    assert all(entry.obstacle for entry in refused)


def test_where_waves_decide_something_that_works_comes_first(catalogue, worked_case):
    worked = worked_case("tray")
    so_far, first, last = decide_in_steps(worked.case, catalogue)
    assert [step.so_far for step in (so_far, first, last)] == [True, False, False]
    assert so_far.chosen is not None and not so_far.chosen.failures
    assert so_far.bound <= first.bound and not so_far.optimal
    assert so_far.price >= first.price == last.price == worked.decision.price
    assert first.chosen == last.chosen == worked.decision.chosen
    # Of what it has left it says no more than holds.
    priced = {e.option.id: e.audit.price for e in last.looked if e.feasible}
    for entry in so_far.looked:
        if not entry.decided and entry.option.id in priced:
            assert entry.bound <= 100 * priced[entry.option.id]


def test_where_nothing_works_there_is_one_step(catalogue, worked_case):
    case = worked_case("impossible").case
    (only,) = decide_in_steps(case, catalogue)
    assert only == decide(case, catalogue)
