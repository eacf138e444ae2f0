"""Lines with other options side by side, and what-if tables of lines."""

import csv
import io
import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from recommender.commands.shortlist import SORTS
from recommender.faults import InputError
from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import read_toml, shipped
from recommender.lines.reading import make_line
from recommender.lines.result import LineAnswer, LineImpasse
from recommender.lines.result_what_if import LineWhatIf
from recommender.lines.what_if import line_what_if, varied_lines, why_no_line
from recommender.views.line_what_if import line_what_if_csv, line_what_if_xlsx, show_line_what_if
from recommender.what_if import read_varied
from tests.lines.conftest import CASES
from tests.test_readme import run

LINE = CASES / "bottles.toml"


def words(text: str) -> str:
    return " ".join(text.split())


class TestOptions:
    @pytest.mark.parametrize("by", SORTS)
    def test_are_sorted_loop_by_loop(self, saved: Path, jars: LineAnswer, by: str) -> None:
        _, told = run(f"recommender compare {saved} --sort {by} --only works --json")
        lines = json.loads(told)["lines"]
        assert [line["loop"] for line in lines] == sorted(
            (line["loop"] for line in lines), key=["jars", "boxes"].index
        )
        for loop in jars.loops:
            mine = [line for line in lines if line["loop"] == loop.name]
            works = {option.id for option in loop.options if option.line_price is not None}
            assert {line["id"] for line in mine} == works
            if by == "price":
                values = [float(line["line_price"]) for line in mine]
            else:
                assert loop.chosen is not None
                figures = {option.id: option for option in loop.alone.options}
                figures[loop.chosen.id] = loop.chosen
                values = [
                    value for line in mine if (value := SORTS[by](figures[line["id"]])) is not None
                ]
            assert values == sorted(values)

    def test_of_a_kind_are_those_of_any_loop(self, saved: Path) -> None:
        _, told = run(f"recommender compare {saved} --only std-92 --only works --json")
        lines = json.loads(told)["lines"]
        assert {line["loop"] for line in lines} == {"jars"}
        assert {line["id"].split("_")[0] for line in lines} == {"std-92"}
        _, told = run(f"recommender compare {saved} --only recommended --json")
        assert [line["dearer"] for line in json.loads(told)["lines"]] == ["0.00", "0.00"]

    def test_fit_a_terminal_with_their_figure(self, saved: Path) -> None:
        status, out = run(f"recommender compare {saved} --sort energy --only works")
        assert status == 0
        assert "kWh a year" in out and "std-68_eased-420_x1" in out
        assert "of other options those of the loop by itself" in words(out)
        assert max(map(len, out.splitlines())) <= 80

    @pytest.mark.parametrize(
        ("flags", "said"),
        [
            ("--sort colour", "--sort must be price, carriers"),
            ("--only purple", "--only purple: no option of any loop is that; give works, fails"),
            ("--sort price jars.std-92_arc-280_x1", "one of the three"),
            ("-o lines.txt", "the name must end in .xlsx, .csv or .json"),
        ],
    )
    def test_that_there_are_not_are_refused(
        self, flags: str, said: str, saved: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run(f"recommender compare {saved} {flags}")[0] == 2
        assert said in words(capsys.readouterr().err)

    def test_as_files(self, saved: Path, jars: LineAnswer, tmp_path: Path) -> None:
        for end in ("csv", "json", "xlsx"):
            path = tmp_path / f"lines.{end}"
            assert run(f"recommender compare {saved} --sort price -o {path}")[0] == 0
        options = {(loop.name, o.id): o for loop in jars.loops for o in loop.options}
        with (tmp_path / "lines.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert {(row["loop"], row["option"]) for row in rows} == options.keys()
        for row in rows:
            price = options[row["loop"], row["option"]].line_price
            assert row["line_price"] == ("" if price is None else f"{price:.2f}")
            assert row["currency"] == "EUR"
        listed = json.loads((tmp_path / "lines.json").read_text(encoding="utf-8"))
        assert [(line["loop"], line["id"]) for line in listed] == [
            (row["loop"], row["option"]) for row in rows
        ]
        sheet = openpyxl.load_workbook(tmp_path / "lines.xlsx")["Options"]
        body = [row for row in sheet.iter_rows(values_only=True) if (row[0], row[1]) in options]
        assert len(body) == len(options)
        for row in body:
            price = options[str(row[0]), str(row[1])].line_price
            assert row[3] == (None if price is None else float(price))


@pytest.fixture(scope="module")
def found() -> LineWhatIf:
    """Bottles in boxes as asked and far too heavy."""
    catalogue = read_catalogue(shipped("catalog"))
    varied = read_varied(["handover.pack.items=12", "boxes.load.mass=24 kg, 90 kg"])
    return line_what_if(read_toml(LINE), varied, catalogue, "x")


class TestWhatIf:
    def test_as_asked_is_the_answer(self, found: LineWhatIf, bottles: LineAnswer) -> None:
        cell = found.cell("12", "24 kg")
        assert cell.as_asked and cell.proven and not cell.why
        assert cell.price == bottles.price
        assert bottles.shared and bottles.floor
        assert cell.carriers == bottles.shared.carriers == sum(e.carriers for e in cell.loops)
        assert cell.floor_length_m == bottles.floor.length_m
        assert cell.floor_width_m == bottles.floor.width_m
        chosen = [(loop.name, loop.chosen and loop.chosen.id) for loop in bottles.loops]
        assert [(entry.loop, entry.option) for entry in cell.loops] == chosen

    def test_a_cell_that_fails_says_which_loop_and_why(self, found: LineWhatIf) -> None:
        cell = found.cell("12", "90 kg")
        assert cell.price is None and not cell.loops and not cell.as_asked
        assert cell.why == "boxes: too heavy for the carriers"

    def test_as_text_and_files(self, found: LineWhatIf) -> None:
        out = io.StringIO()
        show_line_what_if(Console(file=out, width=100, highlight=False), found)
        told = words(out.getvalue())
        assert "what is recommended by handover.pack.items and boxes.load.mass" in told
        assert "none: boxes: too heavy" in told and "carriers, 2.20 m by" in told
        rows = list(csv.DictReader(io.StringIO(line_what_if_csv(found))))
        assert [row["boxes.load.mass"] for row in rows] == ["24 kg", "90 kg"]
        assert Decimal(rows[0]["price"]) == found.cells[0].price and rows[0]["proven"] == "yes"
        assert int(rows[0]["units carriers"]) == found.cells[0].loops[0].carriers
        assert rows[1]["note"] == "none: boxes: too heavy for the carriers"
        book = openpyxl.load_workbook(io.BytesIO(line_what_if_xlsx(found)))
        sheet = list(book["What if"].iter_rows(values_only=True))
        head = next(row for row in sheet if row[0] == "handover.pack.items")
        body = dict(zip(head, sheet[sheet.index(head) + 1], strict=True))
        assert body["Price, EUR"] == float(found.cells[0].price or 0)
        assert body["units"] == found.cells[0].loops[0].option

    @given(st.sampled_from(["units.load.mass", "life.hours", "floor.width", "spares.carriers"]))
    def test_any_key_is_put_where_the_file_has_it(self, key: str) -> None:
        texts = {"units.load.mass": "2 kg", "life.hours": "30000", "floor.width": "5 m"}
        text = texts.get(key, "3")
        ((_, line),) = varied_lines(read_toml(LINE), read_varied([f"{key}={text}"]), "x")
        data = read_toml(LINE)
        table, _, last = key.rpartition(".")
        at = data["line"][0]["load"] if table == "units.load" else data[table]
        at[last] = text if text.endswith(("kg", " m")) else int(text)
        assert line == make_line(data, "x")

    def test_of_a_direct_handover_the_places(self) -> None:
        data = read_toml(CASES / "jars.toml")
        varied = read_varied(["handover.hand over.positions=1, 1+2", "jars.station.lid.dwell=1 s"])
        lines = [line for _, line in varied_lines(data, varied, "x")]
        assert [line.handovers[0].positions for line in lines] == [(1,), (1, 2)]
        assert {line.cases["jars"].station[0].dwell for line in lines} == {1.0}

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("load.mass=1 kg", "begins with a loop (units, boxes), with handover.NAME"),
            ("handover.pak.items=1", "there is no such handover; handover.pack.items"),
            ("handover.pack.items=many", "handover[1].items must be a whole number"),
            ("units.load.mas=1 kg", "the nearest known key is mass"),
            ("units.lod.mass=1 kg", "--vary (loop units) lod.mass: lod is no table of a case"),
            ("boxes.rate.items=1/min", "leave it out, it follows"),
            ("units=1", "such as units.load.mass"),
        ],
    )
    def test_a_key_or_value_that_is_none_is_refused(self, text: str, said: str) -> None:
        with pytest.raises(InputError) as refused:
            list(varied_lines(read_toml(LINE), read_varied([text]), "x"))
        assert said in str(refused.value)

    def test_a_saved_answer_and_another_goal_are_refused(
        self, saved: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run(f"recommender compare {saved} --vary units.load.mass=1kg")[0] == 2
        assert "--vary answers a line anew; name the line" in capsys.readouterr().err
        assert run(f"recommender compare {LINE} --least floor --vary units.load.mass=1kg")[0] == 2
        assert "only the price can be least" in capsys.readouterr().err

    @pytest.mark.parametrize(
        ("keys", "said"),
        [
            ("commercial.budget", "dearer than the budget"),
            ("floor.length floor.width", "no floor for all loops"),
            ("handover.pack.positions", "handovers that suit no two loops"),
            ("units.rate.items", "no controller commands all loops"),
        ],
    )
    def test_what_all_lack_in_a_few_words(self, keys: str, said: str, jars: LineAnswer) -> None:
        impasse = LineImpasse((tuple(keys.split()),), (), (), "")
        assert why_no_line(replace(jars, status="none", impasse=impasse)) == said
        cut = replace(jars, status="none", impasse=impasse, unsettled=("the search",))
        assert why_no_line(cut) == "nothing found, not all decided"


def test_the_command_writes_a_table(tmp_path: Path) -> None:
    target = tmp_path / "table.json"
    status, out = run(f"recommender compare {LINE} --vary boxes.load.mass=90kg -o {target}")
    assert (status, out) == (3, "")
    told = json.loads(target.read_text(encoding="utf-8"))
    assert told["schema"] == "recommender.line-what-if/1"
    assert told["cells"][0]["why"] == "boxes: too heavy for the carriers"
