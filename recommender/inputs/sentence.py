"""An enquiry in a line, such as ``30 kg crate, 18/min, reach 200 mm``, read as far as it is sure.

Nothing is guessed: a quantity goes to a key by its dimension where only one key has it, else by a
word beside it; what cannot be placed is said. Quantities are read by the reader of quantities.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic_core import PydanticCustomError

from recommender.inputs.quantities import KINDS, Kind, parse

LONGEST_LINE: Final = 1000
_MOST_STATIONS: Final = 24
_MOST_UNIT_WORDS: Final = 3
_MOST_IN_NAME: Final = 6

# A comma or a full stop between digits belongs to a number.
_PHRASES: Final = re.compile(r"[;\n]|(?<![0-9]),|,(?![0-9])|\.(?=\s|$)|\b(?:and|with)\b")
_NUMBER: Final = re.compile(r"(?<![\w.,])[+-]?[0-9]+(?:\.[0-9]+)?(?![0-9,.])")
_COMMA: Final = re.compile(r"[0-9],[0-9]")
_SIZES: Final = re.compile(
    r"(?P<first>[0-9]+(?:\.[0-9]+)?)\s*(?P<own>[^\W\d_]*)\s*[x×]\s*"
    r"(?P<second>[0-9]+(?:\.[0-9]+)?)\s*(?P<unit>[^\W\d_]+)"
)
_PER_CARRIER: Final = re.compile(
    r"(?P<counts>[0-9](?:\s*(?:or|/)\s*[0-9]){0,8})\s+(?:items\s+)?per\s+carrier"
)
_STATIONS: Final = re.compile(r"(?P<count>[0-9]{1,3})\s+stations?")
_HOURS: Final = re.compile(r"(?P<hours>[0-9]{2,7})\s*(?:h|hours)(?:\s+(?:of\s+)?life)?")
_BUDGET: Final = re.compile(
    r"(?:budget\s+)?(?P<amount>[0-9]{3,12}(?:\.[0-9]{2})?)\s*(?P<money>[A-Z]{3})\b"
)
_FRICTION: Final = re.compile(r"friction\s+(?P<value>0?\.[0-9]+|1(?:\.[0-9]+)?)")
_WORD: Final = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")

_FIXTURE: Final = frozenset({"fixture", "tooling", "plate", "jig"})
_CLAMP: Final = frozenset({"clamp", "clamps", "clamped", "clamping"})
_LOOP: Final = frozenset({"loop", "guide", "floor", "track"})
_LENGTHS: Final = {
    "reach": "load.reach",
    "overhang": "load.reach",
    "long": "load.length",
    "length": "load.length",
    "wide": "load.width",
    "width": "load.width",
    "cg": "load.cg_height",
    "offset": "load.offset",
    "pocket": "load.pocket",
}
_OF_FIXTURE: Final = {"load.reach": "tooling.reach", "load.cg_height": "tooling.cg_height"}
_OF_LOOP: Final = {"load.length": "loop.max_length", "load.width": "loop.max_width"}
_WORDS: Final = {
    "nested": ("load.held", "nested"),
    "clamped": ("load.held", "clamped"),
    "upright": ("loop.plane", "upright"),
    "flat": ("loop.plane", "flat"),
}
_FILLERS: Final = frozenset(
    {"a", "an", "the", "of", "at", "with", "on", "and", "each", "is", "are", "it", "its", "per"}
    | {"item", "items", "load", "loads", "max", "maximum", "most", "up", "to", "about", "our"}
    | {"rate", "mass", "weight", "weighs", "delivery", "within", "ambient", "speed", "dwell"}
    | {"acceleration", "centre", "gravity", "held", "by", "x"}
)
_CENTRE: Final = re.compile(r"cent(?:re|er) of (?:gravity|mass)")


@dataclass
class Sentence:
    """What was read: the case as a file would have it, each key with its text, and the rest."""

    data: dict[str, Any] = field(default_factory=dict)
    read: list[tuple[str, str]] = field(default_factory=list)
    unread: list[tuple[str, str]] = field(default_factory=list)

    def put(self, key: str, value: Any, text: str) -> None:
        """Take a value, or say that there was one already."""
        table, _, name = key.partition(".")
        tables = self.data.setdefault(table, {}) if name else self.data
        if (name or table) in tables:
            self.unread.append((text, f"{key} was given before it"))
            return
        tables[name or table] = value
        self.read.append((key, text))


def read_sentence(text: str) -> Sentence:
    """What can be read from an enquiry in a line.

    Examples
    --------
    >>> found = read_sentence("30 kg crate, 18/min, reach 200 mm, blue")
    >>> found.data["load"], found.data["rate"], found.data["title"]
    ({'mass': '30 kg', 'reach': '200 mm'}, {'items': '18/min'}, 'Crate')
    >>> found.unread
    [('blue', 'not understood')]
    """
    found, stations, dwell = Sentence(), 0, ""
    for phrase in _PHRASES.split(text[:LONGEST_LINE]):
        rest = _CENTRE.sub("cg", " ".join(phrase.split()))
        if not rest:
            continue
        for pattern, take in _TAKEN.items():
            match = pattern.search(rest)
            if match:
                take(found, match)
                rest = f"{rest[: match.start()]} {rest[match.end() :]}".strip()
        if match := _STATIONS.search(rest):
            stations = int(match["count"])
            rest = f"{rest[: match.start()]} {rest[match.end() :]}".strip()
        rest, at_stations = _quantities(found, rest)
        dwell = dwell or at_stations
        _words(found, rest)
    _stations(found, stations, dwell)
    if len(text) > LONGEST_LINE:
        found.unread.append((text[LONGEST_LINE:], f"beyond {LONGEST_LINE} characters"))
    return found


def _sizes(found: Sentence, match: re.Match[str]) -> None:
    first = f"{match['first']} {match['own'] or match['unit']}"
    second = f"{match['second']} {match['unit']}"
    if _of(first, "length") and _of(second, "length"):
        found.put("load.length", first, first)
        found.put("load.width", second, second)
    else:
        found.unread.append((match[0], _UNKNOWN))


def _per_carrier(found: Sentence, match: re.Match[str]) -> None:
    counts = [int(count) for count in re.findall("[0-9]", match["counts"])]
    found.put("rate.per_carrier", counts, match[0])


def _hours(found: Sentence, match: re.Match[str]) -> None:
    found.put("life.hours", int(match["hours"]), match[0])


def _budget(found: Sentence, match: re.Match[str]) -> None:
    budget = f"{match['amount']} {match['money']}"
    found.put("commercial.budget", budget, budget)


def _friction(found: Sentence, match: re.Match[str]) -> None:
    found.put("load.friction", float(match["value"]), match[0])


_TAKEN: Final = {
    _SIZES: _sizes,
    _PER_CARRIER: _per_carrier,
    _BUDGET: _budget,
    _HOURS: _hours,
    _FRICTION: _friction,
}


def _of(text: str, kind: str) -> bool:
    """Whether a text is a quantity of a kind."""
    try:
        parse(text, KINDS[kind])
    except PydanticCustomError:
        return False
    return True


_ONE_KEY: Final = {
    "rate": "rate.items",
    "acceleration": "limits.acceleration",
    "speed": "limits.speed",
    "temperature": "site.ambient",
    "lead time": "commercial.latest_delivery",
    "jerk": "limits.jerk",
}
"""Quantities of which a case has but one that people give in a line."""

_TRIED: Final = (
    "mass",
    "rate",
    "length",
    *(k for k in _ONE_KEY if k != "rate"),
    "force",
    "duration",
)


def _quantities(found: Sentence, phrase: str) -> tuple[str, str]:
    """Take the quantities of a phrase; gives what is left of it, and a dwell if there was one."""
    dwell = ""
    numbers = list(_numbers(phrase))
    rest = phrase
    for number, unit, _ in numbers:
        rest = re.sub(rf"{re.escape(number)}\s*{re.escape(unit)}", " ", rest, count=1)
    words = [word.lower() for word in _WORD.findall(rest)]
    used: set[str] = set()
    for number, unit, kind in numbers:
        text = f"{number}{unit}" if unit.startswith("/") else f"{number} {unit}"
        if kind.name == "duration" and "dwell" in words and not dwell:
            dwell = text
            continue
        key, by = _key_of(kind, words)
        if key:
            found.put(key, text, text)
            used |= by
        else:
            used |= set(words)
            found.unread.append((" ".join([text, *words]), _WHICH.get(kind.name, _UNKNOWN)))
    return " ".join(w for w in rest.split() if w.lower().strip("().:") not in used), dwell


_UNKNOWN: Final = "not understood"
_COMMA_REMEDY: Final = "a number has a comma; write it with a point"
_WHICH: Final = {
    "length": "which length is it? Say reach, long, wide or centre of gravity beside it",
    "duration": "which time is it? Say dwell beside it",
    "force": "which force is it? Say clamp beside it",
}


def _numbers(phrase: str) -> Iterator[tuple[str, str, Kind]]:
    """Numbers with as many of the words behind them as make a unit, and its kind."""
    for match in _NUMBER.finditer(phrase):
        behind = phrase[match.end() :]
        begin = re.match(r"\s*\S+", behind)
        if begin is None:
            continue
        words = behind.split()
        glued = not behind[:1].isspace()
        for count in range(min(_MOST_UNIT_WORDS, len(words)), 0, -1):
            unit = " ".join(words[:count]).rstrip(",.)")
            kind = _kind(f"{match[0]}{'' if glued and unit.startswith('/') else ' '}{unit}")
            if kind is not None:
                yield match[0], unit, kind
                break


def _kind(text: str) -> Kind | None:
    return next((KINDS[name] for name in _TRIED if _of(text, name)), None)


def _key_of(kind: Kind, words: list[str]) -> tuple[str, set[str]]:
    """The key of a quantity by its kind and the words beside it, and which of them said so."""
    fixture, loop = set(words) & _FIXTURE, set(words) & _LOOP
    if kind.name == "mass":
        return ("tooling.mass", fixture) if fixture else ("load.mass", set())
    if kind.name == "force":
        clamp = set(words) & _CLAMP
        return ("load.clamping_force", clamp - {"clamped"}) if clamp else ("", set())
    if kind.name != "length":
        return _ONE_KEY.get(kind.name, ""), set()
    said = next((word for word in words if word in _LENGTHS), None)
    if said is None:
        return "", set()
    key = _LENGTHS[said]
    if fixture:
        # Behind the length it may be another thing that is spoken of.
        before = min(map(words.index, fixture)) < words.index(said)
        key = _OF_FIXTURE.get(key, "") if before else ""
    if loop:
        key = _OF_LOOP.get(key, "")
    return key, {said} | fixture | loop


def _words(found: Sentence, phrase: str) -> None:
    """What is left of a phrase: how the load is held, what it is called, or what is not known."""
    left = []
    for word in (word.strip("().:") for word in phrase.split()):
        if word.lower() in _WORDS:
            key, value = _WORDS[word.lower()]
            found.put(key, value, word)
        elif word:
            left.append(word)
    while left and left[0].lower() in _FILLERS:
        del left[0]
    while left and left[-1].lower() in _FILLERS:
        del left[-1]
    if not left:
        return
    name = " ".join(left)
    beside = found.read and found.read[-1][0] == "load.mass" and "title" not in found.data
    if beside and all(map(_WORD.fullmatch, left)) and len(left) <= _MOST_IN_NAME:
        found.data["title"] = name[:1].upper() + name[1:]
        found.read.append(("title", name))
    else:
        found.unread.append((name, _COMMA_REMEDY if _COMMA.search(name) else _UNKNOWN))


def _stations(found: Sentence, count: int, dwell: str) -> None:
    """Stations by their number, or the usual two, with one dwell for all."""
    if not dwell:
        if count:
            found.unread.append((f"{count} stations", "say the dwell as well, such as dwell 1.2 s"))
        return
    if count > _MOST_STATIONS:
        found.unread.append((f"{count} stations", f"{_MOST_STATIONS} at most"))
        return
    names = [f"station {n + 1}" for n in range(count)] if count else ["load", "unload"]
    found.data["station"] = [{"name": name, "dwell": dwell} for name in names]
    found.read.append(("station", f"{', '.join(names)}, each {dwell}"))
