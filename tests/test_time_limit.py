"""What a limit of time does: it ends the whole command, and says what it has left unsettled.

A clock that goes on by a second whenever it is looked at ends the work at any place that is wanted.
"""

import json
import os
import subprocess
import sys
from itertools import count
from math import inf
from typing import Any

import pytest

from recommender.choice import deadline
from recommender.choice.deadline import Unsettled
from recommender.choice.decision.decide import decide
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.explored import Effort
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped
from recommender.recommend import recommend
from recommender.results.answer import Answer, Verdict, as_json
from recommender.views.terminal import headline

LOOKS = (1, 6, 25, 70, 130)
CUT = {
    **{str(looks): (looks, None) for looks in LOOKS},
    **{f"{looks}, one told": (looks, 1) for looks in LOOKS[:-1]},
}
CRATE = str(shipped("cases") / "crate.toml")


@pytest.fixture(scope="module")
def few(worked_case: Any, altered: Any) -> Catalogue:
    """Two carriers that carry the crate, one that does not, on two bends."""
    catalogue = worked_case("crate").catalogue
    carriers = tuple(c for c in catalogue.carrier if c.id in ("bs-180", "bs-228", "std-116"))
    return altered(catalogue, carrier=carriers, bend=catalogue.bend[:2])  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def whole(worked_case: Any, few: Catalogue) -> Answer:
    return recommend(worked_case("crate").case, few)


@pytest.fixture(scope="module", params=CUT.values(), ids=CUT)
def cut(request: pytest.FixtureRequest, worked_case: Any, few: Catalogue) -> Answer:
    """The same answer, whole or of what is nearest, ended after so many looks at the clock."""
    looks, nearest = request.param
    return ended_after(looks, worked_case("crate").case, few, nearest=nearest)


def ended_after(
    looks: int,
    case: Case,
    catalogue: Catalogue,
    why: str | None = None,
    nearest: int | None = None,
) -> Answer:
    tick = count()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(deadline, "monotonic", lambda: float(next(tick)))
        return recommend(
            case,
            catalogue,
            about=() if why is None else (why,),
            turning=why is not None,
            seconds=float(looks),
            nearest=nearest,
        )


def test_no_clock_is_looked_at_without_a_limit(
    worked_case: Any, few: Catalogue, whole: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    def looked() -> float:
        raise AssertionError("somebody looks at a clock")

    monkeypatch.setattr(deadline, "monotonic", looked)
    monkeypatch.setattr("time.monotonic", looked)
    monkeypatch.setattr("time.perf_counter", looked)
    assert as_json(recommend(worked_case("crate").case, few)) == as_json(whole)


def test_a_limit_that_is_not_reached_changes_nothing(
    worked_case: Any, few: Catalogue, whole: Answer
) -> None:
    answer = recommend(worked_case("crate").case, few, seconds=3600.0)
    assert answer.unsettled == ()
    assert as_json(answer) == as_json(whole)


def test_what_is_cut_off_is_said(cut: Answer, whole: Answer) -> None:
    said = {Unsettled(text) for text in cut.unsettled}
    assert said, "the limits of this test are to cut something off"
    open_ = [option for option in cut.options if option.verdict is Verdict.UNDECIDED]
    assert not open_ or Unsettled.OPTIONS in said
    explained = {option.id for option in cut.options if option.conflicts}
    failing = {option.id for option in cut.options if option.verdict is Verdict.REJECTED}
    missing = {o.id for o in whole.options if o.conflicts and o.id in failing} - explained
    assert not missing or not cut.extent.whole or Unsettled.REASONS in said
    if cut.choice is not None and whole.choice is not None and cut.extent.whole:
        told, all_ = len(cut.choice.headroom), len(whole.choice.headroom)
        assert told == all_ or Unsettled.HEADROOM in said


def test_nothing_wrong_is_said_of_what_was_reached(cut: Answer, whole: Answer) -> None:
    assert whole.proof is not None
    if cut.proof is None:
        assert cut.status == "none"
        assert cut.impasse is None
        assert "no option was found that meets this case" in headline(cut).plain
    else:
        assert cut.proof.best_bound <= whole.proof.price <= cut.proof.price
        assert cut.proof.optimal is (cut.proof.best_bound >= 0.995 * float(cut.proof.price))
    by_id = {option.id: option for option in whole.options}
    for option in cut.options:
        found = by_id[option.id]
        if option.verdict in (Verdict.REJECTED, Verdict.UNDECIDED):
            assert option.price is None
            assert option.verdict is Verdict.UNDECIDED or found.verdict is Verdict.REJECTED
        if option.at_least is not None and found.price is not None:
            assert option.at_least <= found.price
        # What is explained is explained as without a limit.
        if option.verdict is found.verdict is Verdict.REJECTED and option.conflicts:
            assert (option.conflicts, option.relaxations) == (found.conflicts, found.relaxations)


def test_the_limits_of_this_test_lie_before_and_behind_the_choice(
    worked_case: Any, few: Catalogue
) -> None:
    case = worked_case("crate").case
    assert ended_after(LOOKS[0], case, few).choice is None
    assert ended_after(LOOKS[-1], case, few).choice is not None


def test_turning_points_that_are_not_looked_for_are_said(
    worked_case: Any, few: Catalogue, whole: Answer
) -> None:
    assert whole.recommended is not None
    # So many looks as explaining takes, and some more.
    cuts = []
    for looks in (160, 240, 400):
        ended = ended_after(looks, worked_case("crate").case, few, whole.recommended)
        cuts.append(ended.unsettled)
    assert any(Unsettled.TURNING in said for said in cuts), cuts


def test_how_sure_it_is_where_the_work_ends(worked_case: Any) -> None:
    """Nests past four quick stations: a glance finds something dearer than the cheapest."""
    nest = worked_case("nest")
    glance = recommend(nest.case, nest.catalogue, in_brief=True, work=Effort(0, 0))
    assert glance.proof is not None
    assert glance.unsettled == ()
    assert not glance.proof.optimal
    assert "best found, at most " in headline(glance).plain
    proven = nest.decision
    assert proven.optimal
    prices = [100 * glance.proof.best_bound, proven.price, 100 * glance.proof.price]
    assert prices == sorted(prices)


def test_the_proof_ends_by_its_work_alike_each_time(worked_case: Any, few: Catalogue) -> None:
    case: Case = worked_case("crate").case
    prices: list[tuple[int, int]] = []
    for work in (Effort(0, 0), Effort(40, 1), Effort(40, 1), Effort(100_000, 1_000)):
        decision: Decision = decide(case, few, work=work)
        prices.append((decision.price, decision.bound))
    assert prices[1] == prices[2]
    # More work never makes it worse.
    assert prices[0][0] >= prices[1][0] >= prices[3][0]
    assert prices[0][1] <= prices[1][1] <= prices[3][1]


def test_the_whole_command_ends_in_time() -> None:
    """The tray takes half a minute of the processor, and a third of it for explanations."""
    tray = str(shipped("cases") / "tray.toml")
    words = [sys.executable, "-m", "recommender", "answer", tray, "--json", "--time-limit", "2 s"]
    begun = os.times()
    ended = subprocess.run(words, capture_output=True, text=True, check=False)
    spent = os.times()
    assert ended.returncode in (0, 3), ended.stderr
    assert json.loads(ended.stdout)["unsettled"]
    # By the processor and not by the clock, since others may use it as well.
    seconds = sum(spent[2:4]) - sum(begun[2:4])
    assert seconds < 6.0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("why", CRATE, "bs-228_arc-280_x1"), "not settled within the time limit: options that"),
        (("compare", CRATE), "not settled within the time limit: options that"),
        (("parts", CRATE), "no option was found that meets this case, so there are no parts"),
        (("parts", CRATE, "--option", "bs-228_arc-280_x1"), "not looked at within the time limit"),
    ],
)
def test_commands_that_show_a_part_say_it_on_stderr(words: tuple[str, ...], told: str) -> None:
    command = [sys.executable, "-m", "recommender", *words, "--time-limit", "0 s"]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 3
    assert told in ended.stderr


def test_a_deadline_ends_with_its_own_block() -> None:
    with deadline.ending_in(0.0):
        assert deadline.time_left() == 0.0
        with deadline.ending_in(None):
            assert not deadline.late(Unsettled.SEARCH)
        with pytest.raises(deadline.TimeUpError):
            deadline.check_time(Unsettled.SEARCH)
    assert deadline.time_left() == inf
