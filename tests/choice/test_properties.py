"""What holds of any enquiry and any catalogue: drawn ones, most of which can be met.

A price that is called proven may lie half a per cent above the least, so a comparison of two may
stray by as much.
"""

import math
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide, price_alone
from recommender.choice.decision.decision import Decision
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.recommend import recommend
from tests.conftest import shipped_catalogue, without_memory
from tests.enquiries import case_of, few_parts, tables

RESOLUTION = 0.995
# By runs: the default one is short, the long one draws more.
EFFORTS = [
    pytest.param(2, id="few"),
    pytest.param(40, id="many", marks=pytest.mark.nightly),
]
METRES, KILOGRAMS, SECONDS = 0.0254, 0.45359237, 60.0


def drawn(examples: int) -> settings:
    return settings(
        max_examples=examples,
        derandomize=True,
        deadline=None,
        database=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


PARTS = few_parts(shipped_catalogue())


def thinned(parts: dict[str, Any]) -> Catalogue:
    return without_memory(shipped_catalogue(), **parts)


def price(case: Case, catalogue: Catalogue) -> float:
    found, _ = price_alone(case, catalogue)
    return math.inf if found is None else float(found)


def told(decision: Decision) -> dict[str, tuple[bool, bool, int]]:
    """What became of each option, and what it costs at least."""
    return {one.option.id: (one.feasible, one.decided, one.bound) for one in decision.looked}


@pytest.mark.parametrize("examples", [6, *EFFORTS[1:]])
def test_an_audited_answer_or_an_explained_none(examples: int) -> None:
    came: Counter[str] = Counter()

    @drawn(examples)
    @given(tables(), PARTS)
    def holds(table: dict[str, Any], parts: dict[str, Any]) -> None:
        case, catalogue = case_of(table), thinned(parts)
        decision = decide(case, catalogue)
        came["met" if decision.chosen else "none"] += 1
        if decision.chosen is not None:
            again = audit(decision.chosen.configuration, case, catalogue)
            assert not again.failures
            assert int(100 * again.price) == decision.price
            assert decision.bound <= decision.price
            works = [one for one in decision.looked if one.feasible and one.audit is not None]
            assert min(100 * one.audit.price for one in works if one.audit) == decision.price
            return
        for one in decision.looked:
            assert not one.feasible
            assert not one.decided or one.obstacle or (one.audit and one.audit.failures)
        answer = recommend(case, catalogue)
        undecided = [option for option in answer.options if option.verdict == "undecided"]
        assert undecided or (answer.impasse is not None and answer.impasse.reason)

    holds()
    assert came["met"] > came["none"], came


@pytest.mark.parametrize("examples", EFFORTS)
def test_neither_the_units_nor_the_order_of_anything_matters(examples: int) -> None:
    @drawn(examples)
    @given(tables(), PARTS)
    def holds(table: dict[str, Any], parts: dict[str, Any]) -> None:
        catalogue = thinned(parts)
        one = decide(case_of(table), catalogue)
        turned = without_memory(
            catalogue, **{name: tuple(reversed(some)) for name, some in parts.items()}
        )
        other = decide(case_of(turned_round(in_other_units(table))), turned)
        assert other.price == one.price
        assert (other.chosen is None) == (one.chosen is None)
        assert told(other).keys() == told(one).keys()
        assert {id_: was[0] for id_, was in told(other).items()} == {
            id_: was[0] for id_, was in told(one).items()
        }

    holds()


def in_other_units(table: dict[str, Any]) -> dict[str, Any]:
    """The same lengths in inches, masses in pounds, dwells in minutes, rates an hour."""
    number = lambda text: float(text.split()[0])  # noqa: E731
    load = dict(table["load"])
    load["mass"] = f"{number(load['mass']) / KILOGRAMS!r} lb"
    for key in ("length", "width", "reach", "cg_height"):
        load[key] = f"{number(load[key]) / METRES!r} in"
    stations = [
        {**station, "dwell": f"{number(station['dwell']) / SECONDS!r} min"}
        for station in table["station"]
    ]
    rate = {"items": f"{number(table['rate']['items']) * 3600.0!r}/h"}
    return {**table, "load": load, "station": stations, "rate": rate}


def turned_round(table: dict[str, Any]) -> dict[str, Any]:
    """The same with its keys in another order; that of the stations means something."""
    return {
        key: turned_round(value) if isinstance(value, dict) else value
        for key, value in reversed(table.items())
    }


def test_a_catalogue_is_the_same_from_files_in_another_order(tmp_path: Path) -> None:
    """Files are read by name; here the names are turned round, and one file becomes many."""
    names = sorted(path.name for path in shipped("catalog").glob("*.toml"))
    for name, other in zip(names, reversed(range(len(names))), strict=True):
        text = (shipped("catalog") / name).read_text(encoding="utf-8")
        (tmp_path / f"{other:02}-{name}").write_text(text, encoding="utf-8")
    table = {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}}
    bends = shipped_catalogue().bend[:1]
    wanted = [part.id for part in shipped_catalogue().carrier[:3]]
    prices = []
    for folder in (shipped("catalog"), tmp_path):
        whole = read_catalogue(folder)
        carriers = tuple(part for part in whole.carrier if part.id in wanted)
        some = tuple(part for part in whole.bend if part.id == bends[0].id)
        assert len(carriers) == 3
        prices.append(price(case_of(table), without_memory(whole, carrier=carriers, bend=some)))
    assert prices[0] == prices[1] < math.inf
    shutil.rmtree(tmp_path)


def more_asked(table: dict[str, Any], key: str, factor: float) -> dict[str, Any]:
    """An enquiry that asks for more of one thing."""
    number = lambda text: float(text.split()[0])  # noqa: E731
    if key == "dwell":
        stations = [
            {**one, "dwell": f"{factor * number(one['dwell'])!r} s"} for one in table["station"]
        ]
        return {**table, "station": stations}
    if key == "hours":
        return {**table, "life": {"hours": factor * table["life"]["hours"]}}
    if key == "items":
        return {**table, "rate": {"items": f"{factor * number(table['rate']['items'])!r} 1/s"}}
    unit = {"mass": "kg", "reach": "m"}[key]
    longer = factor * number(table["load"][key]) + (0.01 if key == "reach" else 0.0)
    return {**table, "load": {**table["load"], key: f"{longer!r} {unit}"}}


@pytest.mark.parametrize("examples", EFFORTS)
@pytest.mark.parametrize("key", ["items", "mass", "reach", "dwell", "hours"])
def test_asking_for_more_of_it_is_never_cheaper(key: str, examples: int) -> None:
    dearer: list[bool] = []

    @drawn(examples)
    @given(tables(), PARTS, st.sampled_from((1.1, 1.5, 2.0)))
    def holds(table: dict[str, Any], parts: dict[str, Any], factor: float) -> None:
        catalogue = thinned(parts)
        less = price(case_of(table), catalogue)
        more = price(case_of(more_asked(table, key, factor)), catalogue)
        assert more >= RESOLUTION * less
        dearer.append(more > less)

    holds()
    assert len(dearer) >= examples
    assert any(dearer) or examples < 10


@pytest.mark.parametrize("examples", EFFORTS)
def test_more_variants_to_choose_from_are_never_dearer(examples: int) -> None:
    @drawn(examples)
    @given(tables(), PARTS, st.sampled_from(shipped_catalogue().carrier))
    def holds(table: dict[str, Any], parts: dict[str, Any], further: Any) -> None:
        case = case_of(table)
        few = price(case, thinned(parts))
        wider = {part.id: part for part in (*parts["carrier"], further)}
        many = price(case, thinned({**parts, "carrier": tuple(wider.values())}))
        assert RESOLUTION * many <= few

    holds()
