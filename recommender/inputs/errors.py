"""Bad input, said once and clearly: which file, which key, what was read, what would do."""

import difflib
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

_PLAIN = {
    "missing": "is missing",
    "extra_forbidden": "is not known here",
    "greater_than": "must be greater than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "finite_number": "must be a finite number",
    "too_short": "must hold at least {min_length} entry",
    "string_too_short": "must not be empty",
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


class InputError(Exception):
    """Something that the user gave cannot be used; the message says what would do."""


def explain(error: ValidationError, where: str, model: type[BaseModel]) -> InputError:
    """All faults of a validation as one message, a line each.

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
    return InputError("\n".join(dict.fromkeys(_lines(error, where, model))))


def _lines(error: ValidationError, where: str, model: type[BaseModel]) -> Iterator[str]:
    faults = error.errors(include_url=False)
    for fault in faults:
        loc, kind = fault["loc"], fault["type"]
        if kind == "too_short" and any(
            other["loc"][: len(loc)] == loc for other in faults if other is not fault
        ):
            continue  # a list whose entries fail is counted as if they were not there
        context = fault.get("ctx", {})
        said = _PLAIN.get(kind)
        text = said.format(**context) if said else fault["msg"]
        text = text.removeprefix("Value error, ")
        read = ""
        if kind not in {"missing", "extra_forbidden"} and not isinstance(
            fault["input"], dict | BaseModel
        ):
            read = f" (read: {fault['input']!r})"
        hint = ""
        if kind == "extra_forbidden":
            hint = _nearest(str(loc[-1]), known_keys(model, loc[:-1]))
        yield f"{where}: {dotted(loc) or 'the file'} {text}{read}{hint}"


def dotted(loc: Sequence[int | str]) -> str:
    """A key as the user would look for it, e.g. ``station[2].dwell`` (entries count from 1)."""
    key = ""
    for part in loc:
        key += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if key else part
    return key


def _nearest(key: str, known: Sequence[str]) -> str:
    close = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    if close:
        return f"; the nearest known key is {close[0]}"
    return f"; known are {', '.join(known)}"


def known_keys(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """The keys that the table at ``loc`` may have."""
    for part in loc:
        if isinstance(part, int):
            continue
        field = model.model_fields.get(part)
        inner = _model_within(field.annotation) if field else None
        if inner is None:
            break
        model = inner
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_within(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        found = _model_within(part)
        if found is not None:
            return found
    return None
