"""Price lists: read with care, laid over a catalogue, decimal throughout."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.faults import InputError
from recommender.inputs.catalogue import PART_TABLES, Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.inputs.prices import (
    asked_price,
    notes_on,
    parse_prices,
    priced,
    read_prices,
)
from recommender.results.answer import as_json
from recommender.saved import make_saved
from recommender.shown import is_plain
from tests.commands import call

TODAY = date(2026, 11, 25)
HEAD = "id,price,lead_time_weeks,valid_from\n"


def laid(catalogue: Catalogue, text: str) -> tuple[Catalogue, Any]:
    return priced(catalogue, parse_prices(text, "p.csv"), TODAY, "p.csv")


def price_of(catalogue: Catalogue, id_: str) -> Decimal:
    return next(p.price for t in PART_TABLES for p in getattr(catalogue, t) if p.id == id_)


class TestLaidOver:
    def test_changes_price_and_time_of_what_it_names_alone(self, catalogue: Catalogue) -> None:
        found, said = laid(catalogue, HEAD + "bs-228,2700.50,9.5,\ns-1000,1,,\n")
        assert (found.carriers["bs-228"].price, found.carriers["bs-228"].lead_time) == (
            Decimal("2700.50"),
            9.5,
        )
        assert found.straights["s-1000"].price == Decimal(1)
        assert found.straights["s-1000"].lead_time == catalogue.straights["s-1000"].lead_time
        assert [line.id for line in said.lines] == ["bs-228", "s-1000"]
        changed = {
            new.id
            for table in PART_TABLES
            for old, new in zip(getattr(catalogue, table), getattr(found, table), strict=True)
            if old != new
        }
        assert changed == {"bs-228", "s-1000"}
        assert found.digest != catalogue.digest

    def test_of_the_catalogues_own_prices_changes_nothing(self, catalogue: Catalogue) -> None:
        lines = [
            f"{part.id},{part.price},{part.lead_time:g},2020-01-01\n"
            for table in PART_TABLES
            for part in getattr(catalogue, table)
        ]
        found, said = laid(catalogue, HEAD + "".join(lines))
        assert found == catalogue
        assert (said.unknown, said.missing, said.not_yet) == ((), (), ())

    def test_reports_what_is_unknown_missing_and_ahead(self, catalogue: Catalogue) -> None:
        text = HEAD + "no-such,5.00,,\nbs-228,1.00,,2026-11-26\nbs-180,2.00,,2026-11-25\n"
        found, said = laid(catalogue, text)
        assert said.unknown == ("no-such",)
        assert said.not_yet == ("bs-228",)
        assert price_of(found, "bs-228") == price_of(catalogue, "bs-228")
        assert price_of(found, "bs-180") == Decimal("2.00")
        assert "bs-228" in said.missing
        assert "bs-180" not in said.missing
        notes = list(notes_on(said))
        assert notes[0] == "p.csv: prices of 1 part used"
        assert "p.csv: not in the catalogue: no-such" in notes
        assert "p.csv: not used yet, as valid_from lies ahead: bs-228" in notes
        assert notes[-1].startswith("p.csv: without a price of today, at the catalogue's: ")

    @given(days=st.lists(st.integers(-900, 900), min_size=1, max_size=6, unique=True))
    def test_the_last_price_whose_day_has_come_holds(self, days: list[int]) -> None:
        catalogue = read_catalogue(shipped("catalog"))
        lines = [f"bs-228,{1000 + day}.00,,{TODAY + timedelta(days=day)}\n" for day in days]
        found, said = laid(catalogue, HEAD + "".join(lines))
        come = [day for day in days if day <= 0]
        expected = Decimal(1000 + max(come)) if come else price_of(catalogue, "bs-228")
        assert price_of(found, "bs-228") == expected
        assert said.not_yet == (("bs-228",) if any(day > 0 for day in days) else ())

    def test_discount_and_margin_are_by_line(self, catalogue: Catalogue) -> None:
        text = "id;price;discount;margin\nbs-228;200.00;10;25 %\nbs-180;;50;\n"
        found, said = laid(catalogue, text)
        assert price_of(found, "bs-228") == Decimal("240.00")
        assert price_of(found, "bs-180") == price_of(catalogue, "bs-180") / 2
        line = next(line for line in said.lines if line.id == "bs-228")
        assert (line.listed, line.discount, line.margin) == (
            Decimal("200.00"),
            Decimal(10),
            Decimal(25),
        )

    @given(
        listed=st.decimals(0, 10**6, places=2),
        discount=st.decimals(0, 100, places=2),
        margin=st.decimals(0, 95, places=2),
    )
    def test_prices_are_rounded_once_a_half_upward(
        self, listed: Decimal, discount: Decimal, margin: Decimal
    ) -> None:
        """Against fractions, in which nothing is rounded."""
        exact = Fraction(listed) * (100 - Fraction(discount)) / (100 - Fraction(margin))
        cents = (exact * 100 + Fraction(1, 2)).__floor__()
        assert asked_price(listed, discount, margin) == Decimal(cents) / 100

    def test_goes_into_the_answer_and_its_saved_form(
        self, worked_case: Callable[[str], Any], catalogue: Catalogue
    ) -> None:
        _, said = laid(catalogue, HEAD + "bs-228,2700.50,9.5,2026-01-01\n")
        answer = replace(worked_case("crate").answer, prices=said)
        assert make_saved(as_json(answer).encode(), "x") == answer


class TestRefused:
    @pytest.mark.parametrize(
        ("text", "why"),
        [
            ("", "is empty; its first line names id, price"),
            ("id\nx\n", "has no column price"),
            ("id,prize\n", 'column "prize" is not known here; the nearest known key is price'),
            ("id,price,price\n", "column price stands there twice"),
            (HEAD + "bs-180,1,2\n", "line 2: has 3 entries for 4 columns"),
            (HEAD + ",1,,\n", "line 2: id is missing"),
            (HEAD + 'bs-180,"1,50",,\n', "line 2: price must be in whole cents with a point"),
            (HEAD + "bs-180,-1,,\n", "price must be in whole cents"),
            (HEAD + "bs-180,1.005,,\n", "price must be in whole cents"),
            (HEAD + "bs-180,NaN,,\n", "price must be in whole cents"),
            (HEAD + "bs-180,1e3,,\n", "price must be in whole cents"),
            (HEAD + "bs-180,1 EUR,,\n", "price must be in whole cents"),
            (HEAD + "bs-180,1,8 weeks,\n", "lead_time_weeks must be a number of weeks"),
            (HEAD + "bs-180,1,,31.01.2026\n", "valid_from must be a day as in 2026-01-31"),
            (HEAD + "bs-180,1,,2026-02-30\n", "valid_from must be a day"),
            (HEAD + "bs-180,1,,\nbs-180,2,,\n", "line 3: bs-180 stands in line 2 already"),
            ("id,price,discount\nbs-180,1,101\n", "discount must be at most 100 per cent"),
            ("id,price,margin\nbs-180,1,96\n", "margin must be at most 95 per cent"),
            ("id,price,margin\nbs-180,1,-5\n", "margin must be per cent"),
            (HEAD + 'bs-180,"1\n', "is no CSV"),
        ],
        ids=lambda text: text[-30:],
    )
    def test_with_file_line_and_remedy(self, text: str, why: str) -> None:
        with pytest.raises(InputError) as refused:
            parse_prices(text, "p.csv")
        assert str(refused.value).startswith("p.csv: ")
        assert why in str(refused.value)

    def test_faults_are_counted_beyond_ten(self) -> None:
        with pytest.raises(InputError) as refused:
            parse_prices(HEAD + "bs-180,x,,\n" * 25, "p.csv")
        lines = str(refused.value).splitlines()
        assert len(lines) == 11
        assert lines[-1] == "p.csv: and 15 faults more"

    def test_a_price_that_is_too_large(self, catalogue: Catalogue) -> None:
        with pytest.raises(InputError, match=r"comes to 19999999980\.00, more than a price"):
            laid(catalogue, "id,price,margin\nbs-180,999999999,95\n")

    def test_files_pass_the_gate(self, tmp_path: Path) -> None:
        (tmp_path / "x.csv").write_bytes(b"\xff\xfe")
        for path, why in (
            (tmp_path / "x.csv", "is not UTF-8 text"),
            (tmp_path, "is a folder; name a price list"),
            (tmp_path / "y.csv", "there is no such file"),
        ):
            with pytest.raises(InputError, match=why):
                read_prices(path)

    @given(st.text(max_size=200))
    def test_whatever_stands_there_the_message_is_plain(self, text: str) -> None:
        try:
            parse_prices(f"{HEAD}{text}", "p.csv")
        except InputError as error:
            assert is_plain(str(error).replace("\n", ""))


class TestCommand:
    def test_prices_of_a_list_are_those_that_are_chosen_by(self, tmp_path: Path) -> None:
        path = tmp_path / "prices.csv"
        path.write_text(
            "id,price,discount,margin,valid_from\n"
            "bs-228,9000.00,,,\nbs-180,2000.00,10,25,2026-01-01\nno-such,1.00,,,\n",
            encoding="utf-8",
        )
        crate = str(shipped("cases") / "crate.toml")
        status, out, err = call("answer", crate, "--brief", "--json", "--prices", str(path))
        data = json.loads(out)
        assert status == 0
        assert data["recommended"] == "bs-180_arc-280_x1"
        carriers = data["parts"][0]
        assert (carriers["id"], carriers["unit_price"]) == ("bs-180", "2400.00")
        total = sum(Decimal(part["price"]) for part in data["parts"])
        assert Decimal(data["proof"]["price"]) == total
        assert data["prices"]["unknown"] == ["no-such"]
        assert data["catalogue"]["digest"] != read_catalogue(shipped("catalog")).digest
        assert err.splitlines()[:2] == [
            f"{path}: prices of 2 parts used",
            f"{path}: not in the catalogue: no-such",
        ]

    def test_a_list_that_is_none_ends_before_anything_is_computed(self, tmp_path: Path) -> None:
        path = tmp_path / "prices.csv"
        path.write_text("id,price\nbs-228,cheap\n", encoding="utf-8")
        crate = str(shipped("cases") / "crate.toml")
        for words in (("answer",), ("compare",), ("parts",), ("changed", crate)):
            status, out, err = call(words[0], crate, *words[1:], "--prices", str(path))
            assert (status, out) == (2, "")
            assert err == (
                f"recommender: {path}: line 2: price must be in whole cents with a point, such as"
                ' "1240.00" (read: "cheap")\n'
            )
