"""What moved between two answers, against the answers themselves."""

import io
import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from recommender.changes import changes_between
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import read_toml, shipped
from recommender.recommend import recommend
from recommender.results.answer import Answer, CatalogueMark, Verdict, as_json
from recommender.results.changes import Changes, InputChange
from recommender.views.changed import show_changes
from tests.commands import call

CRATE = shipped("cases") / "crate.toml"


@pytest.fixture(scope="module")
def old(worked_case: Callable[[str], Any]) -> Answer:
    found: Answer = worked_case("crate").answer
    return found


@pytest.fixture(scope="module")
def new(catalogue: Catalogue) -> Answer:
    """The crate, heavier and more of them, with a shorter dwell."""
    data = read_toml(CRATE)
    data["load"]["mass"], data["rate"]["items"] = "36 kg", "20/min"
    data["station"][1]["dwell"] = "1.4 s"
    return recommend(make_case(data, "x"), catalogue, in_brief=True)


@pytest.fixture(scope="module")
def changes(old: Answer, new: Answer) -> Changes:
    return changes_between(old, new)


def printed(changes: Changes) -> str:
    out = io.StringIO()
    show_changes(Console(file=out, width=100, highlight=False), changes)
    return out.getvalue()


def with_case(answer: Answer, **tables: Any) -> Answer:
    data = read_toml(CRATE)
    data.update(tables)
    return replace(answer, case=make_case(data, "x").model_dump(mode="json"))


class TestChanges:
    def test_between_an_answer_and_itself_there_are_none(self, old: Answer) -> None:
        none = changes_between(old, old)
        assert none.nothing
        assert printed(none).startswith("Crate transfer at end of line: nothing changed, bs-228")

    def test_of_inputs_are_those_that_were_made(self, changes: Changes) -> None:
        assert changes.inputs == (
            InputChange("load.mass", "30 kg", "36 kg"),
            InputChange("rate.items", "18/min", "20/min"),
            InputChange("station.unload.dwell", "1.5 s", "1.4 s"),
        )

    def test_of_prices_add_up(self, old: Answer, new: Answer, changes: Changes) -> None:
        assert old.choice and new.choice and old.choice.price and new.choice.price
        assert changes.difference == new.choice.price - old.choice.price
        assert sum(entry.difference or 0 for entry in changes.items) == changes.difference
        told = {entry.item for entry in changes.items}
        for item in {part.item for part in (*old.parts, *new.parts)}:
            sums = [
                sum((p.price for p in answer.parts if p.item == item), start=Decimal(0))
                for answer in (old, new)
            ]
            assert (sums[0] != sums[1]) == (item in told)

    def test_of_verdicts_are_all_and_say_why(
        self, old: Answer, new: Answer, changes: Changes
    ) -> None:
        flipped = {
            option.id
            for option in old.options
            if (other := new.option(option.id)) is None or other.verdict is not option.verdict
        }
        assert {entry.option for entry in changes.verdicts} == flipped != set()
        for entry in changes.verdicts:
            other = new.option(entry.option)
            assert other is not None
            if other.verdict is Verdict.REJECTED:
                assert (entry.why, entry.new) == (other.reason, "does not work")

    def test_backward_say_what_spoke_against_an_option_before(
        self, old: Answer, new: Answer
    ) -> None:
        back = changes_between(new, old)
        works = [entry for entry in back.verdicts if entry.old == "does not work"]
        assert works
        for entry in works:
            before = new.option(entry.option)
            assert before is not None
            assert entry.why == f"Before: {before.reason}"

    def test_that_rounding_would_hide_are_shown(self, old: Answer) -> None:
        load = read_toml(CRATE)["load"] | {"mass": "30.0000001 kg"}
        (entry,) = changes_between(old, with_case(old, load=load)).inputs
        assert (entry.old, entry.new) == ("30.0 kg", "30.0000001 kg")

    def test_of_stations_are_told_once(self, old: Answer) -> None:
        station = [{"name": n, "dwell": "1.2 s"} for n in ("load", "press", "unload")]
        found = changes_between(old, with_case(old, station=station)).inputs
        assert found[0] == InputChange("station", "load, unload", "load, press, unload")
        assert not any(entry.key.startswith("station.press") for entry in found)
        assert {entry.key for entry in found[1:]} == {
            "station.unload.dwell",
            "station.unload.after",
        }

    def test_of_tables_that_come_and_go(self, old: Answer) -> None:
        load = read_toml(CRATE)["load"] | {
            "liquid": {"length": "200 mm", "depth": "50 mm", "freeboard": "30 mm"}
        }
        found = changes_between(old, with_case(old, load=load)).inputs
        assert InputChange("load.liquid.depth", "not given", "50 mm") in found
        assert all(entry.old == "not given" for entry in found)

    def test_in_another_money_have_no_difference(self, old: Answer) -> None:
        options = tuple(replace(option, currency="USD") for option in old.options)
        found = changes_between(old, replace(old, options=options))
        assert found.difference is None
        assert all(entry.difference is None for entry in found.items)
        assert "more" not in printed(found).splitlines()[0]

    def test_of_catalogue_and_version_are_told(self, old: Answer) -> None:
        later = replace(old, catalogue=CatalogueMark("other-2", "ab"), program="9.9")
        text = printed(changes_between(old, later))
        assert "What answered" in text
        assert "other-2, ab" in text
        assert "9.9" in text

    def test_where_nothing_works_any_more(self, old: Answer) -> None:
        options = tuple(replace(option, verdict=Verdict.REJECTED) for option in old.options)
        none = replace(old, status="none", recommended=None, proof=None, parts=(), options=options)
        text = printed(changes_between(old, none))
        assert "no option that works in place of bs-228_arc-280_x1" in " ".join(text.split())
        assert "Before: recommended; now: does not work." in " ".join(text.split())


class TestCommand:
    @pytest.fixture
    def files(self, tmp_path: Path, old: Answer, new: Answer) -> tuple[str, str]:
        names = tmp_path / "old.json", tmp_path / "new.json"
        for path, answer in zip(names, (old, new), strict=True):
            path.write_text(as_json(answer), encoding="utf-8")
        return str(names[0]), str(names[1])

    def test_prints_what_moved(self, files: tuple[str, str], changes: Changes) -> None:
        status, out, err = call("changed", *files)
        assert (status, err) == (0, "")
        assert all(len(line) <= 80 for line in out.splitlines())
        for title in ("What is asked", "The choice", "Price by item", "judged otherwise"):
            assert title in out
        data = json.loads(call("changed", *files, "--json")[1])
        assert data["schema"] == "recommender.changed/1"
        assert data["difference"] == f"{changes.difference:.2f}"
        assert len(data["verdicts"]) == len(changes.verdicts)

    def test_refuses_what_is_not_there_or_of_no_use(self, files: tuple[str, str]) -> None:
        assert call("changed", files[0], "none.json")[0] == 2
        status, out, err = call("changed", *files, "--catalogue", "x")
        assert (status, out) == (2, "")
        assert "two saved answers go without --catalogue, --prices and --time-limit" in err
        assert call("changed", files[0])[0] == 2
