"""The form shows every field of a case, and gives back the case that it shows."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from recommender.guided import words
from recommender.inputs.case import Case, make_case
from recommender.inputs.case_text import case_toml
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped
from recommender.inputs.si_case import table_of
from recommender.page import form
from recommender.page.rooms import rooms
from recommender.results.answer import HeadroomResult

CASES = sorted(shipped("cases").glob("*.toml"))
FULL: dict[str, Any] = {
    "title": 'A <b>"tray"</b> & more',
    "units": "us",
    "load": {
        "mass": "66 lb",
        "held": "nested",
        "friction": 0.45,
        "pocket": "40 mm",
        "liquid": {"length": "200 mm", "depth": "60 mm", "freeboard": "45 mm"},
    },
    "tooling": {"mass": "1.2 kg", "per": "item"},
    "rate": {"items": "18/min", "per_carrier": [1, 2], "reserve": 0.05},
    "station": [
        {"name": "load", "dwell": "1.2 s", "clear_of_joints": True},
        {"name": "press, hot", "dwell": "1.5 s", "force": ["0 N", "0 N", "-150 N"], "positions": 2},
    ],
    "commercial": {"budget": "60000 EUR", "without": ["covers", "training"]},
}


def keys_of(table: type[BaseModel], prefix: str = "") -> set[str]:
    found = set()
    for name, field in table.model_fields.items():
        inner = table_of(field)
        found |= keys_of(inner, f"{prefix}{name}.") if inner else {prefix + name}
    return found


def shown(data: dict[str, Any]) -> list[form.Entry]:
    entries = []
    for group in form.groups(data, ["covers", "training", "software"]):
        of_stations = [e for s in group.stations for e in (*s.main, *s.others)]
        entries += [*group.entries, *of_stations]
    return entries


def test_every_key_of_a_case_has_a_field():
    names = {entry.name.replace("station[1]", "station") for entry in shown({"station": [{}]})}
    assert names == keys_of(Case)


def test_every_field_has_a_label_and_help():
    for entry in shown(FULL):
        assert entry.label and entry.help, entry.name


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_worked_case_goes_through_the_form_and_its_file_unchanged(path: Path):
    data = tomllib.loads(path.read_text())
    read = form.read(form.pairs_of(data))
    assert read.faults == {}
    assert read.case == make_case(data, "x")
    again = tomllib.loads(case_toml(read.data, words(), None, ""))
    assert make_case(again, "x") == make_case(data, "x")


def test_a_full_case_goes_through_the_form_unchanged():
    read = form.read(form.pairs_of(FULL))
    assert read.faults == {}
    assert read.case == make_case(FULL, "x")
    again = tomllib.loads(case_toml(read.data, words(), None, ""))
    assert make_case(again, "x") == make_case(FULL, "x")


def test_ticked_groups_are_left_out_of_the_order():
    (entry,) = [entry for entry in shown(FULL) if entry.sort == "several"]
    assert entry.choices == ("covers", "training", "software")
    assert entry.chosen == ("covers", "training")
    pairs = [("load.mass", "1 kg"), ("rate.items", "1/min")]
    pairs += [("commercial.without", "covers"), ("commercial.without", "software")]
    case = form.read(pairs).case
    assert case is not None and case.commercial.without == ("covers", "software")


def test_a_fault_stands_beside_its_field_in_the_words_of_the_reader():
    pairs = form.pairs_of(FULL)
    wrong = [("30 mm" if name == "load.mass" else value) for name, value in pairs]
    read = form.read(list(zip([name for name, _ in pairs], wrong, strict=True)))
    changed = {**FULL, "load": {**FULL["load"], "mass": "30 mm"}}
    with pytest.raises(InputError) as refused:
        make_case(changed, "x")
    assert read.case is None
    assert read.faults == {"load.mass": str(refused.value).removeprefix("x: ")}


def test_faults_of_stations_and_lists_find_their_fields():
    pairs = [
        *(("load.mass", "1 kg"), ("rate.items", "1/min"), ("rate.per_carrier", "1, none")),
        *(("station[1].name", ""), ("station[1].dwell", "")),
        *(("station[2].name", "b"), ("station[2].dwell", "2 kg"), ("station[2].force", "1 N")),
    ]
    faults = form.read(pairs).faults
    assert set(faults) == {
        *("rate.per_carrier", "station[1].name", "station[1].dwell"),
        *("station[2].dwell", "station[2].force"),
    }


def test_what_is_needed_and_empty_is_said_at_its_field():
    faults = form.read([("load.mass", " "), ("rate.items", "")]).faults
    assert set(faults) == {"load.mass", "rate.items"}
    assert "is missing" in faults["load.mass"]


def test_names_that_no_field_has_change_nothing():
    pairs = [("load.mass", "1 kg"), ("rate.items", "1/min"), ("load.liquid", "x"), ("x.y", "1")]
    pairs += [("station", "x"), ("station[0].name", "x"), ("__class__", "x"), (".title", "x")]
    assert form.data_of(pairs) == form.data_of(pairs[:2])


def test_other_units_are_echoed_in_the_usual_one():
    notes = form.read(form.pairs_of({**FULL, "units": "metric"})).notes
    assert notes["load.mass"] == "29.94 kg"  # 66 x 0.45359237
    assert "load.pocket" not in notes
    notes = form.read(form.pairs_of(FULL)).notes
    assert "load.mass" not in notes
    assert notes["load.pocket"] == "1.57 in"  # 40 / 25.4
    assert {entry.name: entry.unit for entry in shown(FULL)}["load.mass"] == "lb"


def test_a_file_with_an_unknown_key_is_refused_and_one_with_a_wrong_value_is_shown():
    unknown = {"load": {"mass": "1 kg", "colour": "red"}, "rate": {"items": "1/min"}}
    with pytest.raises(InputError, match="colour"):
        form.opened(unknown, "x.toml")
    wrong = {"load": {"mass": "1 mm"}, "rate": {"items": "1/min"}}
    assert form.opened(wrong, "x.toml") == wrong
    with pytest.raises(InputError):
        form.opened({"load": [1]}, "x.toml")


def test_stations_come_and_go():
    data = {"station": [{"name": "a", "dwell": "1 s"}, {"name": "station 3", "dwell": "2 s"}]}
    more = form.with_stations(data, "add")["station"]
    assert [entry["name"] for entry in more] == ["a", "station 3", "station 4"]
    assert form.with_stations(data, "remove 1")["station"] == data["station"][1:]
    assert form.with_stations(data, "remove 3")["station"] == data["station"]
    one = {"station": data["station"][:1]}
    assert form.with_stations(one, "remove 1")["station"] == one["station"]


def test_how_far_a_field_may_move_stands_beside_it():
    lines = [
        HeadroomResult("load.mass", "30 kg", "37.2 kg", None, None, factor=1.24),
        HeadroomResult("station.b.dwell", "2 s", "2.4 s", None, None, factor=1.2),
        HeadroomResult("life.hours", "20000", None, None, None),
    ]
    data = {"station": [{"name": "a"}, {"name": "b"}]}
    assert rooms(lines, data) == {
        "load.mass": "holds up to 37.2 kg",
        "station[2].dwell": "holds up to 2.4 s",
        "life.hours": "holds at ten times that and more",
    }
