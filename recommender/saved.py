"""A saved answer, read back: the JSON document of an answer in full, of which nothing is trusted.

Its model is made from the answer's own tables, so that there is one schema and no second list of
keys.
"""

import functools
import math
import operator
import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    create_model,
)
from pydantic_core import PydanticCustomError, from_json, to_json

from recommender.faults import InputError
from recommender.inputs.case import LINE_COMMANDS, Case
from recommender.inputs.errors import as_written, explain
from recommender.inputs.files import read_bytes
from recommender.inputs.si_case import case_in_si
from recommender.lines.result import LINE_SCHEMA
from recommender.results.answer import SCHEMA, Answer, OptionResult, Verdict
from recommender.shown import is_plain, shown_path
from recommender.version import program_version

LARGEST_SAVED: Final = 16 << 20
_LONGEST_TEXT: Final = 4000
_MOST_ENTRIES: Final = 10_000
_MOST_COUNTED: Final = 10**9


def _seen(text: str) -> str:
    if not is_plain(text):
        raise PydanticCustomError("not_plain", "must be one line of printable characters")
    return text


def _unbounded(value: float | None) -> float:
    # What does not bind is infinite, for which JSON has no number.
    return math.inf if value is None else value


_TEXT: Final = Annotated[str, Field(max_length=_LONGEST_TEXT), AfterValidator(_seen)]
_FINITE: Final = Annotated[float, Field(allow_inf_nan=False)]
_MONEY: Final = Annotated[str, StringConstraints(pattern=r"^-?[0-9]{1,12}\.[0-9]{2}$")]
_PLAIN: Final[dict[object, Any]] = {
    str: _TEXT,
    bool: bool,
    int: Annotated[int, Field(ge=0, le=_MOST_COUNTED)],
    float: Annotated[_FINITE | None, AfterValidator(_unbounded)],
    Decimal: Annotated[_MONEY, AfterValidator(Decimal)],
    Any: Any,
    types.NoneType: None,
}
_NOT_TOO_MANY: Final = Field(max_length=_MOST_ENTRIES)
_STRICT: Final = ConfigDict(extra="forbid", strict=True, frozen=True)


def read_saved(path: Path) -> Answer:
    """The answer that a file holds.

    Parameters
    ----------
    path : Path
        As ``answer --save`` wrote it.

    Raises
    ------
    InputError
        If the file cannot be read, is damaged, is of another schema, or holds its options in short.
    """
    return make_saved(read_bytes(path, LARGEST_SAVED, "saved answer"), shown_path(path))


def make_saved(data: bytes, where: str) -> Answer:
    """The answer that a JSON document holds.

    Raises
    ------
    InputError
        As ``read_saved``.
    """
    document = _document(data, where)
    model = model_of(Answer)
    try:
        read = model.model_validate_json(to_json(document))
    except ValidationError as error:
        faults = explain(error, where, model)
        raise InputError(f"{faults}\n{where}: {_remedy(document)}") from None
    answer = filled(read)
    assert isinstance(answer, Answer)
    if not answer.extent.whole:
        raise InputError(
            f"{where}: holds its options in short, as answer --json prints them; write it with"
            " answer --save FILE"
        )
    case_of(answer, where)
    for fault in _contradictions(answer):
        raise InputError(f"{where}: is damaged: {fault}; {AGAIN}")
    return answer


def read_kept(path: Path, tables: Mapping[str, type], again: str) -> Any:
    """What else a command kept for a sheet, by its schema.

    Parameters
    ----------
    path : Path
    tables : mapping of str to type
        The table that each schema stands for.
    again : str
        How to keep it again, for a message.

    Raises
    ------
    InputError
        If the file cannot be read, is damaged, or is of none of these schemas.
    """
    where = shown_path(path)
    try:
        document = from_json(read_bytes(path, LARGEST_SAVED, "kept result"), allow_inf_nan=False)
    except ValueError as error:
        raise InputError(f"{where}: is damaged: no JSON ({error}); {again}") from None
    schema = document.pop("schema", None) if isinstance(document, dict) else None
    if not isinstance(schema, str) or schema not in tables:
        known = " or ".join(f'"{name}"' for name in tables)
        raise InputError(
            f"{where}: has the schema {as_written(schema)}, where {known} is wanted; {again}"
        )
    model = model_of(tables[schema])
    try:
        return filled(model.model_validate_json(to_json(document)))
    except ValidationError as error:
        faults = explain(error, where, model)
        raise InputError(f"{faults}\n{where}: is damaged, or changed by hand; {again}") from None


def case_of(answer: Answer, where: str = "the saved answer") -> Case:
    """The case of an answer; every value counts as given, also what was assumed."""
    return case_in_si(answer.case, f"{where}: case")


AGAIN: Final = "write it again with answer --save FILE"


def _document(data: bytes, where: str) -> dict[str, Any]:
    try:
        document = from_json(data, allow_inf_nan=False)
    except ValueError as error:
        raise InputError(f"{where}: is damaged: no JSON ({error}); {AGAIN}") from None
    if not isinstance(document, dict) or "schema" not in document:
        raise InputError(f"{where}: is no saved answer; {AGAIN}")
    schema = document.pop("schema")
    if schema == LINE_SCHEMA:
        raise InputError(
            f"{where}: holds the answer to a line of loops, and here one loop is wanted; name an"
            f" answer to a case of one loop, or give the line to {LINE_COMMANDS}"
        )
    if schema != SCHEMA:
        raise InputError(
            f"{where}: has the schema {as_written(schema)}, which this version does not know"
            f' (it knows "{SCHEMA}"); {AGAIN}'
        )
    return document


def _remedy(document: Mapping[str, Any]) -> str:
    wrote, reads = document.get("program"), program_version()
    if isinstance(wrote, str) and wrote and wrote != reads:
        return f"was written by version {as_written(wrote)}, this is {reads or 'another'}; {AGAIN}"
    return f"is damaged, or was changed by hand; {AGAIN}"


def _contradictions(answer: Answer) -> typing.Iterator[str]:
    """What the parts of an answer say against each other."""
    ids = [option.id for option in answer.options]
    if len(set(ids)) < len(ids):
        yield "an option stands there twice"
    named = [option.id for option in answer.options if option.verdict is Verdict.RECOMMENDED]
    if named != ([answer.recommended] if answer.recommended else []):
        yield "the recommended option is not the one that it names"
    if (answer.status == "recommended") != bool(answer.recommended):
        yield "its status is not what its options say"
    for option in answer.options:
        total = sum((part.price for part in option.parts), start=Decimal(0))
        if option.parts and total != option.price:
            yield f"the parts of {option.id} do not add up to its price"
        if any(part.price != part.quantity * part.unit_price for part in option.parts):
            yield f"a price of {option.id} is not quantity times unit price"
    choice = answer.choice
    if choice is not None and not _priced(answer, choice):
        yield "its price is not that of the recommended option"


def _priced(answer: Answer, choice: OptionResult) -> bool:
    proven = answer.proof is None or answer.proof.price == choice.price
    return proven and answer.parts == choice.parts


@functools.cache
def model_of(table: type) -> type[BaseModel]:
    """A model of one table of the answer; what has a default there may be missing here."""
    hints = typing.get_type_hints(table)
    entries: dict[str, Any] = {}
    for entry in fields(table):
        if entry.name == "schema":
            continue
        default = ... if entry.default is MISSING else entry.default
        key = entry.metadata.get("name", entry.name)
        entries[entry.name] = (_type_of(hints[entry.name]), Field(default, alias=key))
    model: type[BaseModel] = create_model(table.__name__, __config__=_STRICT, **entries)
    _TABLES[model] = table
    return model


_TABLES: Final[dict[type[BaseModel], type]] = {}


def _type_of(hint: Any) -> Any:
    if hint in _PLAIN:
        return _PLAIN[hint]
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union):
        # Of a number that may be missing, none is none, and not infinite.
        parts = [_FINITE if part is float else _type_of(part) for part in inner]
        return functools.reduce(operator.or_, parts)
    if origin is tuple and inner[-1] is Ellipsis:
        return Annotated[types.GenericAlias(tuple, (_type_of(inner[0]), ...)), _NOT_TOO_MANY]
    if origin in (Mapping, dict):
        return Annotated[types.GenericAlias(dict, (_TEXT, _type_of(inner[1]))), _NOT_TOO_MANY]
    return model_of(hint) if is_dataclass(hint) and isinstance(hint, type) else hint


def filled(value: Any) -> Any:
    """The answer's own tables in place of their models."""
    if isinstance(value, BaseModel):
        table = _TABLES[type(value)]
        return table(**{name: filled(getattr(value, name)) for name in type(value).model_fields})
    if isinstance(value, tuple):
        return tuple(map(filled, value))
    return value
