"""The way to the gentlest motion, on settings that hold where a simple rule says so.

The rule is known to the test, so that all round numbers can be tried one by one.
"""

from collections.abc import Sequence
from decimal import ROUND_FLOOR, Context, Decimal
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import findings
from recommender.choice.decision.gentlest import (
    Fixed,
    _Search,
    gentlest,
    holding_rows,
    product_of,
    rounded_down,
)
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import on_loop
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import SpanTable, axes_of
from recommender.choice.search.candidates import passes_alone
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

Triple = tuple[float, float, float]


def every_round(low: float, high: float, digits: int) -> list[float]:
    """All numbers of so many digits from one to another, written one by one."""
    return [
        value
        for exponent in range(Decimal(low).adjusted(), Decimal(high).adjusted() + 1)
        for value in with_digits(digits, exponent)
        if low * (1.0 - 1e-12) <= value <= high * (1.0 + 1e-12)
    ]


@cache
def with_digits(digits: int, exponent: int) -> list[float]:
    wholes = range(10 ** (digits - 1), 10**digits)
    return [float(f"{whole}e{exponent - digits + 1}") for whole in wholes]


@pytest.mark.parametrize("digits", [2, 3, 6])
def test_a_number_is_rounded_down_to_its_digits(digits: int) -> None:
    rng = np.random.default_rng(digits)
    values = 10.0 ** rng.uniform(-4.0, 7.0, 500)
    context = Context(prec=digits, rounding=ROUND_FLOOR)
    expected = [float(context.create_decimal(Decimal(value))) for value in values.tolist()]
    assert rounded_down(values, digits).tolist() == expected
    # What is round stays as it is.
    assert rounded_down(np.array(expected), digits).tolist() == expected


class Ruled(_Search):
    """A search whose settings hold from some values on; what it looks at is counted."""

    def __init__(self, floor: Triple, least: Triple, known: Triple, most: Triple) -> None:
        self.digits, self.floor = 3, floor
        self.least, self.known, self.most = least, known, most
        self.tables = 0

    def _first(self, values: Sequence[Array]) -> Triple | None:
        self.tables += 1
        holding = [
            [value for value in axis.tolist() if value >= floor * (1.0 - 1e-12)]
            for axis, floor in zip(values, self.floor, strict=True)
        ]
        a, b, v = (each[0] if each else None for each in holding)
        return None if a is None or b is None or v is None else (a, b, v)

    def _table(self, acceleration: Array, bend_speed: Array, speed: Array) -> Any:
        return float(acceleration[0]), float(bend_speed[0]), float(speed[0])


def ruled(rng: np.random.Generator) -> Ruled:
    least = rng.uniform((0.3, 0.2, 0.2), (3.0, 1.0, 1.2))
    known = least * rng.uniform(1.0, rng.choice([1.01, 6.0]), 3)
    most = known * (1.0, *rng.uniform(1.0, 2.0, 2))
    floor = least + rng.uniform(0.0, 1.0, 3) ** rng.choice([1.0, 8.0]) * (known - least)
    return Ruled(*(tuple(each.tolist()) for each in (floor, least, known, most)))


def test_the_least_round_numbers_that_hold_are_found() -> None:
    rng = np.random.default_rng(11)
    for _ in range(150):
        search = ruled(rng)
        expected = tuple(
            next(each for each in every_round(low, 20.0, 3) if each >= floor * (1.0 - 1e-12))
            for low, floor in zip(search.least, search.floor, strict=True)
        )
        assert search.run() == expected
        # Each look leaves a part of what is left; one by one there would be hundreds.
        assert search.tables < 40


def test_a_loop_with_time_to_spare_runs_as_slowly_as_it_may(catalogue: Catalogue) -> None:
    """One item a minute: the first round numbers of the axes keep up, whatever was known before."""
    case = make_case(
        {
            "load": {"mass": "3 kg", "length": "120 mm", "width": "100 mm", "held": "nested"},
            "rate": {"items": "1/min"},
            "station": [{"name": "only", "dwell": "1 s"}],
        },
        "one",
    )
    price_book, looked = PriceBook(case, catalogue, 9.0), 0
    for option in list_options(case, catalogue)[::25]:
        about = OptionContext(option, case, catalogue)
        on = next((on for each in price_book.builds() if (on := on_loop(about, each))), None)
        if on is None or not passes_alone(about):
            continue
        (axes,) = axes_of([option], case, catalogue)
        fixed = Fixed(on, 1, 10**9, 10**9)
        bend_speed = float(axes.bend.values[40])
        speed = min(1.5 * bend_speed, axes.fastest)
        acceleration = float(axes.straight.values[40])
        jerk = acceleration / about.rules.ramp_time
        known = setting_of(about, Motion(acceleration, jerk, speed, bend_speed))
        if not len(holding_rows(fixed, known)):
            continue
        found = gentlest(axes, fixed, known).settings
        least = (axes.straight.values[0], axes.bend.values[0])
        rounds = [next(each for each in every_round(0.01, 9.0, 3) if each >= low) for low in least]
        assert (found.acceleration[0], found.bend_speed[0]) == tuple(rounds)
        assert found.speed[0] >= axes.slowest
        looked += 1
    assert looked > 1


def test_a_takt_is_kept_up_to_what_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    layout: Any = SimpleNamespace(about=SimpleNamespace(takt=2.0))
    for kept in (1.9, 2.0, 2.1):
        monkeypatch.setattr(findings, "loop_takt", lambda *_, kept=kept: kept)
        assert findings.keeps_takt(layout, 3) == (kept <= 2.0)


def test_where_nothing_holds_nothing_is_found() -> None:
    search = Ruled((9.0, 0.1, 0.1), (1.0, 0.5, 0.5), (2.0, 1.0, 1.0), (2.0, 1.5, 1.5))
    assert search.run() is None


def test_the_next_round_number_is_the_least_above() -> None:
    rng = np.random.default_rng(12)
    search = ruled(rng)
    for value in [*rng.uniform(0.011, 40.0, 200).tolist(), 0.9999, 9.995, 1.23, 0.052]:
        expected = next(each for each in every_round(0.01, 50.0, 3) if each >= value * (1 - 1e-12))
        assert search._above(value) == pytest.approx(expected, rel=1e-12)


def test_round_numbers_between_two_are_all_there() -> None:
    search = ruled(np.random.default_rng(13))
    for low, high in ((0.5, 2.0), (0.97, 1.05), (0.031, 0.085), (3.0, 3.0)):
        assert search._round(low, high).tolist() == pytest.approx(every_round(low, high, 3))


def test_speeds_to_look_at_lie_close_where_one_is_known_to_do() -> None:
    """All round, none beyond what may be run, and the next one above what is known is there."""
    rng = np.random.default_rng(14)
    for _ in range(60):
        search = ruled(rng)
        for axis in (1, 2):
            near = search.known[axis]
            values = search._speeds(axis, near)
            low, high = search.least[axis], search._above(search.most[axis])
            assert (np.diff(values) > 0.0).all()
            assert low <= values[0] and values[-1] <= high
            assert values.tolist() == rounded_down(values, 3).tolist()
            assert search._above(near) in values.tolist()
            # A hundredth of what is known apart near to it, but for the rounding.
            around = values[np.abs(values / near - 1.0) <= 0.07]
            step = 10.0 ** (np.floor(np.log10(1.07 * near)) - 2.0)
            assert np.diff(around).max(initial=0.0) <= 0.01 * near + 1.01 * step


def test_every_setting_of_a_table_is_there_gentlest_first() -> None:
    rng = np.random.default_rng(15)
    acceleration = np.sort(rng.uniform(1.0, 9.0, 4))
    jerk = rng.permutation(rng.uniform(20.0, 90.0, 4))
    bend_speed, speed = (np.sort(rng.uniform(0.5, 2.0, count)) for count in (5, 6))
    settings, of_a, of_b = product_of(acceleration, jerk, bend_speed, speed)
    expected = [
        (a, b, v) for a in range(4) for b in range(5) for v in speed.tolist() if bend_speed[b] <= v
    ]
    rows = zip(of_a.tolist(), of_b.tolist(), settings.speed.tolist(), strict=True)
    assert list(rows) == expected
    assert settings.acceleration.tolist() == acceleration[of_a].tolist()
    assert settings.jerk.tolist() == jerk[of_a].tolist()
    assert settings.bend_speed.tolist() == bend_speed[of_b].tolist()


@pytest.mark.parametrize("nodes", [1, 2, 5, 16, 129])
def test_the_least_over_a_span_of_nodes(nodes: int) -> None:
    rng = np.random.default_rng(nodes)
    values = rng.normal(size=(nodes, 3))
    ends = np.sort(rng.integers(0, nodes, (200, 2)), axis=1)
    loads: Any = None
    table = SpanTable(loads, 0, ends[:, 0], ends[:, 1])
    expected = np.array([values[first : last + 1].min(axis=0) for first, last in ends])
    assert np.array_equal(table.pick(values), expected)
    rows = rng.integers(0, len(ends), 20)
    assert np.array_equal(table.take(rows).pick(values), expected[rows])
