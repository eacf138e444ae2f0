"""The price of the cheapest candidate against a constraint model that buys the parts anew.

The model is told what each candidate asks for (length, carriers, power) and buys straights,
supplies, feeds and controller itself, as if all supplies were joined; sorting the candidates by the
price that the search gave them must come to the same.
"""

from collections.abc import Sequence
from typing import Any

import pytest

from recommender.choice.parts import rounding
from recommender.choice.parts.braking import fleet_price
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import cents, fixed_price, lines_price, metre_price
from recommender.choice.search.candidates import Candidate
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.choice.supplies.data import feed_data, supply_data
from tests.choice.choice_model import Asked, ControllerData, Instance, StraightData, choose
from tests.oracles.grid_search import cheapest

GRID = Grid(accelerations=5, speeds=3, bend_speeds=5, ramp_times=1)


def instance_of(candidates: Sequence[Candidate], price_book: PriceBook) -> Instance:
    """Data of the model; of equal prices the candidate with most headroom has the lowest rank."""
    catalogue = price_book.catalogue
    section = lines_price(catalogue, "section")
    by_headroom = sorted(range(len(candidates)), key=lambda k: (candidates[k].used, k))
    ranks = {k: rank for rank, k in enumerate(by_headroom)}
    idle = int(rounding.demand(catalogue.catalogue.section_idle_power, "power"))
    return Instance(
        candidates=tuple(
            asked_of(candidate, price_book, idle, ranks[k])
            for k, candidate in enumerate(candidates)
        ),
        straights=tuple(
            StraightData(
                length=int(rounding.demand(part.length, "length")),
                price=(
                    cents(part.price) + section,
                    cents(part.price) + section + rail_price(price_book, part.id),
                ),
            )
            for part in catalogue.straight
        ),
        supplies=supply_data(catalogue),
        feeds=feed_data(catalogue),
        controllers=tuple(
            ControllerData(part.max_carriers, part.max_sections, cents(part.price))
            for part in catalogue.controller
        ),
        most_supplies=catalogue.rules.most_supplies,
        section_idle_power=idle,
    )


def rail_price(price_book: PriceBook, part: str) -> int:
    rail = price_book.catalogue.lower_rails.get(part)
    return cents(rail.price) if rail else 0


def asked_of(candidate: Candidate, price_book: PriceBook, idle: int, rank: int) -> Asked:
    option, build = candidate.on.about.option, candidate.build
    sections, length = 2 * option.bend.sections, build.length
    case, catalogue = price_book.case, price_book.catalogue
    price = fixed_price(option, case, catalogue)
    price += int(metre_price(option, build.length, catalogue))
    price += int(fleet_price(option, case, catalogue, build.length, candidate.carriers))
    if case.minds_joints:
        # Which sections they are is not a matter of price alone.
        sections, length = sections + build.pieces, 0.0
        price += build.price[option.family.lower_guide]
    return Asked(
        length=int(rounding.demand(length, "length")),
        lower_guide=option.family.lower_guide,
        carriers=candidate.carriers,
        fixed_sections=sections,
        mean_power=candidate.mean_power + sections * idle,
        peak_power=candidate.peak_power + sections * idle,
        price=price,
        rank=rank,
    )


def test_sorting_the_candidates_comes_to_the_price_of_the_model(worked: Any) -> None:
    case = worked.case
    sloshes = case.load.liquid is not None
    catalogue = worked.thinned if sloshes else worked.catalogue
    options = [
        looked.option
        for looked in worked.decision.looked
        if looked.feasible and looked.option.carrier in catalogue.carrier
        if looked.option.bend in catalogue.bend
    ]
    price_book = PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    candidates = [
        candidate
        for entry in screen(options, case, catalogue, GRID)
        for candidate in cheapest(entry, price_book)
    ]
    if not candidates:
        assert sloshes or worked.decision.chosen is None
        pytest.skip("no setting of so coarse a grid works")
    choice = choose(instance_of(candidates, price_book))
    assert choice is not None and choice.optimal
    assert choice.price == min(candidate.price for candidate in candidates)
    assert candidates[choice.candidate].price == choice.price
