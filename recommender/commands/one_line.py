"""A question that is asked in one line: flags in place of a case file."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.commands.common import read_case_of
from recommender.faults import InputError
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.inputs.case import Case

FLAGS = {
    "load.mass": "--mass",
    "load.reach": "--reach",
    "load.cg_height": "--cg-height",
    "load.held": "--held",
    "rate.items": "--rate",
    "rate.per_carrier": "--per-carrier",
    "station": "--stations",
    "station.dwell": "--dwell",
    "life.hours": "--hours",
    "loop.max_length": "--max-length",
}
USUAL_STATIONS = "load, unload"
_MOST_STATIONS = 24


def refuse_flags(case: Path, given: dict[str, str]) -> None:
    """Refuse to ask more of a file than it says itself."""
    if given:
        flags = ", ".join(FLAGS[key] for key in given)
        raise InputError(
            f"{shown_path(case)}: a case file goes without {flags}; change the file instead"
        )


def asked_case(case: Path | None, given: dict[str, str]) -> "Case":
    """The case from a file, or from what was said on the command line."""
    from recommender.inputs.case import make_case

    if case is not None:
        refuse_flags(case, given)
        return read_case_of(case)
    if not {"load.mass", "rate.items"} <= given.keys():
        raise InputError('name a case file, or give at least --mass "30 kg" and --rate "18/min"')
    data: dict[str, Any] = {"title": "Question on the command line"}
    if stations := _stations(given.pop("station", None), given.pop("station.dwell", None)):
        data["station"] = stations
    for key, text in given.items():
        table, name = key.split(".")
        data.setdefault(table, {})[name] = _READ.get(key, str)(text)
    try:
        return make_case(data, "command line")
    except InputError as error:
        message = re.sub(r"command line: station\[\d+\]", "command line: station", str(error))
        message = message.replace("command line: station.name ", "--stations: a name ")
        for key, flag in FLAGS.items():
            message = re.sub(rf"command line: {key}(\[\d+\])? ", f"{flag} ", message)
        raise InputError("\n".join(dict.fromkeys(message.splitlines()))) from None


def _stations(names: str | None, dwell: str | None) -> list[dict[str, str]]:
    """Stations from their names, or how many there are, and their dwells."""
    if names is None and dwell is None:
        return []
    if dwell is None:
        raise InputError('--stations goes with --dwell, such as --dwell "1.5 s"')
    listed = [name.strip() for name in (names or USUAL_STATIONS).split(",")]
    if len(listed) == 1 and listed[0].isdecimal():
        count = int(listed[0])
        listed = [f"station {number + 1}" for number in range(count)]
        if not 1 <= count <= _MOST_STATIONS:
            raise InputError(f"--stations must be 1 to {_MOST_STATIONS} (read: {count})")
    # A comma between digits belongs to a number, whose refusal says so.
    dwells = [text.strip() for text in re.split(r",(?!\d)", dwell)]
    dwells = dwells * len(listed) if len(dwells) == 1 else dwells
    if len(dwells) != len(listed):
        raise InputError(
            f"--dwell has {len(dwells)} entries for {len(listed)} stations; give one for all, or"
            " one for each"
        )
    return [{"name": name, "dwell": text} for name, text in zip(listed, dwells, strict=True)]


def _whole_numbers(text: str) -> list[Any]:
    entries = [entry.strip() for entry in text.split(",")]
    return [int(entry) if entry.isdecimal() else entry for entry in entries]


def _plain_number(text: str) -> Any:
    try:
        return float(text)
    except ValueError:
        return text


_READ: dict[str, Callable[[str], Any]] = {
    "rate.per_carrier": _whole_numbers,
    "life.hours": _plain_number,
}
