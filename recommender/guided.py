"""The questions that an application engineer asks, one after the other, for a case file.

Nothing here reads a terminal: who asks hands in how. What was answered so far is the case file
itself, so that one can leave at any point and go on later.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any, Final

from recommender.filling.questions import asked_of_customer, text_of
from recommender.inputs.case import Case, make_case
from recommender.inputs.errors import InputError
from recommender.inputs.given import put
from recommender.inputs.quantities import kind_of
from recommender.inputs.si_case import table_of
from recommender.results.assumption import AssumptionLine

ORDER: Final = (
    "title",
    "load.mass",
    "load.length",
    "load.width",
    "load.reach",
    "load.cg_height",
    "load.held",
    "load.friction",
    "load.pocket",
    "load.clamping_force",
    "load.liquid",
    "tooling.mass",
    "tooling.reach",
    "tooling.cg_height",
    "rate.items",
    "rate.per_carrier",
    "station",
    "loop.plane",
    "loop.max_length",
    "loop.max_width",
    "loop.max_height",
    "loop.max_extent",
    "limits.acceleration",
    "limits.speed",
    "site.ambient",
    "life.hours",
    "commercial.budget",
    "commercial.latest_delivery",
)
"""What is asked about, in this order; behind the stations the dwell of each."""

NEEDED: Final = ("load.mass", "rate.items")
LIQUID: Final = ("length", "depth", "freeboard")
_DWELL: Final = ".dwell"
_STAND_IN: Final = {"load": {"mass": "1 kg"}, "rate": {"items": "1/min"}}

# What is asked although no case assumes anything for it: question, what would do, and why.
_OWN: Final = {
    "title": ("What is the enquiry called?", "a title, such as Crate transfer", "for headings"),
    "load.mass": ("How heavy is one item?", "a mass, such as 30 kg", "needed for everything"),
    "load.liquid": (
        "Is the load an open tray of liquid? If so: length, depth and freeboard of the liquid.",
        "three lengths, such as 380 mm, 60 mm, 45 mm",
        "a wave must stay below the rim; the freeboard is from the calm surface up to it",
    ),
    "rate.items": ("How many items a minute?", "a rate, such as 18/min", "needed for everything"),
    "commercial.budget": (
        "What may it cost at most?",
        "an amount, such as 60000 EUR",
        "options that cost more are then refused",
    ),
    "commercial.latest_delivery": (
        "By when must the loop run?",
        "weeks from the order, such as 14 weeks",
        "parts that take longer are then refused",
    ),
}
_OPEN: Final = {
    "title": "Untitled enquiry",
    "load.liquid": "no liquid",
    "commercial.budget": "no limit",
    "commercial.latest_delivery": "no limit",
}
_STATIONS: Final = "Which stations are there, in the order of the travel?"
_WOULD_DO: Final = {
    "load.held": "friction, nested or clamped",
    "load.friction": "a coefficient, such as 0.3",
    "loop.plane": "flat or upright",
    "rate.per_carrier": "numbers, such as 1, 2",
    "station": "names along the travel, such as load, press, unload",
    "life.hours": "hours, such as 20000",
}


@dataclass(frozen=True)
class Question:
    """One question: what is asked, what would do, what is taken if it is left open, and why."""

    key: str
    text: str
    would_do: str
    taken: str
    why: str
    needed: bool


def words() -> Mapping[str, str]:
    """What each key means, for the comments of a case file."""
    found = {key: text for key, (text, _, _) in _OWN.items() if key != "load.liquid"}
    return {**{key: text_of(key) for key in _keys_with_words()}, **found}


def _keys_with_words() -> Iterator[str]:
    for key in ORDER:
        if key not in _OWN and key != "station":
            yield key
    yield from ("limits.jerk", "life.reliability", "life.years", "load.offset", "loop.restart")


def questions(data: Mapping[str, Any]) -> Iterator[Question]:
    """What there is to ask, for what is known so far, in order; also what has been answered."""
    lines = {line.key: line for line in asked_of_customer(make_case(_whole(data), "x"))}
    open_ = {key: lines.get(key) for key in ORDER}
    for key in ORDER:
        if key in _OWN:
            text, would_do, why = _OWN[key]
            yield Question(key, text, would_do, _OPEN.get(key, ""), why, key in NEEDED)
        elif key == "station":
            yield _asked(key, open_[key])
            yield from map(_dwell, data.get("station", ()))
        elif open_[key] is not None or _given(data, key):
            yield _asked(key, open_[key])


def _asked(key: str, line: AssumptionLine | None) -> Question:
    text = line.question if line else text_of(key)
    return Question(
        key=key,
        text=_STATIONS if key == "station" else text,
        would_do=_WOULD_DO.get(key) or _quantity(key),
        taken=line.value if line else "",
        why=line.why if line else "",
        needed=False,
    )


def _quantity(key: str) -> str:
    """What would do for a quantity: its kind, with an example."""
    table, _, name = key.partition(".")
    inner = table_of(Case.model_fields[table])
    kind = kind_of(inner.model_fields[name]) if inner else None
    return f"{kind.with_article}, such as {kind.example}" if kind else "as a case file has it"


def _dwell(entry: Mapping[str, Any]) -> Question:
    name = str(entry["name"])
    text = f"How long is the dwell at {name}?"
    why = "standstill for the work alone; settling comes on top"
    return Question(f"station.{name}{_DWELL}", text, "a time, such as 1.5 s", "", why, True)


def _whole(data: Mapping[str, Any]) -> dict[str, Any]:
    """The case with stand-ins for what it still lacks, so that its reader can judge the rest."""
    whole = deepcopy(dict(data))
    for table, keys in _STAND_IN.items():
        whole[table] = {**keys, **whole.get(table, {})}
    if "station" in whole:
        whole["station"] = [{"dwell": "1 s", **entry} for entry in whole["station"]]
    return whole


def _given(data: Mapping[str, Any], key: str) -> bool:
    """Whether a case says something of a key."""
    at: Any = data
    for step in key.split("."):
        if not isinstance(at, Mapping) or step not in at:
            return False
        at = at[step]
    return True


def answered(data: Mapping[str, Any], key: str, text: str) -> dict[str, Any]:
    """The case with one question answered.

    Raises
    ------
    InputError
        In the words of the reader of cases, if the answer is none.
    """
    changed = deepcopy(dict(data))
    if key == "station":
        names = [name.strip() for name in text.split(",")]
        known = {entry["name"]: entry for entry in changed.get("station", ())}
        changed["station"] = [known.get(name, {"name": name}) for name in names]
    elif key == "load.liquid":
        values = [value.strip() for value in text.split(",")]
        if len(values) != len(LIQUID):
            raise InputError(
                "load.liquid: three lengths are asked for, such as 380 mm, 60 mm, 45 mm"
            )
        changed.setdefault("load", {})["liquid"] = dict(zip(LIQUID, values, strict=True))
    else:
        put(changed, key, text, "case")
    make_case(_whole(changed), "case")
    return changed


@dataclass
class Interview:
    """Questions asked from one on, each answer kept at once.

    ``ask`` gives what is typed, ``None`` at its end; ``say`` shows a line; ``keep`` writes the case
    and the key of the next question, ``None`` once all were asked.
    """

    ask: Callable[[Question, str], str | None]
    say: Callable[[str], None]
    keep: Callable[[Mapping[str, Any], str | None], None]

    def hold(self, data: dict[str, Any], start: str | None) -> tuple[dict[str, Any], str | None]:
        """Ask until all is asked or one leaves; gives the case and the next question."""
        key: str | None = start
        while True:
            asked = list(questions(data))
            at = _place(asked, key)
            if at >= len(asked):
                self.keep(data, None)
                return data, None
            question = asked[at]
            key = question.key
            typed = self.ask(question, _now(data, key))
            if typed is None or typed == LEAVE:
                self.keep(data, key)
                return data, key
            data, step = self._taken(data, question, typed)
            after = list(questions(data))
            place = _place(after, key) + step
            key = after[place].key if 0 <= place < len(after) else (END if place > 0 else key)
            self.keep(data, None if key == END else key)

    def _taken(
        self, data: dict[str, Any], question: Question, typed: str
    ) -> tuple[dict[str, Any], int]:
        """The case after what was typed, and how many questions to go on."""
        if typed == BACK:
            return data, -1
        if typed == HELP:
            self.say(question.why or "Nothing more is known about it.")
            return data, 0
        if not typed:
            if question.needed and not _now(data, question.key):
                self.say(f"This one is needed: {question.would_do}.")
                return data, 0
            return data, 1
        try:
            return answered(data, question.key, typed), 1
        except InputError as error:
            for line in str(error).splitlines():
                self.say(line.removeprefix("case: ").removeprefix("case "))
            return data, 0


LEAVE: Final = "."
BACK: Final = "<"
HELP: Final = "?"
END: Final = "end"


def _place(asked: Sequence[Question], key: str | None) -> int:
    """Where a question stands; where it is not asked any more, the one that comes after it."""
    if key == END:
        return len(asked)
    keys = [question.key for question in asked]
    if key in keys:
        return keys.index(key)
    rank = _rank(key or "")
    return next((n for n, other in enumerate(keys) if _rank(other) > rank), len(keys))


def _rank(key: str) -> int:
    """The order of a question; the dwells stand with their stations."""
    key = "station" if key.startswith("station.") else key
    return ORDER.index(key) if key in ORDER else -1


def _now(data: Mapping[str, Any], key: str) -> str:
    """What a case says of a key already, as it was typed; empty if nothing."""
    if key == "station":
        return ", ".join(str(entry["name"]) for entry in data.get("station", ()))
    if key.startswith("station."):
        name = key.removeprefix("station.").removesuffix(_DWELL)
        found = [e.get("dwell", "") for e in data.get("station", ()) if e["name"] == name]
        return str(found[0]) if found else ""
    at: Any = data
    for step in key.split("."):
        at = at.get(step) if isinstance(at, Mapping) else None
    if at is None:
        return ""
    if isinstance(at, Mapping):
        return ", ".join(str(value) for value in at.values())
    return ", ".join(map(str, at)) if isinstance(at, list) else str(at)
