"""Lines that are built: their bill, their audit, what they save, and what would have to give."""

from dataclasses import replace
from decimal import Decimal

import pytest

from recommender.choice.parts.pricing import cents
from recommender.lines.audit import audit_line
from recommender.lines.bill import bill_of, total
from recommender.lines.decide import LineDecision, decide_line
from recommender.lines.others import Others, differences
from recommender.lines.recommend import recommend_line
from recommender.lines.result import LineAnswer
from recommender.lines.saving import by_item, one_loop, ordered_alone, savings_of
from recommender.lines.shared import line_price
from recommender.lines.tables import Spares
from tests.lines.small_lines import Small, small_line

SEEDS = (0, 3, 5, 6, 9)
SHARED = 3
"""A line in which both loops run on one supply and one kind of carrier, unlike alone."""


@pytest.fixture(scope="module")
def decided() -> dict[int, tuple[Small, LineDecision]]:
    smalls = {seed: small_line(seed) for seed in SEEDS}
    return {seed: (s, decide_line(s.line, s.catalogue)) for seed, s in smalls.items()}


Decided = dict[int, tuple[Small, LineDecision]]


def test_a_line_of_one_loop_is_billed_as_that_loop(decided: Decided) -> None:
    """Without spares of its own it costs what the loop's own bill of materials comes to."""
    for small, decision in decided.values():
        for number, (alone,) in enumerate(decision.alone):
            line = replace(one_loop(small.line, number), spares=Spares())
            order = ordered_alone(line, 0, decision.known[number], small.catalogue)
            chosen = alone.decision.chosen
            assert order is not None and chosen is not None
            assert order.audit.price == order.audit.loops[0].price
            assert order.audit.price <= chosen.price
            assert not order.audit.failures


def test_the_bill_is_the_price_that_the_choice_reckons_with(decided: Decided) -> None:
    """Bills know nothing of what a loop asks for; the choice knows nothing of bills."""
    for small, decision in decided.values():
        cheapest = decision.cheapest
        assert cheapest is not None
        counts = [cheapest.built.supplies.count(part.id) for part in small.catalogue.supply]
        ids = [part.id for part in small.catalogue.controller]
        asks = [found.asks for found in decision.picked]
        reckoned = line_price(decision.terms, asks, ids.index(cheapest.built.controller), counts)
        assert reckoned == cents(cheapest.price) == decision.price
        assert cheapest.price == total(bill_of(cheapest.built, small.catalogue, small.line.spares))


def test_decided_again_it_is_the_same(decided: Decided) -> None:
    small, decision = decided[SHARED]
    again = decide_line(small.line, small.catalogue)
    assert again.cheapest == decision.cheapest
    assert (again.price, again.bound) == (decision.price, decision.bound)


def test_the_audit_catches_what_is_wrong(decided: Decided) -> None:
    """Each change of a sound line fails for the condition that it breaks, and for no other."""
    small, decision = decided[SHARED]
    cheapest = decision.cheapest
    assert cheapest is not None and len(cheapest.built.supplies) == 1
    built, line, catalogue = cheapest.built, small.line, small.catalogue
    load = cheapest.supplies[0]
    assert load.loops == ("loop0", "loop1")

    def failing(**limits: float) -> set[str]:
        supply = tuple(p.model_copy(update=limits) for p in catalogue.supply)
        changed = type(catalogue).model_construct(**{**dict(catalogue), "supply": supply})
        return set(audit_line(built, line, changed).failures)

    # Enough for either loop, and not for both.
    apart = [loop.loop.mean_power for loop in cheapest.loops]
    assert failing(mean_power=max(apart) + 0.5 * min(apart)) == {"line.supply.mean"}
    apart = [loop.loop.peak_power for loop in cheapest.loops]
    assert failing(peak_power=max(apart) + 0.5 * min(apart)) == {"line.supply.peak"}
    assert failing(max_sections=load.sections - 1) == {"line.supply.sections"}
    assert failing() == set()
    most = max(loop.carriers for loop in built.loops)
    controller = tuple(
        part.model_copy(update={"max_carriers": most}) for part in catalogue.controller
    )
    fewer = type(catalogue).model_construct(**{**dict(catalogue), "controller": controller})
    assert set(audit_line(built, line, fewer).failures) == {"line.controller.carriers"}
    length, width = cheapest.floor
    gap = line.floor.gap
    for room, name in (
        ({"length": length - 0.01}, "line.floor.length"),
        ({"width": width + gap - 0.01}, "line.floor.width"),
    ):
        tight = replace(line, floor=line.floor.model_copy(update=room))
        assert set(audit_line(built, tight, catalogue).failures) == {name}
    fits = {"length": length + 0.01, "width": width + gap + 0.01}
    wide = replace(line, floor=line.floor.model_copy(update=fits))
    assert audit_line(built, wide, catalogue).failures == ()


def test_all_loops_may_stop_at_once(decided: Decided) -> None:
    """No DC link is counted twice: without their resistors, heavy loops fail."""
    for small, decision in decided.values():
        assert decision.cheapest is not None
        stop = next(c for c in decision.cheapest.conditions if c.id == "line.braking.energy")
        assert stop.ok
        loops = tuple(replace(loop, resistors=()) for loop in decision.cheapest.built.loops)
        links = {part.id: part for part in small.catalogue.supply}
        bare = audit_line(
            replace(decision.cheapest.built, loops=loops), small.line, small.catalogue
        )
        without = next(c for c in bare.conditions if c.id == "line.braking.energy")
        taken = sum(
            0.5 * p.link_capacitance * (p.brake_voltage**2 - p.link_voltage**2)
            for p in (links[id_] for id_ in decision.cheapest.built.supplies)
        )
        assert without.limit == pytest.approx(taken)


def test_savings_add_up(decided: Decided) -> None:
    for small, decision in decided.values():
        assert decision.cheapest is not None
        orders = [
            ordered_alone(small.line, number, known, small.catalogue)
            for number, known in enumerate(decision.known)
        ]
        sure = [order for order in orders if order is not None]
        found = savings_of(decision.cheapest, sure, "EUR")
        assert sum(item.saved for item in found.items) == found.saved
        assert sum(order.price for order in found.orders) == found.separate
        assert found.separate - found.together == found.saved > 0
        saved = {item.item: item.saved for item in found.items}
        # By hand: one order instead of two, one cabinet, one controller at most as dear as both.
        once = [line for line in small.catalogue.engineering if line.per == "order"]
        assert saved["engineering"] == sum(line.price * line.pieces for line in once)
        cabinet = [line for line in small.catalogue.order_line if line.per == "cabinet"]
        protection = next(line for line in small.catalogue.order_line if line.per == "supply")
        supplies = [len(order.audit.built.supplies) for order in sure]
        fewer = sum(supplies) - len(decision.cheapest.built.supplies)
        assert saved["cabinet"] == cabinet[0].price + fewer * protection.price


def test_why_a_loop_is_not_as_it_would_be_alone(decided: Decided) -> None:
    """True by the bills: cheaper alone, dearer in the line, and the items add up to that."""
    told = 0
    for small, decision in decided.values():
        assert decision.cheapest is not None
        others = Others(decision, small.catalogue)
        for number, known in enumerate(decision.known):
            alone = ordered_alone(small.line, number, known, small.catalogue)
            assert alone is not None
            instead = others.instead(number, alone)
            mine = decision.cheapest.loops[number].configuration.option.id
            assert (instead is None) == (alone.option == mine)
            if instead is None:
                continue
            told += 1
            assert instead.cheaper_alone >= 0
            own = ordered_alone(small.line, number, [decision.picked[number]], small.catalogue)
            assert own is not None
            assert instead.cheaper_alone == own.audit.price - alone.audit.price
            if instead.dearer is None:
                assert instead.fails
                continue
            assert instead.dearer == sum(item.difference for item in instead.items)
            assert instead.dearer >= 0
            assert f"{instead.dearer:,.2f} EUR more" in instead.sentence
    assert told >= 1


def test_other_options_never_undercut_the_choice(decided: Decided) -> None:
    for small, decision in decided.values():
        assert decision.cheapest is not None
        others = Others(decision, small.catalogue)
        for number in range(len(decision.known)):
            prices = others.prices(number)
            mine = decision.cheapest.loops[number].configuration.option.id
            assert prices[mine] == decision.cheapest.price == min(prices.values())


def test_differences_add_up_and_leave_out_what_is_alike() -> None:
    before = {"a": Decimal(5), "b": Decimal(3), "c": Decimal(1)}
    after = {"a": Decimal(5), "b": Decimal(1), "d": Decimal(9)}
    found = {entry.item: entry.difference for entry in differences(before, after)}
    assert found == {"b": Decimal(-2), "c": Decimal(-1), "d": Decimal(9)}
    assert by_item(()) == {}


def answered(small: Small, **floor: float) -> LineAnswer:
    line = replace(small.line, floor=small.line.floor.model_copy(update=floor))
    return recommend_line(line, small.catalogue, in_brief=True)


def test_the_least_floor_that_would_do(decided: Decided) -> None:
    """On the floor that is named the line works at that price; a centimetre less is too little."""
    small, decision = decided[SHARED]
    assert decision.cheapest is not None
    width = decision.cheapest.floor[1] + small.line.floor.gap
    lacking = answered(small, width=width - 0.4)
    assert lacking.status == "none" and lacking.impasse is not None
    assert lacking.impasse.loops == ()
    (concession,) = lacking.impasse.concessions
    assert concession.key == "floor.width" and lacking.impasse.conflicts == (("floor.width",),)
    named = _metres(concession.to)
    works = answered(small, width=named)
    assert works.status == "recommended" and works.price == concession.price
    assert answered(small, width=named - 0.01).status == "none"


def _metres(text: str) -> float:
    value, unit = text.split()
    return float(value.replace(",", "")) * {"mm": 1e-3, "m": 1.0}[unit]


def test_the_budget_that_would_do(decided: Decided) -> None:
    small, decision = decided[SHARED]
    assert decision.cheapest is not None
    price = decision.cheapest.price
    for budget, status in ((price - 1, "none"), (price, "recommended")):
        commercial = small.line.commercial.model_copy(update={"budget": f"{budget:.2f} EUR"})
        line = replace(small.line, commercial=commercial)
        answer = recommend_line(line, small.catalogue, in_brief=True)
        assert answer.status == status
        if answer.impasse is not None:
            (concession,) = answer.impasse.concessions
            assert concession.key == "commercial.budget" and concession.price == price
