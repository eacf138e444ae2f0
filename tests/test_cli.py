"""The command line: what it prints where, how it ends, and what it refuses."""

import contextlib
import csv
import functools
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from rich.cells import cell_len

from recommender.inputs.files import shipped
from tests.commands import Ended, call

# Processes of their own work everything out afresh.
pytestmark = pytest.mark.usefixtures("_answered_once")

CASES = shipped("cases")
CRATE = str(CASES / "crate.toml")
IMPOSSIBLE = str(CASES / "impossible.toml")
ONE_LINE = ("answer", "--mass", "30 kg", "--reach", "200 mm", "--rate", "18/min")
# Reading commands: each prints its result and leaves nothing behind.
READING = (
    ("answer", CRATE),
    ("compare", CRATE),
    ("parts", CRATE),
    ("catalogue", "check"),
    ("catalogue", "list"),
    ("catalogue", "show", "pair-230"),
    ("case", "check", CRATE),
    ("evidence",),
)


@pytest.fixture(autouse=True, scope="module")
def _narrow_terminal() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
            patch.delenv(name, raising=False)
        yield


@functools.cache
def read(*words: str) -> Ended:
    """Run a command that writes nothing; once for all tests that look at it."""
    return call(*words)


def start(*words: str, **variables: str) -> subprocess.CompletedProcess[bytes]:
    """Run a command in a process of its own, as a user would."""
    return subprocess.run(
        [sys.executable, "-m", "recommender", *words],
        capture_output=True,
        stdin=subprocess.DEVNULL,
        env={**os.environ, "COLUMNS": "80", **variables},
        check=False,
    )


def ids(verdict: str) -> list[str]:
    options = read("answer", CRATE, "--json").data["options"]
    return [option["id"] for option in options if option["verdict"] == verdict]


class TestAnswer:
    def test_names_the_choice_its_price_and_every_option(self) -> None:
        ended, data = read("answer", CRATE, "--all"), read("answer", CRATE, "--json").data
        assert (ended.status, ended.err) == (0, "")
        first = " ".join(ended.out.split("\n\n")[0].split())
        assert data["recommended"] in first
        assert f"{Decimal(data['proof']['price']):,.2f} EUR" in first
        assert str(len(data["options"])) in first
        # An id that is broken into two lines cannot be copied into the next command.
        unbroken = set(ended.out.split())
        assert {option["id"] for option in data["options"]} <= unbroken

    def test_shows_all_of_its_parts(self) -> None:
        for title in (
            "The choice",
            "Why it is enough",
            "All options",
            "Why not the others",
            "Parts",
            "Assumptions",
            "Cautions",
        ):
            assert f"\n{title}\n" in read("answer", CRATE, "--all").out

    def test_lists_what_was_assumed(self) -> None:
        text = read("answer", CRATE, "--all").out
        for line in read("answer", CRATE, "--json").data["assumptions"]:
            assert line["key"] in text

    def test_says_the_same_in_few_lines_first(self) -> None:
        ended, data = read("answer", CRATE), read("answer", CRATE, "--json").data
        text = " ".join(ended.out.split())
        assert data["recommended"] in ended.out
        for line in data["assumptions"]:
            assert (line["group"] == "customer") == bool(line["question"])
            assert (line["brief"] or line["question"]) in text or line["group"] != "customer"
        assert len(ended.out.splitlines()) <= 120

    def test_json_is_one_document_with_the_schema_first(self) -> None:
        ended = read("answer", CRATE, "--json")
        assert (ended.status, ended.err) == (0, "")
        assert next(iter(ended.data)) == "schema"
        assert ended.data["schema"] == "recommender.answer/1"
        assert ended.data["status"] == "recommended"

    def test_ends_with_3_and_the_explanation_where_nothing_works(self) -> None:
        text, ended = read("answer", IMPOSSIBLE), read("answer", IMPOSSIBLE, "--json")
        assert (text.status, text.err) == (ended.status, ended.err) == (3, "")
        assert ended.data["status"] == "none"
        assert ended.data["recommended"] is None
        assert ended.data["parts"] == []
        assert "no option of the catalogue meets this case" in " ".join(text.out.split())
        assert "Why none does" in text.out
        assert "What does not" in text.out

    def test_takes_a_question_in_one_line(self) -> None:
        ended = read(*ONE_LINE, "--json")
        assert ended.status == 0
        case = ended.data["case"]
        assert case["load"]["mass"] == 30.0
        assert case["load"]["reach"] == pytest.approx(0.2)
        assert case["rate"]["items"] == pytest.approx(0.3)
        assumed = {line["key"] for line in ended.data["assumptions"]}
        assert {"load.held", "load.friction", "load.cg_height", "station"} <= assumed
        assert not {"load.mass", "load.reach", "rate.items"} & assumed

    def test_takes_all_of_its_flags_in_one_line(self) -> None:
        ended = read(*ONE_LINE, "--held", "clamped", "--max-length", "9 m", "--json")
        assert ended.status == 0
        assert ended.data["case"]["load"]["held"] == "clamped"
        assert ended.data["case"]["loop"]["max_length"] == 9.0

    def test_a_question_in_one_line_reads_like_a_file(self) -> None:
        assert "Question on the command line: " in read(*ONE_LINE).out

    def test_says_what_is_open_when_its_time_is_up(self) -> None:
        ended = call("answer", CRATE, "--time-limit", "0 s")
        data = call("answer", CRATE, "--time-limit", "0 s", "--json").data
        assert ended.status == 3
        assert "no option was found that meets this case, and" in " ".join(ended.out.split())
        assert "Not settled within the time limit" in ended.out
        assert data["unsettled"]
        whole = call("answer", CRATE, "--time-limit", "0 s", "--all")
        for what in data["unsettled"]:
            assert what[1:] in " ".join(whole.out.split())
        assert "proven" not in ended.out

    def test_a_file_goes_without_flags(self) -> None:
        ended = call("answer", CRATE, "--mass", "3 kg", "--max-length", "3 m")
        assert ended.status == 2
        assert "goes without --mass, --max-length; change the file instead" in ended.err


class TestCompare:
    def test_shows_the_shortlist(self) -> None:
        ended, data = read("compare", CRATE), read("compare", CRATE, "--json")
        assert (ended.status, ended.err) == (data.status, data.err) == (0, "")
        verdicts = [option["verdict"] for option in data.data]
        assert verdicts[0] == "recommended"
        prices = [Decimal(option["price"]) for option in data.data]
        assert prices == sorted(prices)
        assert all(f"\n{option['id']}: " in ended.out for option in data.data)

    def test_says_what_each_has_least_of(self) -> None:
        ended, data = read("compare", CRATE), read("compare", CRATE, "--json").data
        assert len(data) >= 3
        goals = [goal for option in data for goal in option["least"]]
        assert "price" in data[0]["least"] and len(goals) == len(set(goals))
        shown = " ".join(ended.out.split())
        assert "Chosen as cheapest" in shown and "smallest" in shown
        floors = {
            tuple(option["least"]): option["loop"]["floor_width_m"]
            * option["loop"]["floor_extent_m"]
            for option in data
        }
        least = min(floors, key=lambda key: floors[key])
        assert "floor" in least

    def test_shows_what_comes_nearest_where_nothing_works(self) -> None:
        every = read("answer", IMPOSSIBLE, "--json").data["options"]
        sizes = {option["id"]: option["concession"] for option in every}
        known = sorted(size for size in sizes.values() if size is not None)
        shown = read("compare", IMPOSSIBLE, "--json").data
        assert len(shown) == 3
        assert [sizes[option["id"]] for option in shown][: len(known)] == known[:3]

    def test_shows_the_options_that_are_named_in_that_order(self) -> None:
        wanted = (ids("rejected")[0], ids("dearer")[0])
        assert [option["id"] for option in read("compare", CRATE, *wanted, "--json").data] == [
            *wanted
        ]
        assert "does not work" in " ".join(read("compare", CRATE, *wanted).out.split())

    def test_ends_with_3_where_nothing_works(self) -> None:
        assert read("compare", IMPOSSIBLE).status == 3
        assert read("compare", IMPOSSIBLE, "--json").status == 3


class TestLeast:
    def test_says_by_what_it_was_chosen_and_what_that_costs(self) -> None:
        cheapest = read("answer", CRATE, "--json").data
        ended = read("answer", CRATE, "--least", "floor")
        data = read("answer", CRATE, "--least", "floor", "--json").data
        assert ended.status == 0 and data["proof"] is None and cheapest["least"] is None
        least, chosen = data["least"], data["recommended"]
        assert (least["goal"], least["unit"], least["optimal"]) == ("floor", "m^2", True)
        assert least["cheapest_price"] == cheapest["proof"]["price"]
        option = next(entry for entry in data["options"] if entry["id"] == chosen)
        area = option["loop"]["floor_width_m"] * option["loop"]["floor_extent_m"]
        assert least["value"] == pytest.approx(area, abs=1e-4)
        more = Decimal(option["price"]) - Decimal(least["cheapest_price"])
        shown = " ".join(ended.out.split())
        assert "proven smallest of 36 options" in shown and f"costs {more:,.2f} EUR more" in shown
        verdicts = {entry["verdict"] for entry in data["options"]}
        assert "works" in verdicts and "dearer" not in verdicts

    def test_no_word_claims_a_least_price(self) -> None:
        data = read("answer", CRATE, "--least", "floor", "--json").data
        told = [entry["reason"] for entry in data["options"] if entry["price"]]
        assert told and not any("cheapest" in reason or "dearer" in reason for reason in told)
        ranked = [e["measure"]["value"] for e in data["options"] if e["verdict"] == "works"]
        assert min(ranked) >= data["least"]["value"]

    def test_the_other_commands_take_it(self) -> None:
        data = read("answer", CRATE, "--least", "floor", "--json").data
        id_, price = data["recommended"], sum(Decimal(part["price"]) for part in data["parts"])
        parts = read("parts", CRATE, "--least", "floor", "--json").data
        assert sum(Decimal(part["price"]) for part in parts) == price
        shown = read("why", CRATE, id_, "--least", "floor")
        assert "The smallest that passes every check" in " ".join(shown.out.split())
        compared = read("compare", CRATE, "--least", "floor", "--json").data
        assert compared[0]["least"] == ["floor"] and len(compared) == 3

    def test_an_unknown_goal_is_refused(self) -> None:
        ended = call("answer", CRATE, "--least", "weight")
        assert ended.status == 2
        assert '--least must be price or floor or delivery or energy (read: "weight")' in ended.err


class TestWhy:
    @pytest.mark.parametrize("verdict", ["recommended", "dearer", "rejected"])
    def test_shows_an_option_in_depth(self, verdict: str) -> None:
        id_ = ids(verdict)[0]
        ended, data = read("why", CRATE, id_), read("why", CRATE, id_, "--json")
        assert (ended.status, ended.err) == (data.status, data.err) == (0, "")
        assert ended.out.startswith(f"{id_}: ")
        assert data.data["id"] == id_
        assert data.data["verdict"] == verdict
        assert data.data["checks"]
        assert data.data["reason"] in " ".join(ended.out.split())
        assert ("What makes it dearer" in ended.out) == (verdict == "dearer")
        chosen = verdict == "recommended"
        assert ("Where the recommendation changes" in ended.out) == chosen
        assert all(check["ok"] for check in data.data["checks"]) == (verdict != "rejected")

    def test_is_what_the_whole_answer_says(self) -> None:
        whole = read("answer", CRATE, "--all", "--json").data
        options = {o["id"]: o for o in whole["options"]}
        id_ = ids("rejected")[-1]
        assert read("why", CRATE, id_, "--json").data == options[id_]

    def test_ends_with_3_where_nothing_works(self) -> None:
        id_ = read("answer", IMPOSSIBLE, "--json").data["options"][0]["id"]
        assert read("why", IMPOSSIBLE, id_).status == 3

    def test_an_unknown_option_names_the_nearest(self) -> None:
        wanted = ids("dearer")[0]
        for words in (("why", CRATE), ("compare", CRATE), ("parts", CRATE, "--option")):
            ended = call(*words, wanted.replace("_x1", "_x7"))
            assert (ended.status, ended.out) == (2, "")
            assert "there is no option" in ended.err
            assert wanted in ended.err


class TestParts:
    def test_are_those_of_the_answer(self) -> None:
        ended = read("parts", CRATE, "--json")
        assert ended.status == 0
        assert ended.data == read("answer", CRATE, "--json").data["parts"]

    def test_add_up_to_the_price(self) -> None:
        price = Decimal(read("answer", CRATE, "--json").data["proof"]["price"])
        parts = read("parts", CRATE, "--json").data
        assert sum(Decimal(part["price"]) for part in parts) == price
        for part in parts:
            assert Decimal(part["unit_price"]) * part["quantity"] == Decimal(part["price"])
        head, *_, total = [line for line in read("parts", CRATE).out.splitlines() if line.strip()]
        assert "each, EUR" in head
        assert total.split() == ["total", f"{price:,.2f}"]

    def test_of_another_option_that_works(self) -> None:
        id_ = ids("dearer")[0]
        options = read("answer", CRATE, "--json").data["options"]
        option = next(option for option in options if option["id"] == id_)
        parts = read("parts", CRATE, "--option", id_, "--json").data
        assert sum(Decimal(part["price"]) for part in parts) == Decimal(option["price"])

    def test_of_an_option_that_does_not_work_are_refused(self, tmp_path: Path) -> None:
        target = tmp_path / "parts.csv"
        ended = call("parts", CRATE, "--option", ids("rejected")[0], "-o", str(target))
        assert (ended.status, ended.out) == (2, "")
        assert "does not meet this case, so it has no parts" in ended.err
        assert not target.exists()

    def test_where_nothing_works_there_are_none(self, tmp_path: Path) -> None:
        target = tmp_path / "parts.csv"
        ended = call("parts", IMPOSSIBLE, "-o", str(target))
        assert (ended.status, ended.out) == (3, "")
        assert "no option meets this case" in ended.err
        assert not target.exists()
        assert read("parts", IMPOSSIBLE, "--json").data == []

    def test_go_to_csv(self, tmp_path: Path) -> None:
        target = tmp_path / "parts.CSV"
        ended = call("parts", CRATE, "-o", str(target))
        assert (ended.status, ended.out, ended.err) == (0, "", f"wrote {target}\n")
        with target.open(encoding="utf-8", newline="") as file:
            assert next(file).startswith("Crate transfer at end of line: parts of ")
            *rows, total = csv.DictReader(file)
        parts = read("parts", CRATE, "--json").data
        said = [{key: str(value) for key, value in part.items()} for part in parts]
        assert [part | {"currency": "EUR"} for part in said] == rows
        assert Decimal(total["price"]) == sum(Decimal(part["price"]) for part in parts)
        assert b"\r\n" in target.read_bytes()  # RFC 4180

    def test_go_to_json(self, tmp_path: Path) -> None:
        target = tmp_path / "parts.json"
        assert call("parts", CRATE, "-o", str(target), "--quiet") == Ended(0, "", "")
        assert json.loads(target.read_text(encoding="utf-8")) == read("parts", CRATE, "--json").data

    def test_replace_a_file_with_force_only(self, tmp_path: Path) -> None:
        target = tmp_path / "parts.csv"
        target.write_text("mine", encoding="utf-8")
        ended = call("parts", CRATE, "-o", str(target))
        assert (ended.status, ended.out) == (2, "")
        assert "is there already; add --force to replace it" in ended.err
        assert target.read_text(encoding="utf-8") == "mine"
        assert call("parts", CRATE, "-o", str(target), "--force").status == 0
        assert target.read_text(encoding="utf-8").startswith("Crate transfer")

    @pytest.mark.parametrize("name", ["parts.pdf", "parts", "none/parts.csv", "folder.csv"])
    def test_are_written_where_they_can_be(self, tmp_path: Path, name: str) -> None:
        (tmp_path / "folder.csv").mkdir()
        ended = call("parts", CRATE, "-o", str(tmp_path / name), "--force")
        assert (ended.status, ended.out) == (2, "")
        assert str(tmp_path / name) in ended.err
        assert [path.name for path in tmp_path.rglob("*")] == ["folder.csv"]

    def test_are_written_whole_or_not_at_all(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        target = tmp_path / "parts.csv"
        target.write_text("mine", encoding="utf-8")
        monkeypatch.setattr(Path, "replace", full)
        ended = call("parts", CRATE, "-o", str(target), "--force")
        assert ended.status == 4
        assert "cannot be written (No space left on device)" in ended.err
        assert [path.name for path in tmp_path.iterdir()] == ["parts.csv"]
        assert target.read_text(encoding="utf-8") == "mine"

    @pytest.mark.skipif(os.name != "posix", reason="rights of files are those of POSIX")
    def test_have_the_rights_of_any_new_file(self, tmp_path: Path) -> None:
        (tmp_path / "new").touch()
        call("parts", CRATE, "-o", str(tmp_path / "parts.csv"))
        assert (tmp_path / "parts.csv").stat().st_mode == (tmp_path / "new").stat().st_mode


class TestCatalogue:
    def test_check(self) -> None:
        ended = read("catalogue", "check")
        assert (ended.status, ended.err) == (0, "")
        assert ended.out.endswith("no fault found\n")
        assert read("catalogue", "check", "--json").data["faults"] == []

    def test_check_warns_of_what_hardly_fits_together(self, tmp_path: Path) -> None:
        folder = shutil.copytree(shipped("catalog"), tmp_path / "catalog")
        carriers = folder / "carriers-standard.toml"
        text = carriers.read_text(encoding="utf-8").replace('"178 N"', '"118 N"')
        carriers.write_text(text, encoding="utf-8")
        ended = call("catalogue", "check", "--catalogue", str(folder))
        warnings = [line for line in ended.out.splitlines() if line.startswith("doubtful: ")]
        assert ended.status == 0 and warnings
        assert any("std-92" in line and "std-68" in line for line in warnings)
        found = call("catalogue", "check", "--catalogue", str(folder), "--json").data
        assert sorted(found["doubts"][0]["ids"]) == ["std-68", "std-92"]
        assert read("catalogue", "check", "--json").data["doubts"] == []

    def test_every_kind_of_entry_is_shown(self) -> None:
        assert re.search(r"^per +metre *$", read("catalogue", "show", "cover").out, re.MULTILINE)
        assert re.search(r"^time +3 weeks *$", read("catalogue", "show", "assembly").out, re.M)
        assert "2500 J" in read("catalogue", "show", "br-100").out
        assert re.search(r"lead time +8 weeks", read("catalogue", "show", "arc-280").out)

    def test_list_names_every_part(self) -> None:
        ended, data = read("catalogue", "list"), read("catalogue", "list", "--json").data
        assert ended.status == 0
        assert {part["table"] for part in data} >= {"carrier", "bend", "straight", "supply"}
        assert all(part["id"] in ended.out for part in data)
        assert all(re.fullmatch(r"\d+\.\d\d", part["price"]) for part in data)

    def test_show_gives_units(self) -> None:
        text = read("catalogue", "show", "pair-230").out
        assert re.search(r"^coupling distance +230 mm *$", text, re.MULTILINE)
        data = read("catalogue", "show", "pair-230", "--json").data
        assert data["coupling_distance"] == pytest.approx(0.23)

    def test_show_of_an_unknown_part_names_the_nearest(self) -> None:
        ended = call("catalogue", "show", "pair-23")
        assert (ended.status, ended.out) == (2, "")
        assert "there is no part 'pair-23'; the nearest are pair-230" in ended.err

    def test_another_catalogue_gives_another_answer(self, tmp_path: Path) -> None:
        folder = shutil.copytree(shipped("catalog"), tmp_path / "catalog")
        guide = folder / "guide.toml"
        text = guide.read_text(encoding="utf-8")
        price = re.search(r'id = "arc-280"\n.*\nprice = "([0-9.]+)"', text)
        assert price is not None
        guide.write_text(text.replace(f'"{price[1]}"', '"999999.00"'), encoding="utf-8")
        usual = read("answer", CRATE, "--json").data
        dearer = read("answer", CRATE, "--json", "--catalogue", str(folder)).data
        assert dearer["catalogue"]["digest"] != usual["catalogue"]["digest"]
        assert Decimal(dearer["proof"]["price"]) > Decimal(usual["proof"]["price"])

    @pytest.mark.parametrize(
        "words", [words for words in READING if words != ("evidence",)], ids=" ".join
    )
    def test_a_missing_folder_is_refused_everywhere(self, words: tuple[str, ...]) -> None:
        ended = call(*words, "--catalogue", "no-such-folder")
        assert (ended.status, ended.out) == (2, "")
        assert ended.err == (
            "recommender: no-such-folder: there is no such catalogue folder; check the name\n"
        )


class TestCase:
    @pytest.mark.parametrize("path", sorted(CASES.glob("*.toml")), ids=lambda path: path.stem)
    def test_check_of_every_worked_case(self, path: Path) -> None:
        ended = read("case", "check", str(path))
        faults = read("case", "check", str(path), "--json").data["faults"]
        if str(path) == IMPOSSIBLE:
            assert ended.status == 3 and faults
            assert ended.err == "".join(f"recommender: {path}: {fault}\n" for fault in faults)
            return
        assert (ended.status, ended.err) == (0, "")
        assert "no fault found in" in ended.out
        assert faults == []

    def test_list_names_files_that_can_be_answered(self) -> None:
        ended, data = read("case", "list"), read("case", "list", "--json").data
        assert (ended.status, ended.err) == (0, "")
        assert {Path(line["file"]).name for line in data} == {p.name for p in CASES.rglob("*.toml")}
        for line in data:
            assert f"  {line['file']}\n" in ended.out
            assert f"{line['title']}\n" in ended.out

    def test_check_lists_what_the_answer_assumes(self) -> None:
        checked = read("case", "check", CRATE, "--json").data["assumptions"]
        answered = read("answer", CRATE, "--json").data["assumptions"]
        assert checked
        assert all(line in answered for line in checked)

    def test_a_budget_in_foreign_money_is_refused(self, tmp_path: Path) -> None:
        path = tmp_path / "case.toml"
        path.write_text(
            '[load]\nmass = "30 kg"\n[rate]\nitems = "18/min"\n'
            '[commercial]\nbudget = "60000 USD"\n',
            encoding="utf-8",
        )
        for words in (("case", "check"), ("answer",), ("parts",)):
            ended = call(*words, str(path))
            assert (ended.status, ended.out) == (2, "")
            assert "commercial.budget must be in EUR" in ended.err


class TestEvidence:
    def test_every_line_holds(self) -> None:
        ended = read("evidence", "--json")
        assert ended.status == 0
        assert ended.data["published"]
        assert all(line["holds"] for line in ended.data["published"])


@pytest.mark.parametrize("words", READING, ids=lambda words: " ".join(words).replace(CRATE, "CASE"))
class TestEveryReadingCommand:
    def test_keeps_results_and_messages_apart(self, words: tuple[str, ...]) -> None:
        ended = read(*words)
        assert (ended.status, ended.err) == (0, "")
        assert ended.out.strip()
        assert ended.out.endswith("\n")

    def test_prints_one_json_document(self, words: tuple[str, ...]) -> None:
        ended = read(*words, "--json")
        assert (ended.status, ended.err) == (0, "")
        assert ended.data
        assert "NaN" not in ended.out
        assert "Infinity" not in ended.out

    def test_prints_its_result_in_quiet_too(self, words: tuple[str, ...]) -> None:
        assert read(*words, "--quiet") == read(*words)

    def test_is_readable_at_80_columns(self, words: tuple[str, ...]) -> None:
        for line in read(*words).out.splitlines():
            assert cell_len(line) <= 80

    def test_has_no_codes_where_it_is_no_terminal(self, words: tuple[str, ...]) -> None:
        assert "\x1b" not in read(*words).out

    def test_has_help(self, words: tuple[str, ...]) -> None:
        names = words[: 2 if words[0] in {"catalogue", "case"} else 1]
        ended = read(*names, "--help")
        assert (ended.status, ended.err) == (0, "")
        assert ended.out.startswith(f"Usage: recommender {' '.join(names)} ")
        assert all(cell_len(line) <= 80 for line in ended.out.splitlines())
        assert "--json" in ended.out


@pytest.mark.parametrize("case", ["batch", "impossible", "nest"])
def test_other_answers_are_readable_at_80_columns(case: str) -> None:
    ended = read("answer", str(CASES / f"{case}.toml"))
    assert ended.err == ""
    assert all(cell_len(line) <= 80 for line in ended.out.splitlines())


def test_an_option_in_depth_is_readable_at_80_columns() -> None:
    for verdict in ("recommended", "dearer", "rejected"):
        ended = read("why", CRATE, ids(verdict)[0])
        assert all(cell_len(line) <= 80 for line in ended.out.splitlines())


class TestRefusals:
    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (("answer",), 'name a case file, or give at least --mass "30 kg" and --rate "18/min"'),
            (("answer", "--mass", "3 kg"), "name a case file, or give at least"),
            (("answer", "none.toml"), "none.toml: there is no such file; check the name"),
            (("answer", str(CASES)), "is a folder; name a TOML file"),
            (("case", "check", "none.toml"), "none.toml: there is no such file"),
            (("compare", "none.toml"), "none.toml: there is no such file"),
            (("why", "none.toml", "x"), "none.toml: there is no such file"),
            (("parts", "none.toml"), "none.toml: there is no such file"),
            (("why", CRATE), "Missing argument 'OPTION'"),
            (("answer", "--mass"), "Option '--mass' requires an argument"),
            (("answer", CRATE, "--bogus"), "No such option: --bogus"),
            (("answer", CRATE, CRATE), "unexpected extra argument"),
            (("answr", CRATE), "No such command 'answr'. Did you mean 'answer'?"),
            (
                ("answer", "--mass", "30", "--rate", "18/min"),
                '--mass has no unit; write a mass as text with a unit, such as "30 kg"',
            ),
            (
                ("answer", "--mass", "-30 kg", "--rate", "18/min"),
                '--mass must be greater than 0 (read: "-30 kg")',
            ),
            (
                ("answer", "--mass", "nan kg", "--rate", "18/min"),
                "--mass is not a number; write a mass as text with a unit",
            ),
            (
                ("answer", "--mass", "30 kg", "--rate", "18 kg"),
                '--rate is not a rate; write a rate as text with a unit, such as "18/min"',
            ),
            (
                (*ONE_LINE, "--held", "glued"),
                "--held must be 'friction', 'nested' or 'clamped' (read: \"glued\")",
            ),
            (
                ("answer", CRATE, "--time-limit", "30"),
                '--time-limit has no unit; write a duration as text with a unit, such as "1.2 s"',
            ),
            (
                ("parts", CRATE, "--time-limit", "-1 s"),
                '--time-limit must not be negative (read: "-1 s")',
            ),
            (
                (*ONE_LINE, "--max-length", "8"),
                "--max-length has no unit; write a length as text with a unit",
            ),
        ],
        ids=lambda value: " ".join(value)[-40:] if isinstance(value, tuple) else "",
    )
    @pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
    def test_are_one_message_and_nothing_else(
        self,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        words: tuple[str, ...],
        said: str,
        as_json: bool,
    ) -> None:
        monkeypatch.chdir(tmp_path)
        ended = call(*words, "--json") if as_json and words[-1] != "--mass" else call(*words)
        assert (ended.status, ended.out) == (2, "")
        assert said in ended.err
        assert ended.err.startswith("recommender: ")
        assert "Traceback" not in ended.err
        assert not list(tmp_path.iterdir())

    def test_name_the_command_whose_help_would_help(self) -> None:
        assert call("answer", CRATE, "--bogus").err.splitlines()[1] == (
            "recommender: recommender answer --help shows what there is"
        )

    def test_of_nothing_asked_show_the_commands(self) -> None:
        ended = call()
        assert (ended.status, ended.out) == (2, "")
        assert ended.err.startswith("Usage: recommender ")
        for command in ("answer", "compare", "why", "parts", "catalogue", "case", "evidence"):
            assert f"\n  {command} " in ended.err


class TestFaultsOfOurs:
    def test_end_with_1_and_no_traceback(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def fail(*_: object, **__: object) -> None:
            raise IndexError("out of bounds")

        monkeypatch.setattr("recommender.recommend.recommend", fail)
        assert call("answer", CRATE) == Ended(
            1, "", "recommender: a fault of this program: IndexError: out of bounds\n"
        )

    def test_an_interrupt_ends_quietly(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def interrupt(*_: object, **__: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr("recommender.recommend.recommend", interrupt)
        ended = call("answer", CRATE)
        assert (ended.status, ended.out) == (130, "")
        assert "Traceback" not in ended.err


class TestProcesses:
    def test_a_process_of_its_own_gives_the_same_answer(self) -> None:
        ended = start("answer", CRATE, "--json")
        assert (ended.returncode, ended.stderr) == (0, b"")
        assert json.loads(ended.stdout) == read("answer", CRATE, "--json").data

    def test_statuses(self) -> None:
        assert start("answer", IMPOSSIBLE, "--brief").returncode == 3
        assert start("answer", "none.toml").returncode == 2
        assert start("catalogue", "check").returncode == 0

    def test_version(self) -> None:
        ended = start("--version")
        assert ended.returncode == 0
        assert ended.stdout.startswith(b"recommender")

    def test_a_reader_that_stops_is_no_fault(self) -> None:
        with subprocess.Popen(
            [sys.executable, "-m", "recommender", "answer", CRATE, "--brief", "--json"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        ) as process:
            assert process.stdout is not None
            assert process.stderr is not None
            process.stdout.close()
            assert process.stderr.read() == b""
            assert process.wait() == 0

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")
    def test_a_full_disk_is_said(self) -> None:
        with Path("/dev/full").open("w") as full:
            ended = subprocess.run(
                [sys.executable, "-m", "recommender", "catalogue", "list"],
                stdout=full,
                stderr=subprocess.PIPE,
                check=False,
            )
        assert ended.returncode == 4
        assert ended.stderr.startswith(b"recommender: the result cannot be written (No space left")

    def test_a_terminal_that_lacks_characters_gets_others(self) -> None:
        ended = start("answer", CRATE, "--brief", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        assert (ended.returncode, ended.stderr) == (0, b"")
        assert ended.stdout.isascii()

    def test_json_is_utf8_whatever_the_terminal_speaks(self, tmp_path: Path) -> None:
        path = tmp_path / "case.toml"
        text = Path(CRATE).read_text(encoding="utf-8")
        path.write_text(text.replace("Crate transfer", "Kiste für Äpfel"), encoding="utf-8")
        ended = start("case", "check", str(path), "--json", PYTHONIOENCODING="ascii")
        assert json.loads(ended.stdout.decode("utf-8"))["case"]["title"].startswith("Kiste für")

    @pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are those of POSIX")
    def test_styles_stand_on_a_terminal_only_and_no_colour_with_no_color(self) -> None:
        import pty  # noqa: PLC0415 - there is none on other systems

        def shown(**variables: str) -> str:
            ours, theirs = pty.openpty()
            process = subprocess.Popen(
                [sys.executable, "-m", "recommender", "catalogue", "list"],
                stdin=theirs,
                stdout=theirs,
                stderr=theirs,
                env={**os.environ, "TERM": "xterm-256color", **variables},
            )
            os.close(theirs)
            chunks = []
            with contextlib.suppress(OSError):  # the other end is closed
                while chunk := os.read(ours, 4096):
                    chunks.append(chunk)
            os.close(ours)
            assert process.wait() == 0
            return b"".join(chunks).decode("utf-8")

        assert "\x1b[1m" in shown()
        colour = re.compile(r"\x1b\[[0-9;]*(3[0-8]|4[0-8]|9[0-7])[;m]")
        assert not colour.search(shown(NO_COLOR="1"))
