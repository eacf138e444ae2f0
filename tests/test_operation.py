"""Delivery, energy and stops of an answer: by hand, and where each is said."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from math import ceil
from typing import Any

import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.power import lap_energy, queue_energy
from recommender.explain.differences import cause, item_differences
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import recommend
from recommender.results.answer import Answer, as_json, plain
from recommender.views.order import delivery_text, running_text
from recommender.views.terminal import choice_facts


@pytest.fixture(scope="module")
def crate(worked_case: Callable[[str], Any]) -> Any:
    return worked_case("crate")


def changed(case: Case, table: str, **values: Any) -> Case:
    part = getattr(case, table).model_copy(update=values)
    return case.model_copy(update={table: part})


class TestDelivery:
    def test_is_a_chain(self, crate: Any) -> None:
        """By hand: bend and carrier take eight weeks, assembly and testing three, transport two."""
        plan = crate.answer.choice.delivery
        assert [(step.weeks, step.governed_by) for step in plan.steps] == [
            (8.0, "bs-228"),
            (3.0, "assembly"),
            (2.0, "transport"),
        ]
        assert plan.weeks == 13.0
        assert max(part.lead_time_weeks for part in crate.answer.parts) == 8.0
        assert delivery_text(plan) == (
            "13 weeks: parts 8 (bs-228), then assembly and testing 3, then transport and start-up 2"
        )

    def test_is_what_the_latest_delivery_is_compared_with(self, crate: Any) -> None:
        """Ten weeks were enough for bend and carrier alone, and are not for the loop."""
        cases = {
            weeks: changed(crate.case, "commercial", latest_delivery=weeks)
            for weeks in (10.0, 13.0)
        }
        assert decide(cases[10.0], crate.catalogue).chosen is None
        chosen = decide(cases[13.0], crate.catalogue).chosen
        assert chosen is not None and chosen.price == crate.decision.chosen.price
        found = {finding.check: finding for finding in chosen.findings}
        for check in ("commercial.delivery", "commercial.chain"):
            assert (found[check].demand, found[check].limit) == (13.0, 13.0)
            assert found[check].governed_by in ("arc-280", "bs-228")

    def test_is_never_in_seconds(self, crate: Any) -> None:
        """Neither the case, nor a check, nor a part says a lead time in anything but weeks."""
        case = changed(crate.case, "commercial", latest_delivery=13.0)
        data = json.loads(as_json(recommend(case, crate.catalogue, in_brief=True)))
        assert data["case"]["commercial"]["latest_delivery"] == 13.0
        option = next(o for o in data["options"] if o["id"] == data["recommended"])
        checks = [c for c in option["checks"] if c["id"].startswith("commercial.")]
        assert checks and all(c["unit"] == "weeks" and c["demand"] == 13.0 for c in checks)
        assert option["delivery"]["weeks"] == 13.0
        in_seconds = {604800.0 * weeks for weeks in range(1, 60)}
        numbers = [float(n) for n in re.findall(r"(?<![\w.])\d+\.\d+", json.dumps(data))]
        assert not in_seconds & set(numbers)


class TestRunningCost:
    def test_is_the_mean_power_over_the_hours_of_a_year(self, crate: Any) -> None:
        running = crate.answer.choice.running
        assert running.hours_a_year == 20000 / 5
        assert running.mean_w == crate.decision.chosen.loop.mean_power
        assert running.energy_kwh_a_year == pytest.approx(running.mean_w * 4000 / 1000)
        cost = Decimal(running.energy_kwh_a_year) * Decimal("0.24")
        assert running.cost_a_year == round(cost, 2)
        assert running_text(running, "EUR").endswith("W over 4,000 h")

    def test_counts_idle_sections(self, crate: Any) -> None:
        """Eight sections that idle with 10 W more each take 8·10·4000/1000 kWh more."""
        header = crate.catalogue.catalogue
        idle = header.model_copy(update={"section_idle_power": header.section_idle_power + 10.0})
        thirsty = crate.catalogue.model_copy(update={"catalogue": idle})
        before, after = (
            recommend(crate.case, catalogue, in_brief=True).choice
            for catalogue in (crate.catalogue, thirsty)
        )
        more = after.running.energy_kwh_a_year - before.running.energy_kwh_a_year
        assert crate.decision.chosen.configuration.sections == 8
        assert more == pytest.approx(8 * 10 * 4000 / 1000)

    def test_moves_no_choice(self, crate: Any, altered: Callable[..., Catalogue]) -> None:
        energy = crate.catalogue.energy.model_copy(update={"price_per_kwh": Decimal("99.00")})
        dear = decide(crate.case, altered(crate.catalogue, energy=energy))
        assert dear.price == crate.decision.price
        assert dear.chosen.configuration == crate.decision.chosen.configuration

    def test_is_compared(self, crate: Any) -> None:
        answer: Answer = crate.answer
        working = [option for option in answer.options if option.price is not None]
        assert len(working) > 3
        for option in working:
            assert "kWh a year" in dict(choice_facts(answer, option))["Energy"]
            assert plain(option)["running"]["energy_kwh_a_year"] > 0


class TestStops:
    def test_controlled_one_is_what_friction_holds(self, crate: Any) -> None:
        """By hand: 0.45·9.80665/1.5 = 2.942 m/s², within a step of the 400 that are looked at."""
        soft, hard = crate.answer.choice.stops
        motion = crate.decision.chosen.configuration.motion
        held = 0.45 * 9.80665 / 1.5
        assert soft.what == "controlled" and motion.acceleration <= soft.deceleration_m_s2 <= held
        assert soft.deceleration_m_s2 == pytest.approx(held, abs=0.02)
        ramp = soft.deceleration_m_s2 / motion.jerk
        assert soft.delay_s == pytest.approx(0.1 + 0.5 * ramp)
        way = motion.speed**2 / (2 * soft.deceleration_m_s2) + motion.speed * soft.delay_s
        assert soft.distance_m == pytest.approx(way)
        assert hard.what == "full force" and hard.delay_s == 0.1
        assert hard.distance_m < soft.distance_m

    def test_both_stand_in_the_cautions(self, crate: Any) -> None:
        (line,) = [text for text in crate.answer.cautions if "controlled stop" in text]
        soft, hard = crate.answer.choice.stops
        for said in (
            # Rounded up, so that no guard stands too near.
            f"{10 * ceil(100 * soft.distance_m)} mm",
            f"{10 * ceil(100 * hard.distance_m)} mm",
            "IEC 60204-1, category 1",
            "ISO 13855",
        ):
            assert said in line

    def test_enquiry_and_drive_limit_it(self, crate: Any) -> None:
        gentle = changed(crate.case, "limits", acceleration=2.6)
        answer = recommend(gentle, crate.catalogue, in_brief=True)
        assert answer.choice.stops[0].deceleration_m_s2 <= 2.6
        clamped = changed(changed(crate.case, "load", held="clamped"), "limits", acceleration=None)
        answer = recommend(clamped, crate.catalogue, in_brief=True)
        carrier = crate.catalogue.carriers[answer.choice.carrier]
        mass = carrier.mass + clamped.load.mass + clamped.tooling.mass
        most = carrier.total_peak_force / (crate.catalogue.rules.drive_margin * mass)
        assert answer.choice.stops[0].deceleration_m_s2 == pytest.approx(most)


class TestRateThatIsHeld:
    def test_is_said(self, crate: Any) -> None:
        answer: Answer = crate.answer
        (line,) = [entry for entry in answer.assumptions if entry.key == "rate.held"]
        assert line.value == "18.9/min"
        assert "the controller holds the rate that is asked" in line.why
        said = dict(choice_facts(answer, answer.choice))["Rate"]
        assert said.startswith("18.0 items/min asked, 18.9 with 5 % of reserve; could reach ")

    def test_all_figures_are_at_it(self, crate: Any) -> None:
        """One configuration, asked for half the rate: the loop could still reach as much, and its
        moving power is that of half as many laps; it lasts twice as long."""
        built = crate.decision.chosen.configuration
        halved = changed(crate.case, "rate", items=0.5 * crate.case.rate.items)
        idle = built.sections * crate.catalogue.catalogue.section_idle_power
        fast, slow = (audit(built, case, crate.catalogue) for case in (crate.case, halved))
        assert slow.takt == pytest.approx(fast.takt)
        assert fast.rate > crate.case.rate.items

        def about(case: Case) -> Any:
            context = OptionContext(built.option, case, crate.catalogue)
            return layout_of(built, setting_of(context, built.motion))

        for found, case in ((fast, crate.case), (slow, halved)):
            layout = about(case)
            energy = lap_energy(layout.setting, layout.lap, layout.on.bend_travel)
            energy = float((energy + queue_energy(layout))[0])
            asked = built.option.items / (1.05 * case.rate.items)
            assert found.loop.mean_power - idle == pytest.approx(energy / asked)
            if case is halved:  # the gentlest motion that is chosen reaches what is asked, no more
                assert found.loop.mean_power - idle != pytest.approx(energy / found.takt, rel=1e-3)
        life = [
            next(f for f in found.findings if f.check == "roller.life") for found in (fast, slow)
        ]
        assert life[1].limit == pytest.approx(2.0 * life[0].limit)
        heat = [
            next(f for f in found.findings if f.check == "drive.continuous")
            for found in (fast, slow)
        ]
        assert heat[1].demand < heat[0].demand


def test_what_is_left_out_is_said(crate: Any) -> None:
    case = changed(crate.case, "commercial", without=("covers", "brake resistors"))
    answer = recommend(case, crate.catalogue, in_brief=True)
    (line,) = [text for text in answer.cautions if text.startswith("Left out of this order")]
    assert "covers, brake resistors" in line and "comes back when the carriers brake" in line
    assert not [check for check in answer.choice.checks if check.id.startswith("braking.")]
    assert not [text for text in crate.answer.cautions if text.startswith("Left out")]


def test_without_resistors_in_the_catalogue_that_is_said(
    crate: Any, altered: Callable[..., Catalogue]
) -> None:
    bare = altered(crate.catalogue, brake_resistor=(), energy=None, delivery_step=())
    answer = recommend(crate.case, bare, in_brief=True)
    values = {entry.key: entry.value for entry in answer.assumptions}
    assert values["braking.energy"] == "not looked at" and "braking.sizing" not in values
    assert answer.choice.running.cost_a_year is None
    assert answer.choice.delivery.weeks == 8.0
    built = decide(crate.case, bare).chosen
    assert replace(built.configuration, resistors=()) == built.configuration


def test_dearer_lines_say_what_they_count(crate: Any) -> None:
    """By hand: 4.62 m of guide on the wider bend are five begun metres instead of four."""
    choice = crate.decision.chosen
    audits = {looked.option.id: looked.audit for looked in crate.decision.looked}
    wider, smaller = audits["bs-228_arc-480_x1"], audits["bs-180_arc-280_x1"]
    assert wider.configuration.loop.length == pytest.approx(4.616, abs=1e-3)
    differences = dict(item_differences(wider, choice))
    assert differences["covers"] == Decimal("165.00")
    assert cause("covers", wider, choice, "EUR") == "5 of cover are charged instead of 4"
    said = cause("spares", choice, smaller, "EUR")
    assert said == "spare-carrier costs 2,680.00 EUR instead of 2,290.00 EUR"
