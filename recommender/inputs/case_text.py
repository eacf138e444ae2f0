"""A case as commented TOML: what is given as a file has it, what is open as a comment with its use.

The writing is small enough to stand here: keys are known, and values are text, numbers, flags and
lists of them, which TOML writes as JSON does.
"""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.inputs.case import Case
from recommender.inputs.quantities import as_text, kind_of
from recommender.inputs.si_case import table_of

_NEXT: Final = "# Next question: "
_MARK: Final = re.compile(rf"^{_NEXT}(?P<key>\S.*\S)$", re.MULTILINE)
_COMMENT_AT: Final = 34
_NEEDED: Final = {"load.mass": "30 kg", "rate.items": "18/min"}
_TITLES: Final = {
    "load": "one item",
    "tooling": "the fixture that stays on the carrier",
    "limits": "what the enquiry allows the load",
}
_EXAMPLES: Final = {
    "commercial.budget": '"60000 EUR"',
    "commercial.without": '["covers", "training"]',
    "rate.reserve": "0.05",
    "load.pocket": '"40 mm"',
    "load.clamping_force": '"600 N"',
    "tooling.reach": '"150 mm"',
    "loop.max_length": '"8 m"',
    "loop.max_width": '"1.9 m"',
    "loop.max_height": '"2.5 m"',
    "loop.max_extent": '"3 m"',
    "title": '"Crate transfer"',
}
_UNASKED: Final = ("title", "units")
_LIQUID: Final = "[load.liquid]: length, depth, freeboard of an open tray of liquid"
_STATION: Final = "settling, tolerance, length, after, at, side, positions, force and more"


def next_question(text: str) -> str | None:
    """The question at which a case file was left; ``None`` if all were asked."""
    found = _MARK.search(text)
    return found["key"] if found else None


def case_toml(
    data: Mapping[str, Any], words: Mapping[str, str], next_key: str | None, again: str
) -> str:
    """A case as commented TOML.

    Parameters
    ----------
    data : mapping
        What is given, as a file has it.
    words : mapping
        What each key means, by its dotted name.
    next_key : str, optional
        The question that comes next, where not all were asked.
    again : str
        The command that goes on asking.
    """
    return "\n".join(_lines(data, words, next_key, again)) + "\n"


def _lines(
    data: Mapping[str, Any], words: Mapping[str, str], next_key: str | None, again: str
) -> Iterator[str]:
    if next_key is not None:
        yield f"# Not finished. Go on with: {again}"
        yield "# Until then the file is written anew after each answer: values that you change here"
        yield "# stay, comments of your own do not."
        yield f"{_NEXT}{next_key}"
    else:
        yield "# Lines behind a # are open: the answer lists what is taken for them. What stands in"
        yield "# them is that, or an example."
    yield ""
    for key in _UNASKED:
        if key in data:
            yield f"{key} = {toml_value(data[key])}"
    for name, field in Case.model_fields.items():
        table = table_of(field)
        if name == "station":
            yield from _stations(data.get("station", ()))
        elif table is not None:
            yield from _table(name, table, data.get(name, {}), words)


def _table(
    name: str, table: type[BaseModel], given: Mapping[str, Any], words: Mapping[str, str]
) -> Iterator[str]:
    yield ""
    yield _beside(f"[{name}]", _TITLES.get(name, ""))
    inner: list[str] = []
    for key, field in table.model_fields.items():
        within = table_of(field)
        word = words.get(f"{name}.{key}", "")
        if within is not None:
            inner += _inner(f"{name}.{key}", given.get(key), word)
        elif key in given:
            yield _beside(f"{key} = {toml_value(given[key])}", word)
        elif word or f"{name}.{key}" in _NEEDED:
            needed = "needed; " if f"{name}.{key}" in _NEEDED else ""
            yield _beside(f"# {key} = {_example(f'{name}.{key}', field)}", f"{needed}{word}")
    yield from inner


def _inner(name: str, given: Mapping[str, Any] | None, word: str) -> Iterator[str]:
    """A table within a table; where it is open, one line says that there is one."""
    yield ""
    if given is None:
        yield f"# {_LIQUID}"
        return
    yield f"[{name}]"
    for key, value in given.items():
        yield f"{key} = {toml_value(value)}"


def _stations(given: Any) -> Iterator[str]:
    yield ""
    if not given:
        yield "# [[station]]                     # in the order of the travel"
        yield '# name = "load"'
        yield '# dwell = "1.5 s"'
    for number, entry in enumerate(given):
        if number:
            yield ""
        yield _beside("[[station]]", "" if number else "in the order of the travel")
        for key, value in entry.items():
            yield f"{key} = {toml_value(value)}"
        if "dwell" not in entry:
            yield _beside('# dwell = "1.5 s"', "needed; standstill for the work")
    yield f"# a station may also say {_STATION}: recommender schema case"


def _example(key: str, field: FieldInfo) -> str:
    """What is taken for an open key, or else what could be written there."""
    if key in _EXAMPLES or key in _NEEDED:
        return _EXAMPLES.get(key) or toml_value(_NEEDED[key])
    kind = kind_of(field)
    if field.default is None:
        return toml_value(kind.example) if kind else '""'
    if kind is not None:
        return toml_value(as_text(field.default, kind))
    if isinstance(field.default, float):
        return f"{field.default:g}"
    return toml_value(list(field.default) if isinstance(field.default, tuple) else field.default)


def _beside(line: str, word: str) -> str:
    return f"{line:<{_COMMENT_AT}}# {word}" if word else line


def toml_value(value: Any) -> str:
    """A value as TOML writes it.

    Examples
    --------
    >>> print(toml_value('8" drop'), toml_value([1, 2]), toml_value(True), toml_value(0.45))
    "8\\" drop" [1, 2] true 0.45
    """
    # JSON leaves the one character as it stands that TOML does not allow in its text.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
