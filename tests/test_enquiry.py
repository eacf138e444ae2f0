"""An enquiry as people put it: read, echoed, and refused with what would do."""

from pathlib import Path

import pytest

from recommender.inputs.files import shipped
from tests.commands import call

CASES = shipped("cases")
CRATE = str(CASES / "crate.toml")
ONE_LINE = ("answer", "--mass", "30 kg", "--rate", "18/min", "--brief")


def written(folder: Path, text: str) -> str:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


class TestFile:
    def test_is_echoed_as_written_and_in_si(self, tmp_path: Path) -> None:
        path = written(
            tmp_path,
            'load.mass = "66 lb"\nload.reach = "8 in"\nrate.items = "900 items/h"\n'
            'rate.per_carrier = [1, 2]\nloop.max_length = "20 ft"\n'
            '[[station]]\nname = "press"\ndwell = "1200 ms"\nforce = ["0 N", "0 N", "-30 lbf"]\n',
        )
        ended, data = call("case", "check", path), call("case", "check", path, "--json").data
        assert (ended.status, ended.err) == (0, "")
        si = {line["key"]: (line["written"], line["si"]) for line in data["understood"]}
        # 66 lb of 0.45359237 kg, 8 in of 25.4 mm, 900/3600 s, 20 ft of 0.3048 m, 30 lbf of
        # 4.4482216 N (NIST Special Publication 811, appendix B.8).
        assert si == {
            "load.mass": ('"66 lb"', "29.9371 kg"),
            "load.reach": ('"8 in"', "0.2032 m"),
            "rate.items": ('"900 items/h"', "0.25 1/s"),
            "rate.per_carrier": ("[1, 2]", "1, 2"),
            "loop.max_length": ('"20 ft"', "6.096 m"),
            "station.press.name": ('"press"', "press"),
            "station.press.dwell": ('"1200 ms"', "1.2 s"),
            "station.press.force": ('["0 N", "0 N", "-30 lbf"]', "0 N, 0 N, -133.447 N"),
        }
        assert '"66 lb"' in ended.out and "29.9371 kg" in ended.out

    def test_that_no_option_can_meet_is_refused_before_any_search(self, tmp_path: Path) -> None:
        path = written(
            tmp_path,
            'load.mass = "3 kg"\nrate.items = "20/min"\n'
            '[[station]]\nname = "oven"\ndwell = "9 s"\n[[station]]\nname = "out"\ndwell = "1 s"\n',
        )
        ended, data = call("case", "check", path), call("case", "check", path, "--json")
        assert (ended.status, data.status) == (3, 3)
        assert ended.err == (
            f"recommender: {path}: station.oven.dwell: each carrier is there for 9.05 s with"
            " settling, and at 20/min with 5 % of reserve it must be free again after 2.857 s;"
            " 4 places or more at once (positions), a shorter dwell or a lower rate would be"
            " needed\n"
        )
        assert len(data.data["faults"]) == 1
        assert "no option can meet" in " ".join(ended.out.split())

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ('load.weight = "3 kg"\n', "load.weight is not known here; the nearest known key is"),
            ('load.mass = "7,5 kg"\n', "load.mass has a comma; write 7.5, with a point"),
            (
                'load.mass = "3 kg"\n[[station]]\nname = "a"\ndwell = "1 s"\nforce = "150 N"\n',
                'station[1].force must be a list (read: "150 N"); a force on the load has three'
                " components: along the travel, outward, upward, so that",
            ),
        ],
    )
    def test_is_refused_with_what_would_do(self, tmp_path: Path, text: str, said: str) -> None:
        ended = call("case", "check", written(tmp_path, f'rate.items = "9/min"\n{text}'))
        assert (ended.status, ended.out) == (2, "")
        assert said in ended.err

    def test_weight_is_answered_with_mass(self, tmp_path: Path) -> None:
        path = written(tmp_path, 'load.weight = "3 kg"\nrate.items = "9/min"\n')
        assert "the nearest known key is mass\n" in call("answer", path).err


class TestOneLine:
    @pytest.mark.parametrize("mass", ["66.138679 lb", "30000 g", "0.03 t", "4.7242 stone"])
    def test_takes_a_mass_in_any_unit(self, mass: str) -> None:
        """A pound is 0.45359237 kg (agreement of 1959), a stone 14 of them."""
        words = (*ONE_LINE[:2], mass, *ONE_LINE[3:], "--json")
        assert call(*words).data["case"]["load"]["mass"] == pytest.approx(30.0, rel=1e-5)

    def test_takes_stations_dwells_hours_height_and_items(self) -> None:
        ended = call(
            *ONE_LINE,
            *("--stations", "load, fill, unload", "--dwell", "1.2 s, 1500 ms, 0.8 s"),
            *("--hours", "12000", "--cg-height", "5 in", "--per-carrier", "1, 2", "--json"),
        )
        assert (ended.status, ended.err) == (0, "")
        case = ended.data["case"]
        stations = [(station["name"], station["dwell"]) for station in case["station"]]
        assert stations == [("load", 1.2), ("fill", 1.5), ("unload", 0.8)]
        assert case["life"]["hours"] == 12000.0
        assert case["load"]["cg_height"] == pytest.approx(0.127)
        assert case["rate"]["per_carrier"] == [1, 2]

    def test_takes_a_number_of_stations_and_one_dwell(self) -> None:
        case = call(*ONE_LINE, "--stations", "3", "--dwell", "800 ms", "--json").data["case"]
        assert [station["dwell"] for station in case["station"]] == [0.8] * 3
        case = call(*ONE_LINE, "--dwell", "800 ms", "--json").data["case"]
        assert [station["name"] for station in case["station"]] == ["load", "unload"]

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (("--stations", "a, b"), '--stations goes with --dwell, such as --dwell "1.5 s"'),
            (("--stations", "0", "--dwell", "1 s"), "--stations must be 1 to 24 (read: 0)"),
            (("--stations", "a, a", "--dwell", "1 s"), "--stations: a name is 'a' like that of"),
            (("--stations", "a,,b", "--dwell", "1 s"), "--stations: a name must not be empty"),
            (("--dwell", "1 s, 2 s, 3 s"), "--dwell has 3 entries for 2 stations"),
            (("--dwell", "1,5 s"), "--dwell has a comma; write 1.5, with a point"),
            (("--dwell", "2"), "--dwell has no unit; write a duration as text with a unit"),
            (("--hours", "2 years"), '--hours must be a number (read: "2 years")'),
            (("--hours", "0"), "--hours must be at least 1 (read: 0.0)"),
            (("--cg-height", "-1 mm"), '--cg-height must be at least 0 (read: "-1 mm")'),
            (("--per-carrier", "0"), "--per-carrier must be at least 1 (read: 0)"),
            (("--per-carrier", "two"), '--per-carrier must be a whole number (read: "two")'),
        ],
    )
    def test_refuses_by_the_name_of_the_flag(self, words: tuple[str, ...], said: str) -> None:
        ended = call(*ONE_LINE, *words)
        assert (ended.status, ended.out) == (2, "")
        assert ended.err.startswith(f"recommender: {said}")
        assert "Traceback" not in ended.err


class TestOptionIds:
    @pytest.mark.parametrize(
        "words",
        [
            ("why", CRATE, "bs-180_arc-280"),
            ("compare", CRATE, "bs-180_arc-280_x1", "bs-180_arc-280"),
            ("parts", CRATE, "--option", "bs-180_arc-280"),
        ],
        ids=lambda words: words[0],
    )
    def test_are_refused_before_anything_is_searched_for(
        self, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
    ) -> None:
        def search(*_: object, **__: object) -> None:
            raise AssertionError("searched")

        monkeypatch.setattr("recommender.recommend.decide", search)
        ended = call(*words)
        assert (ended.status, ended.out) == (2, "")
        assert ended.err.startswith("recommender: there is no option 'bs-180_arc-280'; the nearest")
        assert "bs-180_arc-280_x1" in ended.err


class TestAnswer:
    def test_prints_the_rate_with_its_reserve_and_the_lap(self) -> None:
        ended = call("answer", CRATE, "--brief")
        flat = " ".join(ended.out.split())
        assert "18.0 items/min asked, 18.9 with 5 % of reserve;" in flat
        data = call("answer", CRATE, "--brief", "--json").data
        option = next(each for each in data["options"] if each["id"] == data["recommended"])
        assert f"{option['lap_s']:.2f} s = {option['carriers']} x {option['takt_s']:.3f} s" in flat
        assert data["rate"] == {
            "items_per_min": pytest.approx(18.0),
            "reserve": 0.05,
            "with_reserve_per_min": pytest.approx(18.9),
        }
        assert option["rate_per_min"] >= 18.9 * (1 - 1e-9)
