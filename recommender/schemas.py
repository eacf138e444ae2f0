"""JSON Schemas of case files and of answers, made from the models themselves."""

import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

from pydantic import BaseModel

from recommender.inputs.case import Case
from recommender.inputs.quantities import Kind, as_text, kind_of
from recommender.lines.result import LINE_SCHEMA, LineAnswer
from recommender.lines.tables import LineTables
from recommender.results.answer import SCHEMA, Answer

Schema = dict[str, Any]

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_PLAIN: Final[dict[object, Schema]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    # A limit that does not bind is infinite, which JSON has no number for.
    float: {"type": ["number", "null"]},
    Decimal: {"type": "string", "pattern": r"^-?[0-9]+\.[0-9]{2}$"},
    Any: {},
}


def case_schema() -> Schema:
    """JSON Schema (draft 2020-12) of a case as people write it: quantities are text with a unit.

    A TOML file, or JSON, that has passed it can still be refused for what a schema does not say: a
    unit of another dimension, a budget in another money, keys that contradict each other.
    """
    return _as_written(Case)


def line_schema() -> Schema:
    """JSON Schema of a line of loops as people write it, as that of a case.

    Where boxes stand for their units the dwell of a station is left out, so that it is asked for of
    no station here; a reader still asks for it where it is needed.
    """
    schema = _as_written(LineTables)
    schema["$defs"]["Station"]["required"].remove("dwell")
    return schema


def _as_written(model: type[BaseModel]) -> Schema:
    """The schema of a model as people write it."""
    schema = model.model_json_schema(mode="validation")
    models = _models(model)
    for name, table in ({model.__name__: schema} | schema["$defs"]).items():
        fields_by_key = {
            field.alias or key: field for key, field in models[name].model_fields.items()
        }
        for key, entry in table["properties"].items():
            field = fields_by_key[key]
            kind = kind_of(field)
            if kind is not None and entry.get("default") is not None:
                entry["default"] = _written(field.default, kind)
            elif isinstance(field.default, BaseModel):
                # What such a table holds by default stands in the table's own schema.
                entry["default"] = {}
    return {"$schema": _DIALECT, **schema}


def _written(value: Any, kind: Kind) -> Any:
    if isinstance(value, tuple):
        return [as_text(entry, kind) for entry in value]
    return as_text(value, kind)


def _models(model: type[BaseModel]) -> dict[str, type[BaseModel]]:
    """A model and those of its tables, by name."""
    found = {model.__name__: model}
    for field in model.model_fields.values():
        for part in (field.annotation, *typing.get_args(field.annotation)):
            if isinstance(part, type) and issubclass(part, BaseModel):
                found |= _models(part)
    return found


def answer_schema() -> Schema:
    """JSON Schema (draft 2020-12) of the answer's JSON document.

    Numbers are SI with the unit in the key or beside them, money is text with two decimals. A
    number is null where it is infinite.
    """
    tables: Schema = {}
    schema = _table(Answer, tables)
    case = Case.model_json_schema(mode="serialization", ref_template="#/$defs/{model}")
    tables |= {**case.pop("$defs"), "Case": case}
    schema["properties"]["case"] = {"$ref": "#/$defs/Case"}
    schema["properties"]["schema"] = {"const": SCHEMA}
    return {"$schema": _DIALECT, "title": "Answer", **schema, "$defs": tables}


def line_answer_schema() -> Schema:
    """JSON Schema (draft 2020-12) of the JSON document that answers a line of loops.

    Numbers and money are as in an answer about one loop, which each loop holds.
    """
    tables: Schema = {}
    schema = _table(LineAnswer, tables)
    case = Case.model_json_schema(mode="serialization", ref_template="#/$defs/{model}")
    tables |= {**case.pop("$defs"), "Case": case}
    tables["Answer"]["properties"]["case"] = {"$ref": "#/$defs/Case"}
    tables["Answer"]["properties"]["schema"] = {"const": SCHEMA}
    schema["properties"]["schema"] = {"const": LINE_SCHEMA}
    return {"$schema": _DIALECT, "title": "LineAnswer", **schema, "$defs": tables}


def _table(table: type, tables: Schema) -> Schema:
    hints = typing.get_type_hints(table)
    names = {entry.metadata.get("name", entry.name): hints[entry.name] for entry in fields(table)}
    schema: Schema = {"type": "object"}
    if table.__doc__:
        schema["description"] = " ".join(table.__doc__.split())
    schema["properties"] = {name: _value(hint, tables) for name, hint in names.items()}
    schema["required"] = list(names)
    schema["additionalProperties"] = False
    return schema


def _value(hint: Any, tables: Schema) -> Schema:
    """The schema of one type; dataclasses go to the tables and are named."""
    if hint in _PLAIN:
        return dict(_PLAIN[hint])
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union):
        others = [_value(part, tables) for part in inner if part is not types.NoneType]
        return {"anyOf": [*others, {"type": "null"}]}
    if origin is tuple and inner[-1] is Ellipsis:
        return {"type": "array", "items": _value(inner[0], tables)}
    if origin in (Mapping, dict):
        return {"type": "object", "additionalProperties": _value(inner[1], tables)}
    if origin is typing.Literal or (isinstance(hint, type) and issubclass(hint, StrEnum)):
        return {"enum": list(inner) or [entry.value for entry in hint]}
    if is_dataclass(hint):
        assert isinstance(hint, type)
        if hint.__name__ not in tables:
            tables[hint.__name__] = {}
            tables[hint.__name__] = _table(hint, tables)
        return {"$ref": f"#/$defs/{hint.__name__}"}
    raise TypeError(f"no schema for {hint!r}")
