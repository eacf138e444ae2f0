"""How often choices hold: against audits of every draw, and closed forms where there is one."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide
from recommender.explain.explained import explain_in_brief
from recommender.inputs.given import with_values
from recommender.recommend import write_answer
from recommender.results.answer import as_json
from recommender.saved import make_saved
from recommender.trials.doubt import doubt
from recommender.trials.outcome import Draws, outcome_of
from recommender.trials.rebuilt import rebuilt
from recommender.trials.suited import motions_round, set_to_suit, suited
from recommender.trials.unsure import read_unsure

AUDITED = 60


@pytest.mark.parametrize("name", ["crate", "nest", "two-up"])
def test_verdicts_are_those_of_audits(worked_case: Callable[[str], Any], name: str) -> None:
    """Of draws that were not audited for it, and of each check that was not fitted."""
    worked = worked_case(name)
    chosen, case, catalogue = worked.decision.chosen, worked.case, worked.catalogue
    drawn = Draws.of(read_unsure([], case), 2_000, seed=4)
    found = outcome_of(chosen, case, catalogue, drawn)
    left = np.flatnonzero(~found.judged.audited)
    for number in np.random.default_rng(1).choice(left, AUDITED, replace=False):
        alone = audit(chosen.configuration, drawn.case(case, drawn.values[number]), catalogue)
        assert found.holds[number] == (not alone.failures)
        known = {finding.check: finding.ok for finding in alone.findings}
        judged = found.judged.utilisation[number] <= HOLDS
        for (check, _), holds, fitted in zip(
            found.checks, judged, found.judged.fitted, strict=True
        ):
            assert fitted or known.get(check, True) == holds
    assert 0.0 < found.chance.held < 1.0
    assert found.chance.low < found.chance.held < found.chance.high


def test_one_input_alone_fails_from_its_own_limit_on(worked_case: Callable[[str], Any]) -> None:
    """The crate slips below a friction that halving finds; draws are even, so the share is known.

    A Latin hypercube has one draw in each of as many parts, so that it is right to one draw.
    """
    worked = worked_case("crate")
    chosen, case, catalogue = worked.decision.chosen, worked.case, worked.catalogue
    low, high = 0.4, 0.5
    for _ in range(40):
        middle = 0.5 * (low + high)
        fails = audit(
            chosen.configuration, with_values(case, {"load.friction": middle}), catalogue
        ).failures
        low, high = (middle, high) if fails else (low, middle)
    inputs = read_unsure(["load.friction=0.4 to 0.5"], case)
    found = doubt(chosen, case, catalogue, inputs, draws=2_000)
    assert found.chance.held == pytest.approx((0.5 - high) / 0.1, abs=1.0 / 2_000)
    assert [check.check for check in found.checks] == ["load.slip"]
    assert found.inputs[0].share == pytest.approx(1.0, abs=0.05)
    assert (found.inputs[0].held_low, found.inputs[0].held_high) == (0.0, 1.0)
    assert found.sturdier is None
    assert not found.looked_for


def test_the_same_seed_gives_the_same(worked_case: Callable[[str], Any]) -> None:
    worked = worked_case("crate")
    asked = worked.decision.chosen, worked.case, worked.catalogue
    inputs = read_unsure([], worked.case)
    first, again, other = (doubt(*asked, inputs, draws=800, seed=seed) for seed in (1, 1, 2))
    assert first == again
    assert first.chance != other.chance


def test_a_reserve_is_there_for_dwells_that_are_not_sure(worked_case: Callable[[str], Any]) -> None:
    """Dwells longer by 3 % of a lap at most are within the crate's reserve of 5 %."""
    worked = worked_case("crate")
    chosen, catalogue = worked.decision.chosen, worked.catalogue
    bare = worked.case.model_copy(
        update={"rate": worked.case.rate.model_copy(update={"reserve": 0.0})}
    )
    inputs = read_unsure(["dwell=±10 %"], worked.case)
    asked = doubt(chosen, worked.case, catalogue, inputs, draws=600)
    without = doubt(chosen, bare, catalogue, inputs, draws=600)
    assert asked.reserve == 0.05
    assert asked.chance.held < 0.6
    assert {check.check for check in asked.checks} == {"fleet.lap", "fleet.takt"}
    assert without.reserve == 0.0
    assert without.chance.held == 1.0


def test_where_all_draws_hold_the_greatest_use_ranks_the_inputs(
    worked_case: Callable[[str], Any],
) -> None:
    worked = worked_case("crate")
    inputs = read_unsure(["load.mass=±1 %", "dwell=0.5 s to 1 s"], worked.case)
    found = doubt(worked.decision.chosen, worked.case, worked.catalogue, inputs, draws=600)
    assert found.chance.held == found.chance.high == 1.0
    assert found.chance.low > 0.99
    assert found.measured == "greatest utilisation"
    assert not found.checks


@pytest.mark.parametrize("name", ["crate", "nest"])
def test_what_suits_a_draw_holds_in_it(worked_case: Callable[[str], Any], name: str) -> None:
    """Where a motion is said to do, an audit finds one that does; and it does so more often."""
    worked = worked_case(name)
    chosen, case, catalogue = worked.decision.chosen, worked.case, worked.catalogue
    drawn = Draws.of(read_unsure(["dwell=±15 %", "load.mass=±10 %"], case), 600, seed=2)
    outcome = outcome_of(chosen, case, catalogue, drawn)
    holds = suited(chosen, case, catalogue, drawn, outcome)
    assert holds is not None
    assert holds[outcome.holds].all()
    more = np.flatnonzero(holds & ~outcome.holds)
    assert len(more) > 30
    for number in more[:6]:
        own = drawn.case(case, drawn.values[number])
        assert any(
            not audit(replace(chosen.configuration, motion=motion), own, catalogue).failures
            for motion in motions_round(chosen.configuration.motion, case)
        )
    found = set_to_suit(chosen, case, catalogue, drawn, outcome)
    assert found is not None
    assert found.low < found.held == holds.mean()


def test_a_sturdier_configuration_holds_and_is_answered(worked_case: Callable[[str], Any]) -> None:
    """Found among few carriers: in every draw audits say so, and it answers the case it names."""
    worked = worked_case("crate")
    case, catalogue = worked.case, worked.thinned
    first = decide(case, catalogue)
    assert first.chosen is not None
    answered = []

    def remembered(harder: Any) -> Any:
        answered.append((harder, decide(harder, catalogue)))
        return answered[-1][1]

    inputs = read_unsure(["dwell=±15 %", "load.mass=±10 %"], case)
    found = doubt(first.chosen, case, catalogue, inputs, draws=500, seed=3, decide=remembered)
    best = found.sturdier
    assert found.chance.held < 0.95
    assert best is not None
    assert best.chance.held >= 0.95
    assert found.at_least is not None
    assert found.at_least * Decimal("0.995") <= best.price == found.price + best.more
    chosen = next(
        decision.chosen
        for _, decision in answered
        if decision.chosen is not None and decision.chosen.price == best.price
    )
    drawn = Draws.of(inputs, 500, seed=3)
    held = [
        not audit(chosen.configuration, drawn.case(case, values), catalogue).failures
        for values in drawn.values
    ]
    assert np.mean(held) >= 0.95
    # What nothing undercuts is a price of the easiest of the harder cases.
    assert found.at_least <= min(d.chosen.price for _, d in answered if d.chosen is not None)


@pytest.mark.parametrize("name", ["crate", "nest", "two-up"])
def test_a_saved_answer_is_the_same_choice(worked_case: Callable[[str], Any], name: str) -> None:
    """Built again from what is printed."""
    worked = worked_case(name)
    asked = worked.case, worked.catalogue
    brief = explain_in_brief(worked.decision, *asked)
    saved = make_saved(as_json(write_answer(*asked, worked.decision, brief)).encode(), "an answer")
    found = rebuilt(saved, *asked)
    assert found is not None
    same, motion = found.configuration, found.configuration.motion
    first = worked.decision.chosen.configuration
    assert same.electrics == first.electrics
    assert (same.front, same.back, same.carriers, same.resistors) == (
        first.front,
        first.back,
        first.carriers,
        first.resistors,
    )
    assert motion.jerk == pytest.approx(first.motion.jerk, rel=1e-12)
    assert (motion.acceleration, motion.speed, motion.bend_speed) == (
        first.motion.acceleration,
        first.motion.speed,
        first.motion.bend_speed,
    )
    assert found.price == worked.decision.chosen.price
