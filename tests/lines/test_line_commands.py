"""Lines of loops on the command line: each command that takes one, and those that do not yet."""

import csv
import io
import json
import shutil
import tomllib
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from pydantic_core import to_json
from rich.console import Console

from recommender.faults import InputError
from recommender.lines.reading import make_line
from recommender.lines.result import LineAnswer, line_as_json
from recommender.results.batch import Line
from recommender.saved_line import is_line_answer, read_saved_line
from recommender.views.batch import show_lines
from recommender.views.line_tables import line_parts_xlsx
from tests.lines.conftest import CASES
from tests.test_readme import marked, run

LINE = CASES / "jars.toml"


def words(text: str) -> str:
    return " ".join(text.split())


def test_a_saved_answer_is_read_back_whole(jars: LineAnswer, saved: Path) -> None:
    assert is_line_answer(saved)
    again = read_saved_line(saved)
    assert line_as_json(again) == line_as_json(jars)


def test_the_line_comes_first_then_each_loop(saved: Path) -> None:
    status, out = run(f"recommender answer {saved}")
    assert status == 0
    heads = [
        "proven cheapest",
        "The line",
        "Rates and rhythm",
        "What one order saves",
        "What must hold for all loops together",
        "Parts",
        "Loop jars:",
        "Loop boxes:",
        "Cautions",
    ]
    places = [out.index(head) for head in heads]
    assert places == sorted(places)
    assert "which leaves 3.72 s for the exchange" in words(out)
    assert "dc-2600 in jars and boxes" in words(out)
    assert max(map(len, out.splitlines())) <= 80


def test_the_line_that_the_readme_shows_is_the_real_one(saved: Path) -> None:
    _, out = run(f"recommender answer {saved}")
    real = iter(line.rstrip() for line in out.splitlines())
    shown = [line for line in marked("jars").splitlines() if line.strip() != "[...]"]
    assert len(shown) > 30
    for line in shown:
        assert line in real, f"the README shows a line that is not printed there: {line!r}"


def test_the_line_that_the_readme_begins_with_is_one() -> None:
    line = make_line(tomllib.loads(marked("a line")), "README.md")
    assert 60.0 * line.cases["boxes"].rate.items == pytest.approx(10.0)


def test_everything_is_printed_on_request(saved: Path) -> None:
    status, out = run(f"recommender answer {saved} --all")
    assert status == 0
    assert out.count("All options") == 2
    assert "spare-carrier" in out


def test_json_is_in_short_unless_all_of_it_is_asked_for(saved: Path) -> None:
    _, short = run(f"recommender answer {saved} --json")
    _, whole = run(f"recommender answer {saved} --json --all")
    assert json.loads(whole) == json.loads(saved.read_text(encoding="utf-8"))
    assert json.loads(short)["schema"] == "recommender.line/1"
    assert len(short) < 0.8 * len(whole)


def test_why_names_an_option_behind_its_loop(saved: Path, jars: LineAnswer) -> None:
    loop = jars.loop("jars")
    other = next(o for o in loop.options if o.line_price and o.id != loop.chosen.id)
    status, out = run(f"recommender why {saved} jars.{other.id}")
    assert status == 0
    assert f"{other.line_price:,.2f} EUR" in out
    assert "By itself, as an order of its own" in out
    _, told = run(f"recommender why {saved} jars.{other.id} --json")
    data = json.loads(told)
    assert data["loop"] == "jars" and data["in_line"]["line_price"] == f"{other.line_price:.2f}"


def test_an_option_without_its_loop_is_refused(
    saved: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _ = run(f"recommender why {saved} std-92_arc-280_x1")
    assert status == 2
    said = capsys.readouterr().err
    assert "an option of a line stands behind its loop; the nearest are jars.std-92_" in said


def test_compare_shows_lines_by_price(saved: Path, jars: LineAnswer) -> None:
    status, out = run(f"recommender compare {saved}")
    assert status == 0
    assert f"{jars.price:,.0f}" in out and "separate orders" in out
    _, told = run(f"recommender compare {saved} --json")
    data = json.loads(told)
    prices = [Decimal(line["line_price"]) for line in data["lines"]]
    assert prices == sorted(prices) and prices[0] > jars.price
    status, out = run(f"recommender compare {saved} jars.{data['lines'][0]['id']}")
    assert status == 0


class TestParts:
    def test_the_table_has_the_loop_of_each(self, saved: Path, jars: LineAnswer) -> None:
        status, out = run(f"recommender parts {saved}")
        assert status == 0
        assert f"{jars.price:,.2f}" in out and "shared" in out

    def test_csv(self, saved: Path, tmp_path: Path, jars: LineAnswer) -> None:
        target = tmp_path / "parts.csv"
        assert run(f"recommender parts {saved} -o {target}")[0] == 0
        rows = list(csv.reader(io.StringIO(target.read_text(encoding="utf-8"))))
        assert rows[1][0] == "loop"
        body = [dict(zip(rows[1], row, strict=True)) for row in rows[2:-1]]
        assert {row["loop"] for row in body} == {"jars", "boxes", "all loops"}
        total = sum(Decimal(row["price"]) for row in body)
        assert total == jars.price == Decimal(rows[-1][rows[1].index("price")])

    def test_a_workbook_calculates_what_it_says(self, jars: LineAnswer) -> None:
        data = line_parts_xlsx(jars)
        values = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        formulas = openpyxl.load_workbook(io.BytesIO(data))
        assert values.sheetnames == ["Parts", "Saved", "Assumptions", "Revision"]
        rows = list(values["Parts"].iter_rows(values_only=True))
        total = next(row for row in rows if row[0] == "total")
        assert Decimal(str(total[6])) == jars.price
        parts = [row for row in rows if isinstance(row[4], int)]
        assert len(parts) == len(jars.parts)
        for row in parts:
            assert row[4] * row[5] == pytest.approx(row[6])
        shares = {row[0]: row[6] for row in rows if row[1] == "of which"}
        assert sum(shares.values()) == pytest.approx(float(jars.price))
        texts = [str(c.value) for row in formulas["Parts"].iter_rows() for c in row]
        assert any(text.startswith("=SUMIF(A") for text in texts)
        saved = [row for row in values["Saved"].iter_rows(values_only=True) if row[0] == "total"]
        assert Decimal(str(saved[0][3])) == jars.savings.saved

    def test_json(self, saved: Path, jars: LineAnswer) -> None:
        _, out = run(f"recommender parts {saved} --json")
        assert len(json.loads(out)) == len(jars.parts)


class TestAnOption:
    """Another option of one loop, as an order for that loop alone."""

    def test_has_its_parts(self, saved: Path, tmp_path: Path, jars: LineAnswer) -> None:
        option = jars.loops[0].alone.option("std-92_arc-280_x1")
        assert option is not None
        status, out = run(f"recommender parts {saved} --option jars.{option.id}")
        assert status == 0 and f"{option.price:,.2f}" in out
        _, told = run(f"recommender parts {saved} --option jars.{option.id} --json")
        assert sum(Decimal(part["price"]) for part in json.loads(told)) == option.price
        for end in ("csv", "json", "xlsx"):
            target = tmp_path / f"parts.{end}"
            assert run(f"recommender parts {saved} --option jars.{option.id} -o {target}")[0] == 0
        text = (tmp_path / "parts.csv").read_text(encoding="utf-8")
        assert "std-92_arc-280_x1" in text.splitlines()[0]

    def test_is_drawn_alone(
        self, saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        target = tmp_path / "loop.svg"
        flags = f"--option jars.std-92_arc-280_x1 -o {target}"
        assert run(f"recommender plan {saved} {flags}")[0] == 0
        assert "as an order for jars alone; without --option it is" in words(
            capsys.readouterr().err
        )
        text = target.read_text(encoding="utf-8")
        assert "hand over" in text and "unload" not in text


@pytest.mark.parametrize("kind", ["svg", "dxf", "png"])
def test_the_plan_is_written(saved: Path, tmp_path: Path, kind: str) -> None:
    target = tmp_path / f"line.{kind}"
    assert run(f"recommender plan {saved} -o {target}")[0] == 0
    assert target.stat().st_size > 5_000
    # Never replaced unless that is asked for.
    assert run(f"recommender plan {saved} -o {target}")[0] == 2


def test_a_line_is_checked_without_an_answer() -> None:
    status, out = run(f"recommender case check {LINE}")
    assert status == 0
    assert "no fault found in 'Jars straight into boxes of eight'" in words(out)
    assert "stands 5.81 s at its place, which leaves 0.54 s" in words(out)
    _, told = run(f"recommender case check {LINE} --json")
    data = json.loads(told)
    assert data["faults"] == [] and set(data["cases"]) == {"jars", "boxes"}


def test_the_worked_lines_are_listed() -> None:
    _, out = run("recommender case list --json")
    assert {"bottles.toml", "jars.toml"} <= {Path(case["file"]).name for case in json.loads(out)}


def test_a_table_changes_no_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "cases.csv"
    table.write_text("units.load.mass\n3 kg\n", encoding="utf-8")
    assert run(f"recommender batch {table} --base {LINE}")[0] == 2
    said = words(capsys.readouterr().err)
    assert "whose keys no table changes; give a folder of line files" in said


def test_a_folder_may_hold_lines(tmp_path: Path, bottles: LineAnswer) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    shutil.copy(CASES / "bottles.toml", folder)
    (folder / "case.toml").write_text(
        'load.mass = "3 kg"\nrate.items = "20/min"\n', encoding="utf-8"
    )
    wrong = (CASES / "jars.toml").read_text(encoding="utf-8").replace('"jars.hand', '"jar.hand')
    (folder / "wrong.toml").write_text(wrong, encoding="utf-8")
    target = tmp_path / "answers.csv"
    status, _ = run(f"recommender batch {folder} --processes 1 --quiet -o {target}")
    assert status == 2
    with target.open(encoding="utf-8", newline="") as file:
        rows = {row["name"]: row for row in csv.DictReader(file)}
    line, case = rows["bottles"], rows["case"]
    assert bottles.shared and bottles.floor
    assert Decimal(line["price"]) == bottles.price and line["proven"] == "True"
    assert int(line["carriers"]) == bottles.shared.carriers and line["loops"] == "2"
    area = bottles.floor.length_m * bottles.floor.width_m
    assert float(line["floor_m2"]) == pytest.approx(area, abs=1e-4)
    chosen = [f"{loop.name} {loop.chosen.id}" for loop in bottles.loops if loop.chosen]
    assert line["option"] == ", ".join(chosen)
    assert case["loops"] == "1" and float(case["floor_m2"]) > 0.0
    assert "names no loop of this line" in rows["wrong"]["message"]


def test_lines_have_their_floor_in_the_table_of_many() -> None:
    out = io.StringIO()
    line = Line(
        "a", "recommended", "units x, boxes y", 5, 6.0, "1.00", "EUR", floor_m2=5.5, loops=2
    )
    console = Console(file=out, width=80)
    show_lines(console, [line, Line("b", "none", currency="EUR")])
    assert "floor, m²" in out.getvalue() and "5.50" in out.getvalue()
    out.truncate(0)
    show_lines(console, [Line("b", "none", currency="EUR")])
    assert "floor" not in out.getvalue()


@pytest.mark.parametrize(
    ("flags", "said"),
    [
        ('--mass "3 kg"', "a case file goes without --mass"),
        ("--least floor", "leave --least out, and see on how little a line stands with compare"),
        ("--least delivery", "and ask for it as commercial.latest_delivery"),
        ("--least energy", "with compare --sort energy"),
        ("--least money", 'proven of all loops together (read: --least "money"); leave --least'),
        ("--time-limit soon", "--time-limit is not a number"),
        ("--save line.txt", "the name of a saved answer must end in .json"),
    ],
)
def test_flags_that_a_line_goes_without_are_refused(
    flags: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(f"recommender answer {LINE} {flags}")[0] == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("parts {saved} --option x", "an option of a line stands behind its loop"),
        (
            "plan {saved} -o p.svg --option jars.pair-390_arc-280_x1",
            "does not meet the case of its loop by itself, so there is no plan",
        ),
        (
            "answer {saved} --least price --time-limit 5s",
            "a saved answer goes without --time-limit",
        ),
    ],
)
def test_what_a_saved_line_goes_without(
    command: str, said: str, saved: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("recommender " + command.format(saved=saved))[0] == 2
    assert said in words(capsys.readouterr().err)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda data: data.update(price="1.00"), "its parts do not add up to its price"),
        (lambda data: data.update(status="none"), "its status is not what its price says"),
        (lambda data: data["parts"][0].update(quantity=99), "is not quantity times unit price"),
        (lambda data: data.pop("loops"), "loops is missing"),
        (lambda data: data.update(title="two\nlines"), "must be one line of printable characters"),
    ],
)
def test_a_damaged_answer_is_refused(change, said: str, saved: Path, tmp_path: Path) -> None:
    data = json.loads(saved.read_text(encoding="utf-8"))
    change(data)
    path = tmp_path / "damaged.json"
    path.write_bytes(to_json(data))
    with pytest.raises(InputError) as refused:
        read_saved_line(path)
    assert said in str(refused.value)
    assert str(refused.value).splitlines()[-1].endswith("write it again with answer --save FILE")


def test_an_answer_in_short_is_refused(saved: Path, tmp_path: Path) -> None:
    _, short = run(f"recommender answer {saved} --json")
    path = tmp_path / "short.json"
    path.write_text(short, encoding="utf-8")
    with pytest.raises(InputError, match="holds its options in short"):
        read_saved_line(path)
