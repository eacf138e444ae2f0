"""Options side by side, and what-if tables, against the answers that they are made of."""

import csv
import io
import json
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from recommender.choice import checks
from recommender.choice.checks.findings import TAKT
from recommender.commands.shortlist import SORTS, picked
from recommender.faults import InputError
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import read_toml, shipped
from recommender.recommend import recommend
from recommender.results.answer import Answer, as_json
from recommender.results.what_if import Varied, WhatIf, WhatIfCell
from recommender.views.comparison_tables import compared, comparison_csv, comparison_xlsx
from recommender.views.what_if import show_what_if, what_if_csv, what_if_json, what_if_xlsx
from recommender.what_if import IN_SHORT, read_varied, varied_cases, what_if
from tests.commands import call

CRATE = shipped("cases") / "crate.toml"


@pytest.fixture(scope="module")
def answer(worked_case: Callable[[str], Any]) -> Answer:
    found: Answer = worked_case("crate").answer
    return found


@pytest.fixture(scope="module")
def file(answer: Answer, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("saved") / "crate.json"
    path.write_text(as_json(answer), encoding="utf-8")
    return str(path)


class TestShortlist:
    @pytest.mark.parametrize("by", SORTS)
    def test_is_sorted_with_what_works_first(self, answer: Answer, by: str) -> None:
        found = picked(answer, by, ())
        assert {option.id for option in found} == {option.id for option in answer.options}
        works = [option.verdict in ("recommended", "dearer") for option in found]
        assert works == sorted(works, reverse=True)
        values = [SORTS[by](option) for option in found[: sum(works)]]
        assert values == sorted(value for value in values if value is not None)

    @pytest.mark.parametrize(
        ("only", "holds"),
        [
            (("works",), lambda option: option.price is not None),
            (("fails",), lambda option: option.price is None),
            (("dearer",), lambda option: option.verdict == "dearer"),
            (("bottom-supported",), lambda option: option.family == "bottom-supported"),
            (("bs-180", "works"), lambda option: option.carrier == "bs-180"),
            (("arc-280", "fails"), lambda o: o.bend == "arc-280" and o.price is None),
        ],
    )
    def test_holds_options_of_a_kind(
        self, answer: Answer, only: tuple[str, ...], holds: Callable[[Any], bool]
    ) -> None:
        expected = {option.id for option in answer.options if holds(option)}
        assert {option.id for option in picked(answer, None, only)} == expected != set()

    @pytest.mark.parametrize(
        ("words", "why"),
        [
            (("--sort", "beauty"), "--sort must be price, carriers,"),
            (("--only", "beauty"), "--only beauty: no option is that; give works, fails,"),
            (("--only", "works", "--only", "fails"), "no option is works and fails"),
            (("bs-228_arc-280_x1", "--only", "works"), "one of the three"),
            (("bs-228_arc-280_x1", "--vary", "load.mass=1 kg"), "one of the three"),
            (("-o", "x.pdf"), "the name must end in .xlsx, .csv or .json"),
            (("--vary", "load.mass=1 kg"), "--vary answers a case anew; name the case"),
        ],
    )
    def test_refuses_what_is_no_kind(self, file: str, words: tuple[str, ...], why: str) -> None:
        status, out, err = call("compare", file, *words)
        assert (status, out) == (2, "")
        assert why in " ".join(err.split())


class TestSideBySide:
    def test_says_in_words_what_is_the_same(self, file: str) -> None:
        status, out, _ = call("compare", file)
        lines = [line for line in out.splitlines() if line.startswith("Items on a carrier")]
        assert (status, len(lines)) == (0, 1)
        assert lines[0].split()[-3:] == ["1", "same", "same"]

    def test_shows_ids_whole_and_says_where_the_rest_is(self, file: str) -> None:
        status, out, err = call("compare", file, "--only", "works", "--sort", "price")
        assert (status, len(out.split("\n")[0].split())) == (0, 3)
        assert err == "3 of 13 options are shown; -o FILE.xlsx holds all\n"
        assert all(len(line) <= 80 for line in out.splitlines())

    def test_csv_holds_every_value(self, answer: Answer) -> None:
        head, *lines = csv.reader(io.StringIO(comparison_csv(answer, answer.options)))
        assert head[2:-1] == [option.id for option in answer.options]
        said = {line[0]: line for line in lines}
        for option, price in zip(answer.options, said["Price"][2:-1], strict=True):
            assert price == (f"{option.price:.2f}" if option.price is not None else "")
        for line in lines:
            assert line[-1] == ("same" if len(set(line[2:-1])) == 1 else "differs")
        titles = {check.title for option in answer.options for check in option.checks}
        assert titles <= set(said)

    def test_workbook_is_typed(self, answer: Answer) -> None:
        options = picked(answer, "price", ["works"])
        book = openpyxl.load_workbook(io.BytesIO(comparison_xlsx(answer, options)))
        sheet = book["Options"]
        said = {row[0].value: row for row in sheet.iter_rows(min_row=3)}
        for option, cell in zip(options, said["Price"][2:], strict=False):
            assert (cell.data_type, cell.value) == ("n", float(option.price or 0))
            assert "EUR" in cell.number_format
        assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
        assert sheet.freeze_panes == "A3"

    def test_a_limit_of_nothing_is_told_in_words(self, answer: Answer) -> None:
        option = answer.options[0]
        check = replace(option.checks[0], utilisation=float("inf"))
        row = next(r for r in compared([replace(option, checks=(check,))]) if r.unit == "used")
        assert row.values == ("not allowed",)

    def test_files_are_written(self, file: str, tmp_path: Path) -> None:
        for suffix in ("xlsx", "csv", "json"):
            path = tmp_path / f"compared.{suffix}"
            assert call("compare", file, "-o", str(path)) == (0, "", f"wrote {path}\n")
            assert call("compare", file, "-o", str(path))[0] == 2
        assert len(json.loads(path.read_text(encoding="utf-8"))) == 3


class TestVaried:
    @pytest.mark.parametrize(
        ("text", "values"),
        [
            ("load.mass=20 kg, 25 kg", ("20 kg", "25 kg")),
            ("load.mass = 20 kg,25 kg", ("20 kg", "25 kg")),
            ("load.mass=20 kg, 20 kg", ("20 kg",)),
            ("life.hours=8000, 20000", ("8000", "20000")),
            ("load.mass=7,5 kg", ("7,5 kg",)),
        ],
    )
    def test_values_are_parted_by_commas_that_belong_to_no_number(
        self, text: str, values: tuple[str, ...]
    ) -> None:
        (varied,) = read_varied([text])
        assert (varied.key, varied.values) == (text.split("=", maxsplit=1)[0].strip(), values)

    @given(st.text(max_size=60))
    def test_whatever_is_written_is_taken_or_refused(self, text: str) -> None:
        data = read_toml(CRATE)
        try:
            cases = list(varied_cases(data, read_varied([text]), "x"))
        except InputError:
            return
        assert cases

    @pytest.mark.parametrize(
        ("key", "value", "put"),
        [
            ("load.mass", "25 kg", lambda data: data["load"].update(mass="25 kg")),
            ("life.hours", "8000", lambda data: data["life"].update(hours=8000)),
            ("load.friction", "0.3", lambda data: data["load"].update(friction=0.3)),
            ("load.held", "nested", lambda data: data["load"].update(held="nested")),
            ("site.ambient", "30 °C", lambda data: data.update(site={"ambient": "30 °C"})),
            ("rate.per_carrier", "1+2", lambda data: data["rate"].update(per_carrier=[1, 2])),
            ("title", "Other", lambda data: data.update(title="Other")),
            (
                "station.unload.dwell",
                "2 s",
                lambda data: data["station"][1].update(dwell="2 s"),
            ),
            (
                "station.load.clear_of_joints",
                "true",
                lambda data: data["station"][0].update(clear_of_joints=True),
            ),
        ],
    )
    def test_any_key_is_read_as_a_file_would_be(
        self, key: str, value: str, put: Callable[[Any], None]
    ) -> None:
        data = read_toml(CRATE)
        before, changed = deepcopy(data), deepcopy(data)
        put(changed)
        ((values, case),) = varied_cases(data, [Varied(key, (value,))], "x")
        assert values == (value,)
        assert case == make_case(changed, "x")
        assert data == before

    @pytest.mark.parametrize(
        ("texts", "why"),
        [
            (["load.mass"], "must be a key with values"),
            (["=1 kg"], "must be a key with values"),
            (["load.mass=1 kg,,2 kg"], "must be a key with values"),
            (["load.mass=1 kg"] * 2, "names load.mass twice"),
            (["a=1", "b=1", "c=1"], "2 times at most"),
            ([f"load.mass={', '.join(f'{n} kg' for n in range(61))}"], "61 cells; 60 at most"),
            (["load.weight=1 kg"], "load.weight is not known here; the nearest known key is mass"),
            (["load.mass=1 s"], "load.mass is not a mass"),
            (["station.press.dwell=1 s"], "there is no station 'press'; load, unload"),
            (["load.mass.x=1 s"], "mass is no table of a case"),
            (["station.dwell=1 s"], "there is no station"),
        ],
    )
    def test_is_refused_before_anything_is_computed(self, texts: list[str], why: str) -> None:
        words = [word for text in texts for word in ("--vary", text)]
        status, out, err = call("compare", str(CRATE), *words)
        assert (status, out) == (2, "")
        assert why in err


@pytest.fixture(scope="module")
def table(worked_case: Callable[[str], Any]) -> WhatIf:
    varied = read_varied(["load.mass=30 kg, 90 kg", "rate.items=12/min, 18/min"])
    return what_if(read_toml(CRATE), varied, worked_case("crate").thinned, "x")


class TestWhatIf:
    def test_each_cell_is_the_answer_to_its_case(
        self, table: WhatIf, worked_case: Callable[[str], Any]
    ) -> None:
        catalogue: Catalogue = worked_case("crate").thinned
        assert [cell.values for cell in table.cells] == [
            ("30 kg", "12/min"),
            ("30 kg", "18/min"),
            ("90 kg", "12/min"),
            ("90 kg", "18/min"),
        ]
        for cell in table.cells[:2]:
            data = read_toml(CRATE)
            data["load"]["mass"], data["rate"]["items"] = cell.values
            choice = recommend(make_case(data, "x"), catalogue, in_brief=True).choice
            assert choice is not None and choice.loop is not None
            assert (cell.recommended, cell.carriers, cell.length_m, cell.price) == (
                choice.id,
                choice.carriers,
                choice.loop.length_m,
                choice.price,
            )
        assert [cell.as_asked for cell in table.cells] == [False, True, False, False]

    def test_a_cell_that_fails_says_why_in_five_words(self, table: WhatIf) -> None:
        assert table.cell("90 kg", "12/min").recommended is None
        assert table.cell("90 kg", "12/min").why == "too heavy for the carriers"

    def test_every_check_has_five_words(self) -> None:
        lists = [value for name, value in vars(checks).items() if name.endswith("CHECKS")]
        ids = {entry.about.id for group in lists for entry in group} | {TAKT.id}
        assert set(IN_SHORT) == ids
        assert all(2 <= len(words.split()) <= 5 for words in IN_SHORT.values())

    def test_csv_and_workbook_hold_every_cell(self, table: WhatIf) -> None:
        lines = list(csv.DictReader(io.StringIO(what_if_csv(table))))
        book = openpyxl.load_workbook(io.BytesIO(what_if_xlsx(table)))
        rows = list(book["What if"].iter_rows(min_row=3, values_only=True))
        for cell, line, row in zip(table.cells, lines, rows, strict=True):
            assert (line["load.mass"], line["rate.items"]) == cell.values == row[:2]
            assert line["price"] == (f"{cell.price:.2f}" if cell.price is not None else "")
            assert row[5] == (float(cell.price) if cell.price is not None else None)
            assert line["recommended"] == (cell.recommended or "")
        assert lines[1]["note"] == rows[1][-1] == "as asked"
        assert lines[2]["note"] == "none: too heavy for the carriers"

    def test_json_has_its_schema(self, table: WhatIf) -> None:
        data = json.loads(what_if_json(table))
        assert data["schema"] == "recommender.what-if/1"
        assert len(data["cells"]) == 4
        assert data["cells"][1]["price"] == f"{table.cells[1].price:.2f}"

    @pytest.fixture
    def _known(self, monkeypatch: pytest.MonkeyPatch, table: WhatIf) -> None:
        def known(_: Any, varied: Any, *__: Any, **___: Any) -> WhatIf:
            return replace(table, varied=tuple(varied))

        monkeypatch.setattr("recommender.what_if.what_if", known)

    @pytest.mark.usefixtures("_known")
    def test_is_printed_and_written(self, tmp_path: Path) -> None:
        words = ("--vary", "load.mass=30 kg, 90 kg", "--vary", "rate.items=12/min, 18/min")
        status, out, err = call("compare", str(CRATE), *words)
        assert (status, err) == (0, "")
        assert "prices in EUR" in out
        assert "(as asked)" in out
        assert out.count("none: too heavy") == 2
        assert all(len(line) <= 80 for line in out.splitlines())
        path = tmp_path / "x.csv"
        assert call("compare", str(CRATE), *words, "-o", str(path)) == (0, "", f"wrote {path}\n")
        assert json.loads(call("compare", str(CRATE), *words, "--json")[1])["cells"]

    def test_a_budget_is_what_stands_in_the_way_of_what_works_but_for_it(
        self, worked_case: Any
    ) -> None:
        catalogue: Catalogue = worked_case("crate").thinned
        data = read_toml(CRATE)
        (dear,) = what_if(data, (Varied("load.mass", ("30 kg",)),), catalogue, "x").cells
        assert dear.price is not None
        budgets = tuple(f"{dear.price + more} EUR" for more in (-9000, -1, 0))
        cells = what_if(data, (Varied("commercial.budget", budgets),), catalogue, "x").cells
        assert [cell.why for cell in cells] == ["dearer than the budget"] * 2 + [""]
        assert cells[2].price == dear.price

    def test_what_is_not_proven_is_marked(self, table: WhatIf) -> None:
        cell = WhatIfCell(("1 kg",), False, "a_b_x1", 3, 4.0, table.cells[0].price, False, "")
        found = WhatIf("T", "EUR", (Varied("load.mass", ("1 kg",)),), (cell,))
        out = io.StringIO()
        show_what_if(Console(file=out, width=80), found)
        assert "~ " in out.getvalue()
        assert "not proven cheapest" in out.getvalue()
