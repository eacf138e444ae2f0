"""Many cases from a folder or a table, each by itself: one that is wrong does not stop the rest."""

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from recommender.faults import InputError
from recommender.inputs.files import read_text, read_toml
from recommender.shown import json_text, shown, shown_path

MOST_CASES: Final = 100_000
_NAME: Final = "name"
_STATION: Final = "station"


@dataclass(frozen=True)
class Job:
    """A case as plain data, or why it cannot be read."""

    name: str
    data: Mapping[str, Any]
    fault: str = ""

    def digest(self, *about: str) -> str:
        """A mark of the case and of what else its answer depends on."""
        text = json_text([self.name, self.data, self.fault, *about])
        return sha256(text.encode("utf-8")).hexdigest()[:16]


def read_jobs(path: Path, base: Path | None = None) -> list[Job]:
    """The cases of a folder of case files, or of a csv file whose columns are keys of a case.

    Parameters
    ----------
    path : Path
        A folder, whose ``.toml`` files are taken by name, or a ``.csv`` file. Its first line holds
        keys such as ``load.mass`` or ``station.unload.dwell``, and ``name`` if cases have names;
        a cell that is empty leaves its key as it is.
    base : Path, optional
        A case file whose keys the lines of the table change.

    Raises
    ------
    InputError
        If there is nothing to read. What is wrong with one case is told as its own fault.
    """
    if path.is_dir():
        if base is not None:
            raise InputError(f"{shown_path(path)}: --base goes with a csv file, not with a folder")
        jobs = list(_from_folder(path))
    else:
        jobs = list(_from_table(path, read_toml(base) if base else {}))
    if not jobs:
        raise InputError(f"{shown_path(path)}: holds no case; give one or more")
    if len(jobs) > MOST_CASES:
        raise InputError(f"{shown_path(path)}: holds {len(jobs)} cases; {MOST_CASES} at most")
    return jobs


def _from_folder(folder: Path) -> Iterator[Job]:
    for file in sorted(folder.glob("*.toml")):
        if file.name.startswith("."):
            continue
        try:
            yield Job(file.stem, read_toml(file))
        except InputError as error:
            yield Job(file.stem, {}, str(error))


def _from_table(path: Path, base: Mapping[str, Any]) -> Iterator[Job]:
    where = shown_path(path)
    lines = list(csv.reader(read_text(path).splitlines()))
    keys = [cell.strip() for cell in lines[0]] if lines else []
    if not keys or "" in keys or len(set(keys)) < len(keys):
        raise InputError(
            f"{where}:1: the first line must hold keys of a case, each once, such as"
            f' load.mass,rate.items (read: "{shown(",".join(keys))}")'
        )
    for number, cells in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        row = dict(zip(keys, (cell.strip() for cell in cells), strict=False))
        name = row.pop(_NAME, "") or f"line {number}"
        try:
            if len(cells) > len(keys):
                raise InputError(f"{where}:{number}: has more cells than the first line has keys")
            yield Job(name, with_keys(base, row))
        except InputError as error:
            yield Job(name, {}, str(error))


def with_keys(base: Mapping[str, Any], row: Mapping[str, str]) -> dict[str, Any]:
    """Plain data of a case with some keys changed, which are text as a table holds it.

    Raises
    ------
    InputError
        If a key leads through what is no table.

    Examples
    --------
    >>> with_keys({"load": {"mass": "3 kg"}}, {"load.mass": "4 kg", "rate.per_carrier": "[1, 2]"})
    {'load': {'mass': '4 kg'}, 'rate': {'per_carrier': [1, 2]}}
    >>> with_keys({}, {"station.fill.dwell": "1 s", "station.fill.positions": "2"})
    {'station': [{'name': 'fill', 'dwell': '1 s', 'positions': 2}]}
    """
    data: dict[str, Any] = _copied(base)
    for key, text in row.items():
        if not text:
            continue
        head, _, rest = key.partition(".")
        if head == _STATION and rest:
            name, _, own = rest.rpartition(".")
            stations = data.setdefault(_STATION, [])
            table = next((one for one in stations if one.get("name") == name), None)
            if table is None:
                table = {"name": name}
                stations.append(table)
            table[own] = _value(text)
            continue
        *tables, last = key.split(".")
        inner = data
        for part in tables:
            inner = inner.setdefault(part, {})
            if not isinstance(inner, dict):
                raise InputError(f"{shown(key)}: {shown(part)} is no table")
        inner[last] = _value(text)
    return data


def _copied(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copied(entry) for key, entry in value.items()}
    return [_copied(entry) for entry in value] if isinstance(value, list) else value


def _value(text: str) -> Any:
    """A cell as TOML would have it: a number, true or false, a list; else text as it stands."""
    try:
        value = tomllib.loads(f"v = {text}")["v"] if len(text) < 1000 else text
    except (tomllib.TOMLDecodeError, RecursionError):
        return text
    return value if isinstance(value, bool | int | float | list | str) else text
