"""What is found and cannot be built blocks neither its own option nor any other.

The oracles are the audit, which times every leg, and the search through all options, which leaves
nothing out for what it found before.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from recommender.choice.checks.findings import TAKT
from recommender.choice.decision import options_search
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import cheapest_alone, decide, price_alone
from recommender.choice.decision.finish import Finished, finish
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.candidates import Candidate
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.choice.supplies.feed import feed_loop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from tests.oracles.grid_search import cheapest

LIGHT = {"mass": "2.1525 kg", "length": "150 mm", "width": "200 mm", "reach": "80 mm"}
STATIONS = ({"name": "in", "dwell": "500 ms"}, {"name": "out", "dwell": "450 ms"})


@pytest.fixture(scope="module")
def whole() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@pytest.fixture(scope="module")
def hurried() -> Case:
    """Two loads on a carrier at 82 a minute: its cheapest fleet keeps its takt by a hair."""
    return Case.model_validate(
        {
            "load": {**LIGHT, "cg_height": "90 mm", "held": "friction", "friction": 0.4},
            "tooling": {"mass": "0.6 kg"},
            "rate": {"items": "82.186/min", "per_carrier": [1, 2]},
            "loop": {"max_length": "8 m"},
            "station": [*STATIONS, {"name": "off", "dwell": "500 ms"}],
        }
    )


def test_a_motion_that_misses_the_takt_by_a_hair_does_not_hide_one_that_keeps_it(
    hurried: Case, whole: Catalogue
) -> None:
    found, bound = cheapest_alone(hurried, whole)
    assert found is not None
    assert found.price == bound
    checked = audit(found.audit.configuration, hurried, whole)
    assert not checked.failures
    (takt,) = (each for each in checked.findings if each.check == TAKT.id)
    # The conditions of the fleet leave it to the exact takt: there is hardly any spare time.
    assert 0.99 < takt.utilisation <= 1.0
    chosen = decide(hurried, whole, nearest=0).chosen
    assert chosen is not None
    assert chosen.price == checked.price


def candidates(case: Case, catalogue: Catalogue) -> Iterator[Candidate]:
    price_book = PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    for screened in screen(list_options(case, catalogue), case, catalogue, Grid()):
        yield from cheapest(screened, price_book)


def test_every_candidate_keeps_its_takt_where_it_was_found(hurried: Case, whole: Catalogue) -> None:
    shares = []
    for found in candidates(hurried, whole):
        fed = feed_loop(LayoutContext(found.on, found.setting, found.carriers))
        assert fed is not None
        built = assemble(found.on, found.setting.settings, found.carriers, fed.electrics)
        (takt,) = (e for e in audit(built, hurried, whole).findings if e.check == TAKT.id)
        assert takt.ok
        shares.append(takt.utilisation)
    assert len(shares) > 10
    assert np.max(shares) > 0.99


@pytest.mark.parametrize("refused", [1, 3])
def test_options_left_for_what_cannot_be_built_are_looked_at(
    whole: Catalogue, monkeypatch: pytest.MonkeyPatch, refused: int
) -> None:
    """Some carriers cannot be built: the choice is the cheapest of all others all the same."""
    case = Case.model_validate(
        {
            "load": {"mass": "11 kg", "reach": "70 mm", "held": "nested"},
            "rate": {"items": "16/min"},
            "station": STATIONS,
        }
    )
    prices: dict[str, float] = {}
    for entry in decide(case, whole).looked:
        if entry.feasible and entry.audit is not None:
            carrier = entry.option.carrier.id
            price = float(100 * entry.audit.price)
            prices[carrier] = min(price, prices.get(carrier, np.inf))
    by_price = sorted(prices, key=prices.__getitem__)
    unbuilt = set(by_price[:refused])

    def never(candidate: Candidate, price_book: PriceBook) -> Finished | None:
        carrier = candidate.on.about.option.carrier.id
        return None if carrier in unbuilt else finish(candidate, price_book)

    monkeypatch.setattr(options_search, "finish", never)
    price, bound = price_alone(case, whole)
    assert price == prices[by_price[refused]]
    assert bound < price
