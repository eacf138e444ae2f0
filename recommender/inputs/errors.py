"""Bad input, said once and clearly: which file, which key, what was read, what would do."""

import difflib
import json
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from recommender.faults import InputError
from recommender.shown import shown

__all__ = ["InputError", "as_written", "by_key", "dotted", "explain", "known_keys", "nearest"]

_PLAIN = {
    "missing": "is missing",
    "extra_forbidden": "is not known here",
    "greater_than": "must be greater than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "finite_number": "must be a finite number",
    "too_short": "must have {min_length} or more entries",
    "too_long": "must have {max_length} entries at most",
    "string_too_short": "must not be empty",
    "string_too_long": "must be {max_length} characters long at most",
    "bool_type": "must be true or false",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "int_parsing": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "string_type": "must be text",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "model_type": "must be a table",
    "literal_error": "must be {expected}",
    "enum": "must be {expected}",
}

_BOUNDS = {"greater_than", "greater_than_equal", "less_than", "less_than_equal"}

MOST_FAULTS = 10
_LONGEST_KEY = 80
_LONGEST_SHOWN = 60

# Words that people use for a key, and that spelling alone would not lead to it.
_OTHER_WORDS = {
    "weight": "mass",
    "weight_kg": "mass",
    "payload": "mass",
    "overhang": "reach",
    "eccentricity": "reach",
    "coefficient": "friction",
    "mu": "friction",
    "throughput": "items",
    "cycle_time": "dwell",
    "process_time": "dwell",
    "height": "cg_height",
}


def explain(error: ValidationError, where: str, model: type[BaseModel]) -> InputError:
    """The faults of a validation as one message, a line each; beyond ten they are counted.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    where : str
        The file, or ``command line``.
    model : type of BaseModel
        The model that was validated; names the known keys next to a wrong one.

    Returns
    -------
    InputError
    """
    faults = error.errors(include_url=False)
    lines: list[str] = []
    for number, line in enumerate(_lines(faults, where, model)):
        if line in lines:
            continue
        if len(lines) == MOST_FAULTS:
            left = error.error_count() - number
            lines.append(f"{where}: and {left} {'fault' if left == 1 else 'faults'} more")
            break
        lines.append(line)
    return InputError("\n".join(lines))


def by_key(error: ValidationError, model: type[BaseModel]) -> dict[str, str]:
    """The first fault of each key, for those who show it beside the key.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    model : type of BaseModel
        The model that was validated.

    Returns
    -------
    dict
        Messages under keys as `dotted` has them; under an empty one what concerns several keys.
    """
    found: dict[str, str] = {}
    faults = error.errors(include_url=False)
    for fault in faults:
        if not _follows(fault, faults):
            for line in _lines([fault], "", model):
                found.setdefault(dotted(fault["loc"]), line.removeprefix(": ").lstrip())
    return found


def _follows(fault: ErrorDetails, faults: list[ErrorDetails]) -> bool:
    """Whether a fault is no more than the consequence of others.

    A list whose entries fail is counted as if they were not there.
    """
    loc = fault["loc"]
    return fault["type"] == "too_short" and any(
        other["loc"][: len(loc)] == loc for other in faults if other is not fault
    )


def _lines(faults: list[ErrorDetails], where: str, model: type[BaseModel]) -> Iterator[str]:
    for fault in faults:
        loc, kind = fault["loc"], fault["type"]
        if _follows(fault, faults):
            continue
        text = _said(fault, model)
        if not loc:  # a fault between several keys names them itself, with their values
            yield f"{where}: {text}"
            continue
        read = _read(fault["input"], kind)
        told = _of_kind(model, _of_list(loc), "told")
        yield f"{where}: {dotted(loc)} {text}{read}{_hint(loc, kind, model)}{told}"


def _of_list(loc: Sequence[int | str]) -> Sequence[int | str]:
    """The key of a list, where one of its entries is at fault."""
    return loc[:-1] if len(loc) > 1 and isinstance(loc[-1], int) else loc


def _said(fault: ErrorDetails, model: type[BaseModel]) -> str:
    said = _PLAIN.get(fault["type"])
    if said is None:
        return fault["msg"].removeprefix("Value error, ")
    text = said.format(**fault.get("ctx", {}))
    if fault["type"] in _BOUNDS and not text.endswith(" 0"):
        return f"{text} {_of_kind(model, fault['loc'], 'si')}".rstrip()
    return text


def _read(value: object, kind: str) -> str:
    """What stood in the file, where it says more than the key does."""
    if kind in {"missing", "extra_forbidden"} or isinstance(value, BaseModel):
        return ""
    return f" (read: {as_written(value)})"


def _hint(loc: Sequence[int | str], kind: str, model: type[BaseModel]) -> str:
    if kind == "missing":
        if isinstance(loc[-1], int):
            return "; the list is too short"
        return _example(model, loc)
    if kind != "extra_forbidden":
        return ""
    key = str(loc[-1])
    if len(loc) > 1 and key in model.model_fields:
        return f"; {key} belongs at the top of the file, above its first table"
    return nearest(key, known_keys(model, loc[:-1]))


def as_written(value: object) -> str:
    """A value of a TOML file about as it stood there, cut if it is long.

    Examples
    --------
    >>> as_written(True), as_written("30"), as_written(float("nan")), as_written([1, {"a": 2}])
    ('true', '"30"', 'nan', '[1, {"a": 2}]')
    """
    text = json.dumps(value, ensure_ascii=False, default=str)
    return shown({"NaN": "nan", "Infinity": "inf", "-Infinity": "-inf"}.get(text, text))


def dotted(loc: Sequence[int | str]) -> str:
    """A key as the user would look for it, e.g. ``station[2].dwell`` (entries count from 1)."""
    key = ""
    for part in loc:
        key += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if key else part
    return shown(key, _LONGEST_KEY)


def nearest(key: str, known: Sequence[str]) -> str:
    """The end of a message about an unknown key."""
    key = key[:_LONGEST_KEY]
    meant = _OTHER_WORDS.get(key.lower())
    close = [meant] if meant in known else difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    if close:
        return f"; the nearest known key is {close[0]}"
    return f"; known are {', '.join(known)}"


def known_keys(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """The keys that the table at ``loc`` may have."""
    return list(_table_at(model, loc).model_fields)


def _table_at(model: type[BaseModel], loc: Sequence[int | str]) -> type[BaseModel]:
    for part in loc:
        field = model.model_fields.get(part) if isinstance(part, str) else None
        inner = _model_within(field.annotation) if field else None
        model = inner or model
    return model


def _example(model: type[BaseModel], loc: Sequence[int | str]) -> str:
    """What could be written at a missing key: a quantity, or a table with what it must hold."""
    field = _table_at(model, loc[:-1]).model_fields.get(str(loc[-1]))
    if field is None:
        return ""
    table = _model_within(field.annotation)
    if table is not None:
        needed = [name for name, entry in table.model_fields.items() if entry.is_required()]
        key = f"[{dotted(loc)}]" if table is field.annotation else f"[[{dotted(loc)}]]"
        return f"; write a table {key} with {', '.join(needed)}"
    example = _of_kind(model, loc, "example")
    return f'; write one such as "{example}"' if example else ""


def _of_kind(model: type[BaseModel], loc: Sequence[int | str], attribute: str) -> str:
    """What the kind of quantity at ``loc`` says of itself; empty if it is no quantity."""
    field = _table_at(model, loc[:-1]).model_fields.get(str(loc[-1])) if loc else None
    metadata = field.metadata if field else ()
    return next((str(getattr(m, attribute)) for m in metadata if hasattr(m, attribute)), "")


def _model_within(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        found = _model_within(part)
        if found is not None:
            return found
    return None
