"""Text that others wrote: one line that can be seen at the gate in, escaped at the gate out."""

import csv
import io
import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError
from rich.console import Console

from recommender.inputs.case import Case, make_case, read_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped
from recommender.results.answer import BreakdownResult, PartResult, ShareResult
from recommender.running import complain
from recommender.running import console as console_of_commands
from recommender.shown import escaped, is_plain, json_text, shown, shown_path
from recommender.views.case import show_checked, show_worked
from recommender.views.catalogue import show_part, show_parts
from recommender.views.explanation import breakdown_bars
from recommender.views.layout import facts, grid
from recommender.views.tables import parts_csv

# ECMA-48 control functions, 7 and 8 bit; Unicode Standard Annex 9 direction codes; line ends of
# Unicode Standard Annex 14; a tag and a lone surrogate.
HIDDEN = (
    "\x1b[2J",
    "\x9b31m",
    "\x85",
    "\x7f",
    "\x00",
    "\b\b",
    "\r",
    "\n",
    "\t",
    "\u200b",
    "\u202e",
    "\u2066",
    "\u2028",
    "\u2029",
    "\U000e0041",
    "\ufeff",
)
MARKUP = ("[/x]", "left [b]", "[red]x[/red]", "[link=file:///x]y[/link]", ":smile:", "[/]", "\\[b]")
PART = PartResult("rail", "s-400", "Straight", 2, Decimal(5), Decimal(10), 2.0, "2 on the front")


def case_named(title: str = "A case", station: str = "load") -> dict[str, object]:
    return {
        "title": title,
        "load": {"mass": "30 kg"},
        "rate": {"items": "18/min"},
        "station": [{"name": station, "dwell": "1 s"}, {"name": "unload", "dwell": "1 s"}],
    }


def printed(show: object, *what: object) -> str:
    """What a view prints on a console that reads markup, as the strictest one would."""
    console = Console(file=io.StringIO(), width=80, markup=True, emoji=True)
    assert callable(show)
    show(console, *what)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def models(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """A model and all that stand in it."""
    yield model
    for field in model.model_fields.values():
        for part in parts_of(field.annotation):
            if isinstance(part, type) and issubclass(part, BaseModel):
                yield from models(part)


def parts_of(annotation: object) -> Iterator[object]:
    yield annotation
    for part in get_args(annotation):
        yield from parts_of(part)


class TestTheGateIn:
    @pytest.mark.parametrize("model", [Case, Catalogue])
    def test_every_free_text_of_every_model_has_it(self, model: type[BaseModel]) -> None:
        """A field that is added later, too."""
        found = 0
        for table in models(model):
            for name, field in table.model_fields.items():
                if str not in parts_of(field.annotation):
                    continue
                found += 1
                for hidden in ("x\x1b[2J", "x\u202e", "x\ny"):
                    with pytest.raises(ValidationError) as refused:
                        table.model_validate({name: hidden})
                    at_fault = {fault["loc"][0] for fault in refused.value.errors() if fault["loc"]}
                    assert name in at_fault, f"{table.__name__}.{name} takes {hidden!r}"
        assert found >= 3

    @pytest.mark.parametrize("hidden", HIDDEN, ids=ascii)
    @pytest.mark.parametrize("key", ["title", "station"])
    def test_a_name_is_one_line_of_printable_characters(self, hidden: str, key: str) -> None:
        with pytest.raises(InputError) as refused:
            make_case(case_named(**{key: f"le{hidden}ft"}), "case.toml")
        message = str(refused.value)
        assert "must be one line of printable characters" in message
        assert is_plain(message)

    @pytest.mark.parametrize("blank", [" ", "\u00a0", "\u3000 "])
    def test_a_name_is_not_blank(self, blank: str) -> None:
        with pytest.raises(InputError, match="must not be blank"):
            make_case(case_named(station=blank), "case.toml")

    @pytest.mark.parametrize("name", [*MARKUP, "Größe 30 kg", "左", "شحن", "=1+1", "a\u00a0b"])
    def test_whatever_can_be_seen_may_be_a_name(self, name: str) -> None:
        assert make_case(case_named(station=name), "case.toml").station[0].name == name

    @pytest.mark.parametrize(
        ("file", "key"),
        [
            ("catalogue.toml", "title"),
            ("catalogue.toml", "note"),
            ("families.toml", "name"),
            ("rollers.toml", "description"),
            ("guide.toml", "description"),
            ("carriers-standard.toml", "description"),
            ("electrical.toml", "description"),
        ],
    )
    @pytest.mark.parametrize("hidden", ["\\u001b[2J", "\\u202e", "\\n", "\\u009b1m"])
    def test_texts_of_a_catalogue_are_plain(
        self, tmp_path: Path, file: str, key: str, hidden: str
    ) -> None:
        folder = Path(shutil.copytree(shipped("catalog"), tmp_path / "catalog"))
        text = (folder / file).read_text(encoding="utf-8")
        assert f'\n{key} = "' in text
        changed = text.replace(f'\n{key} = "', f'\n{key} = "x{hidden}', 1)
        (folder / file).write_text(changed, encoding="utf-8")
        with pytest.raises(InputError, match="must be one line of printable characters") as refused:
            read_catalogue(folder)
        assert f"{file}: [" in str(refused.value)
        assert is_plain(str(refused.value))

    @given(st.text(max_size=60))
    def test_is_open_to_plain_text_alone(self, name: str) -> None:
        try:
            made = make_case(case_named(station=name), "case.toml")
        except InputError as refused:
            assert is_plain(str(refused))
        else:
            assert is_plain(made.station[0].name)
            assert made.station[0].name.strip()


class TestTheGateOut:
    @given(st.text(st.characters(exclude_categories=())))
    def test_shows_plain_text_alone(self, text: str) -> None:
        assert is_plain(escaped(text))
        assert is_plain(shown(text))
        assert len(shown(text)) <= 60
        assert is_plain(shown_path(text))
        assert len(shown_path(text)) <= 240
        data = json_text([text])
        assert is_plain(data.replace("\n", ""))
        assert json.loads(data) == [text]

    @given(st.text(st.characters(exclude_categories=("C", "Zl", "Zp")), max_size=60))
    def test_leaves_plain_text_as_it_is(self, text: str) -> None:
        assert escaped(text) == shown(text) == text

    @pytest.mark.parametrize("hidden", HIDDEN, ids=ascii)
    def test_keys_values_and_ids_of_a_refusal_are_escaped(
        self, tmp_path: Path, hidden: str
    ) -> None:
        key = "".join(f"\\U{ord(one):08X}" for one in f"lo{hidden}ad")
        path = tmp_path / "case.toml"
        path.write_text(f'"{key}" = 1\ncommercial.budget = "{key}"\n', encoding="utf-8")
        with pytest.raises(InputError) as refused:
            read_case(path)
        lines = str(refused.value).split("\n")
        assert all(map(is_plain, lines))
        assert any("is not known here" in line for line in lines)
        folder = Path(shutil.copytree(shipped("catalog"), tmp_path / "catalog"))
        for text in (f'[[feed]]\nid = "{key}"\n', f'"{key}" = 1\n'):
            (folder / "more.toml").write_text(text, encoding="utf-8")
            with pytest.raises(InputError) as refused:
                read_catalogue(folder)
            assert all(map(is_plain, str(refused.value).split("\n")))

    def test_a_long_key_or_value_is_cut(self, tmp_path: Path) -> None:
        path = tmp_path / "case.toml"
        path.write_text(f'"{"k" * 9999}" = 1\nload = "{"v" * 9999}"\n', encoding="utf-8")
        with pytest.raises(InputError) as refused:
            read_case(path)
        assert all(len(line) < 400 + len(str(path)) for line in str(refused.value).split("\n"))

    @pytest.mark.parametrize("hidden", [one for one in HIDDEN if one != "\x00"], ids=ascii)
    def test_names_of_files_are_escaped(self, tmp_path: Path, hidden: str) -> None:
        path = tmp_path / f"ca{hidden}se.toml"
        for read in (read_case, read_catalogue):
            with pytest.raises(InputError) as refused:
                read(path)
            assert is_plain(str(refused.value))
        path.write_text("x = ", encoding="utf-8")
        with pytest.raises(InputError) as refused:
            read_case(path)
        assert is_plain(str(refused.value))

    def test_messages_are_escaped_whoever_wrote_them(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        complain("no \x1b[2J\x9b\u202e\x85command\nanother line")
        assert capsys.readouterr().err == (
            "recommender: no \\u001B[2J\\u009B\\u202E\\u0085command\nrecommender: another line\n"
        )


class TestViews:
    @pytest.mark.parametrize("text", MARKUP)
    def test_show_markup_as_it_stands(self, text: str) -> None:
        read = [{"key": text, "written": text, "si": text}]
        assumed = [{"key": text, "value": text, "question": text}]
        assert printed(show_checked, text, read, assumed).count(text) == 7
        assert printed(show_worked, {text: text}).count(text) == 2
        assert text in printed(show_part, {"description": text})
        part = {"table": "feed", "id": "f", "description": text, "price": "1.00", "lead_time": 0}
        assert text in printed(show_parts, [part], "EUR")
        for table in (facts(), grid((text, False), ("x", True))):
            table.add_row(text, text)
            assert printed(lambda console, body: console.print(body), table).count(text) >= 2

    @pytest.mark.parametrize("text", MARKUP)
    def test_bars_show_markup_as_it_stands(self, text: str) -> None:
        shares = (ShareResult(text, 1.0),)
        bars = breakdown_bars(BreakdownResult("heat", text, "W", 1.0, shares), "EUR")
        assert text in printed(lambda console, body: console.print(body), bars)

    @pytest.mark.parametrize("text", MARKUP)
    def test_the_console_of_the_commands_reads_no_markup(
        self, text: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        console_of_commands().print(text)
        assert capsys.readouterr().out == f"{text}\n"

    @pytest.mark.parametrize("columns", ["0", "1"])
    def test_are_shown_where_the_terminal_has_no_width(
        self, columns: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setenv("COLUMNS", columns)
        console_of_commands().print("left and right")
        assert capsys.readouterr().out == "left and right\n"

    def test_escape_what_cannot_be_seen(self) -> None:
        table = facts()
        table.add_row("".join(HIDDEN).replace("\n", ""), "x")
        text = printed(lambda console, body: console.print(body), table)
        assert is_plain(text.replace("\n", ""))


class TestSpreadsheets:
    @pytest.mark.parametrize(
        "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "-"]
    )
    def test_no_cell_begins_a_formula(self, text: str) -> None:
        written = parts_csv([replace(PART, description=text)], text, "EUR")
        title, head, cells, _ = csv.reader(io.StringIO(written, newline=""))
        row = dict(zip(head, cells, strict=True))
        assert title[0] == row["description"] == f"'{text}"
        assert row["price"] == "10.00"

    def test_no_cell_begins_one_behind_a_semicolon(self) -> None:
        line = parts_csv([replace(PART, description="rail;=1+1")], "x", "EUR").splitlines()[2]
        assert "rail;'=1+1" in line

    def test_other_cells_stand_as_they_are(self) -> None:
        assert parts_csv([PART], "Two rails", "EUR").splitlines() == [
            "Two rails,,,,,,,,",
            "item,id,description,quantity,unit_price,price,currency,lead_time_weeks,why",
            "rail,s-400,Straight,2,5.00,10.00,EUR,2.0,2 on the front",
            "total,,,,,10.00,EUR,,",
        ]
