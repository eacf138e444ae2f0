"""How far each demand may move, in words."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from recommender.page.form import usual_stations
from recommender.results.answer import HeadroomResult
from recommender.views.numbers import raised

_OF_A_LIST: Final = re.compile(r'[\[\]"]')


def rooms(headroom: Sequence[HeadroomResult], data: Mapping[str, Any]) -> dict[str, str]:
    """How far each field may move, by its name."""
    numbers = {
        str(entry.get("name")): number
        for number, entry in enumerate(data.get("station") or usual_stations(), start=1)
    }
    found = {}
    for line in headroom:
        table, _, rest = line.key.partition(".")
        station, _, last = rest.rpartition(".")
        name = line.key
        if table == "station" and station in numbers:
            name = f"station[{numbers[station]}].{last}"
        found[name] = f"holds {reach_of(line)}"
    return found


def reach_of(line: HeadroomResult) -> str:
    """How far a demand may move, in words.

    Examples
    --------
    >>> reach_of(HeadroomResult("load.friction", "0.45", "0.432", None, None, factor=0.96))
    'down to 0.432'
    >>> reach_of(HeadroomResult("load.mass", "12 kg", "12 kg", None, None, factor=1.0))
    'no more'
    """
    if line.no_room:
        return "no more"
    if line.to is None:
        return "at ten times that and more"
    way = "" if line.factor is None else "up " if line.factor > 1.0 else "down "
    return f"{way}to {told_value(line.to)}"


def told_value(text: str) -> str:
    """A value of a case as one reads it, and not as a file has it.

    Examples
    --------
    >>> told_value('["30 N", "-60 N", "0 N"]'), told_value("2.5 m/s^2")
    ('30 N, -60 N, 0 N', '2.5 m/s²')
    """
    return raised(_OF_A_LIST.sub("", text))
