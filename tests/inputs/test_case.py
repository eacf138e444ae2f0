"""Cases: every fault is said once, with file, key, what was read and what would do."""

import re
from pathlib import Path

import pytest

from recommender.inputs.case import (
    Case,
    assumptions,
    check_currency,
    check_without,
    make_case,
    read_case,
)
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped

LOAD = '[load]\nmass = "30 kg"\n'
RATE = '[rate]\nitems = "18/min"\n'
STATION = '[[station]]\nname = "load"\ndwell = "1 s"\n'
WORKED = sorted(shipped("cases").glob("*.toml"))


def refusal(tmp_path: Path, text: str | bytes) -> str:
    """What is said of a broken case file, without the folder."""
    path = tmp_path / "case.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(InputError) as refused:
        read_case(path)
    return str(refused.value).replace(str(path), "case.toml")


def made(**tables: object) -> Case:
    data = {"load": {"mass": "30 kg"}, "rate": {"items": "18/min"}, **tables}
    return make_case(data, "test")


def assumed(case: Case) -> dict[str, str]:
    return {line.key: line.value for line in assumptions(case)}


@pytest.mark.parametrize("path", WORKED, ids=lambda path: path.stem)
def test_the_worked_cases_are_sound(path: Path) -> None:
    case = read_case(path)
    assert case.load.mass > 0
    assert all(line.why and line.value for line in assumptions(case))


def test_there_are_worked_cases() -> None:
    assert len(WORKED) >= 7


def test_the_smallest_case_is_a_mass_and_a_rate() -> None:
    case = made()
    assert case.load.mass == 30.0
    assert case.rate.items == pytest.approx(0.3, rel=1e-15)


class TestFiles:
    def test_missing(self, tmp_path: Path) -> None:
        path = tmp_path / "none.toml"
        with pytest.raises(InputError, match="there is no such file; check the name") as refused:
            read_case(path)
        assert str(refused.value).startswith(f"{path}: ")

    def test_folder(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="is a folder; name a TOML file"):
            read_case(tmp_path)

    def test_not_utf8(self, tmp_path: Path) -> None:
        text = 'title = "Größe"\n'.encode("latin-1")
        assert refusal(tmp_path, text) == "case.toml: is not UTF-8 text; save it as UTF-8"

    def test_broken_toml_names_the_line(self, tmp_path: Path) -> None:
        message = refusal(tmp_path, '[load]\nmass = "30 kg"\nreach = \n')
        assert message.startswith("case.toml: is not valid TOML: ")
        assert "line 3" in message

    def test_a_table_twice_names_the_line(self, tmp_path: Path) -> None:
        assert "line 5" in refusal(tmp_path, LOAD + RATE + "[load]\n")

    def test_binary(self, tmp_path: Path) -> None:
        assert refusal(tmp_path, b"\x00\x01\x02").startswith("case.toml: is not valid TOML")

    def test_empty(self, tmp_path: Path) -> None:
        assert refusal(tmp_path, "").splitlines() == [
            "case.toml: load is missing; write a table [load] with mass",
            "case.toml: rate is missing; write a table [rate] with items",
        ]

    @pytest.mark.parametrize("text", ["\ufeff" + LOAD + RATE, (LOAD + RATE).replace("\n", "\r\n")])
    def test_what_other_systems_write_is_read(self, tmp_path: Path, text: str) -> None:
        path = tmp_path / "case.toml"
        path.write_bytes(text.encode())
        assert read_case(path).load.mass == 30.0


@pytest.mark.parametrize(
    ("mass", "said"),
    [
        ("30", "has no unit; write a mass as text with a unit, such as"),
        ("nan", "has no unit; write a mass as text with a unit, such as"),
        ("inf", "has no unit; write a mass as text with a unit, such as"),
        ("true", "has no unit; write a mass as text with a unit, such as"),
        ("1979-05-27", "has no unit; write a mass as text with a unit, such as"),
        ("{kg = 30}", "has no unit; write a mass as text with a unit, such as"),
        ('"30"', "has no unit; write a mass as text with a unit, such as"),
        ('""', "is not a number; write a mass as text with a unit, such as"),
        ('"nan kg"', "is not a number; write a mass as text with a unit, such as"),
        ('"inf kg"', "is not a number; write a mass as text with a unit, such as"),
        ('"1e400 kg"', "is not finite; write a mass as text with a unit, such as"),
        ('"30 mm"', "is not a mass; write a mass as text with a unit, such as"),
        ('"30 kgs"', "has a unit that is not known; write a mass as text with a unit"),
        ('"30e6 kg"', "is beyond what a mass can be here, 1e-06 to 100000 kg; look at its unit"),
        ('"-30 kg"', "must be greater than 0"),
        ('"0 kg"', "must be greater than 0"),
    ],
)
def test_a_bad_mass_is_refused_with_what_was_read(tmp_path: Path, mass: str, said: str) -> None:
    message = refusal(tmp_path, f"[load]\nmass = {mass}\n{RATE}")
    assert message.count("\n") == 0
    assert message.startswith(f"case.toml: load.mass {said}")
    read = re.search(r"\(read: (.*)\)$", message)
    assert read is not None
    assert read[1].replace(": ", " = ").replace('"', "") == mass.replace('"', "")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            f'{LOAD}held = "glued"\n{RATE}',
            "load.held must be 'friction', 'nested' or 'clamped' (read: \"glued\")",
        ),
        (f"{LOAD}friction = nan\n{RATE}", "load.friction must be a finite number (read: nan)"),
        (f"{LOAD}friction = 0\n{RATE}", "load.friction must be at least 0.01 (read: 0)"),
        (f"{LOAD}friction = 9\n{RATE}", "load.friction must be at most 1.5 (read: 9)"),
        (f'{LOAD}friction = "0.3"\n{RATE}', 'load.friction must be a number (read: "0.3")'),
        (f"{LOAD}friction = true\n{RATE}", "load.friction must be a number (read: true)"),
        (f"load = 3\n{RATE}", "load must be a table (read: 3)"),
        (f'[[load]]\nmass = "3 kg"\n{RATE}', 'load must be a table (read: [{"mass": "3 kg"}])'),
        (
            f'[load]\nmassa = "30 kg"\n{RATE}',
            'load.mass is missing; write one such as "30 kg"\n'
            "load.massa is not known here; the nearest known key is mass",
        ),
        (f"{LOAD}{RATE}[lop]\n", "lop is not known here; the nearest known key is loop"),
        (
            f"{LOAD}{RATE}zzz = 1\n",
            "rate.zzz is not known here; known are items, per_carrier",
        ),
        (
            f'{LOAD}{RATE}title = "Crates"\n',
            "rate.title is not known here; title belongs at the top of the file, above its first"
            " table",
        ),
        (f"station = []\n{LOAD}{RATE}", "station must have 1 or more entries (read: [])"),
        (f'station = ["x"]\n{LOAD}{RATE}', 'station[1] must be a table (read: "x")'),
        (
            LOAD + RATE + STATION + STATION,
            "station[2].name is 'load' like that of station[1]; give each station its own name",
        ),
        (
            f'{LOAD}{RATE}[[station]]\nname = "a"\n',
            'station[1].dwell is missing; write one such as "1.2 s"',
        ),
        (
            f'{LOAD}{RATE}{STATION}[[station]]\nname = "b"\ndwell = "-1 s"\n',
            'station[2].dwell must be at least 0 (read: "-1 s")',
        ),
        (
            f'{LOAD}{RATE}{STATION}force = ["1 N"]\n',
            "station[1].force[2] is missing; the list is too short\n"
            "station[1].force[3] is missing; the list is too short",
        ),
        (
            f'{LOAD}{RATE}{STATION}force = ["1 N", "2 N", "3 N", "4 N"]\n',
            'station[1].force must have 3 entries at most (read: ["1 N", "2 N", "3 N", "4 N"])',
        ),
        (
            f'{LOAD}{RATE}{STATION}force = ["1 N", "2 N", "3 m"]\n',
            "station[1].force[3] is not a force; write a force as text with a unit, such as"
            ' "150 N" (read: "3 m")',
        ),
        (
            f'{LOAD}{RATE}{STATION}side = "left"\npositions = 1.0\nclear_of_joints = "yes"\n',
            "station[1].positions must be a whole number (read: 1.0)\n"
            "station[1].side must be 'front', 'back', 'upper', 'lower' or 'any' (read: \"left\")\n"
            'station[1].clear_of_joints must be true or false (read: "yes")',
        ),
        (f"{LOAD}{RATE}per_carrier = []\n", "rate.per_carrier must have 1 or more entries"),
        (f"{LOAD}{RATE}per_carrier = 2\n", "rate.per_carrier must be a list (read: 2)"),
        (
            f"{LOAD}{RATE}per_carrier = [1, 0, 21, 1.5, true]\n",
            "rate.per_carrier[2] must be at least 1 (read: 0)\n"
            "rate.per_carrier[3] must be at most 20 (read: 21)\n"
            "rate.per_carrier[4] must be a whole number (read: 1.5)\n"
            "rate.per_carrier[5] must be a whole number (read: true)",
        ),
        (
            f'{LOAD}{RATE}[loop]\nplane = "upside"\n',
            "loop.plane must be 'flat' or 'upright' (read: \"upside\")",
        ),
        (f"{LOAD}{RATE}[life]\nhours = inf\n", "life.hours must be a finite number (read: inf)"),
        (f"{LOAD}{RATE}[life]\nhours = 0\n", "life.hours must be at least 1 (read: 0)"),
        (
            f'{LOAD}{RATE}[life]\nhours = "20000 h"\n',
            'life.hours must be a number (read: "20000 h")',
        ),
        (
            f"{LOAD}{RATE}[life]\nreliability = 100\n",
            "life.reliability must be at most 99.95 (read: 100)",
        ),
        (
            f'{LOAD}{RATE}[commercial]\nbudget = "lots"\n',
            'commercial.budget is not an amount; write it with its currency, such as "60000 EUR"'
            ' (read: "lots")',
        ),
        (
            f"{LOAD}{RATE}[commercial]\nbudget = 60000\n",
            'commercial.budget is not an amount; write it with its currency, such as "60000 EUR"'
            " (read: 60000)",
        ),
        (
            f'{LOAD}{RATE}[commercial]\nbudget = "-5 EUR"\n',
            "commercial.budget is not an amount;",
        ),
        (f'title = ""\n{LOAD}{RATE}', 'title must not be empty (read: "")'),
        (f"title = 3\n{LOAD}{RATE}", "title must be text (read: 3)"),
        (f'title = "{"x" * 61}"\n{LOAD}{RATE}', "title must be 60 characters long at most"),
        (
            f'{LOAD}{RATE}[load.liquid]\nlength = "9 m"\ndepth = "1 m"\nfreeboard = "3 mm"\n',
            "load.liquid.length is 9 m, more than load.length of 300 mm;",
        ),
        (
            f'{LOAD}{RATE}[load.liquid]\nlength = "0.2 m"\nwidth = "0.4 m"\ndepth = "60 mm"\n'
            'freeboard = "30 mm"\n',
            "load.liquid.width is 400 mm, more than load.width of 300 mm;",
        ),
    ],
)
def test_a_bad_key_is_refused(tmp_path: Path, text: str, said: str) -> None:
    lines = refusal(tmp_path, text).splitlines()
    expected = said.splitlines()
    assert len(lines) == len(expected)
    for line, start in zip(lines, expected, strict=True):
        assert line.startswith(f"case.toml: {start}")


def test_a_long_value_is_cut(tmp_path: Path) -> None:
    message = refusal(tmp_path, f'{LOAD}held = "{"x" * 500}"\n{RATE}')
    assert len(message) < 200


def test_a_budget_is_in_the_money_of_the_catalogue() -> None:
    case = made(commercial={"budget": "60000 USD"})
    check_currency(case, "USD", "case.toml")
    with pytest.raises(InputError, match=r"^case\.toml: commercial\.budget must be in EUR"):
        check_currency(case, "EUR", "case.toml")


class TestAssumptions:
    def test_everything_is_assumed_of_the_smallest_case(self) -> None:
        lines = assumed(made())
        for key in (
            "load.length",
            "load.width",
            "load.reach",
            "load.offset",
            "load.cg_height",
            "load.held",
            "load.friction",
            "tooling.mass",
            "rate.per_carrier",
            "loop.plane",
            "loop.max_length",
            "loop.max_width",
            "loop.max_extent",
            "loop.restart",
            "station",
            "station.tolerance",
            "station.dwell_variation",
            "station.positions",
            "station.force",
            "limits.acceleration",
            "limits.jerk",
            "limits.speed",
            "life.hours",
            "life.reliability",
        ):
            assert key in lines

    def test_what_is_given_is_not_assumed(self) -> None:
        usual = assumed(made())
        for key, text in (
            ("load.length", "310 mm"),
            ("load.width", "310 mm"),
            ("load.reach", "0 mm"),
            ("load.offset", "0 mm"),
            ("load.cg_height", "150 mm"),
            ("load.held", "friction"),
            ("load.friction", 0.2),
            ("tooling.mass", "0 kg"),
            ("rate.per_carrier", [1]),
            ("loop.plane", "flat"),
            ("loop.max_length", "8 m"),
            ("loop.max_width", "2 m"),
            ("loop.max_extent", "3 m"),
            ("loop.restart", "staggered"),
            ("limits.acceleration", "3 m/s^2"),
            ("limits.jerk", "30 m/s^3"),
            ("limits.speed", "1 m/s"),
            ("life.hours", 20000),
            ("life.reliability", 90),
        ):
            table, name = key.split(".")
            data: dict[str, dict[str, object]] = {
                "load": {"mass": "30 kg"},
                "rate": {"items": "18/min"},
            }
            data.setdefault(table, {})[name] = text
            lines = assumed(make_case(data, "test"))
            assert set(lines) == set(usual) - {key}

    def test_values_can_be_read(self) -> None:
        lines = assumed(made())
        assert lines["load.length"] == "300 mm"
        assert lines["load.friction"] == "0.2"
        assert lines["loop.max_length"] == "not given"
        assert lines["station"] == "load 1.5 s, unload 1.5 s"
        assert lines["station.force"] == "0 N, 0 N, 0 N"

    def test_friction_matters_only_where_something_slides(self) -> None:
        assert "load.friction" not in assumed(made(load={"mass": "3 kg", "held": "clamped"}))

    def test_the_fixture_matters_only_where_there_is_one(self) -> None:
        assert "tooling.reach" not in assumed(made())
        assert assumed(made(tooling={"mass": "1 kg"})).keys() >= {
            "tooling.reach",
            "tooling.cg_height",
        }

    def test_the_liquid_is_as_wide_as_the_load(self) -> None:
        liquid = {"length": "0.2 m", "depth": "60 mm", "freeboard": "30 mm"}
        case = made(load={"mass": "3 kg", "width": "0.25 m", "liquid": liquid})
        assert "load.liquid.width" in assumed(case)
        assert case.liquid_width == 0.25

    def test_stations_that_differ_are_named(self) -> None:
        stations = [
            {"name": "load", "dwell": "1 s"},
            {"name": "press", "dwell": "1 s", "settling": "0.2 s", "force": ["0 N"] * 3},
        ]
        lines = assumed(made(station=stations))
        assert lines["station.load.tolerance"] == "0.2 mm"
        assert lines["station.load.force"] == "0 N, 0 N, 0 N"
        assert lines["station.dwell_variation"] == "0"
        assert not any(key.startswith("station.press.") for key in lines)

    def test_the_fixture_reaches_as_far_as_the_load(self) -> None:
        case = made(load={"mass": "3 kg", "reach": "0.2 m"}, tooling={"mass": "1 kg"})
        assert case.tooling_reach == 0.2


def test_items_on_a_carrier_count_once() -> None:
    case = made(rate={"items": "18/min", "per_carrier": [2, 1, 2]})
    assert case.rate.per_carrier == (1, 2)


def test_a_case_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="frozen"):
        made().load.mass = 3.0


def test_an_order_is_without_items_that_it_has() -> None:
    case = made(commercial={"without": ["covers", "frame"]})
    check_without(case, ["covers", "frame", "spares"], "case.toml")
    with pytest.raises(InputError, match=r"without may hold covers, spares \(read: 'frame'\)"):
        check_without(case, ["covers", "spares"], "case.toml")
