"""Values of a line that people type one by one, put where its file would have them."""

from typing import Any, Final

from pydantic import BaseModel

from recommender.inputs.errors import InputError
from recommender.inputs.given import put, typed
from recommender.lines.model import Line
from recommender.lines.tables import HandoverTable, LineTables
from recommender.shown import shown

_HANDOVER: Final = "handover"


def put_in_line(data: dict[str, Any], line: Line, key: str, text: str, where: str) -> None:
    """Set a key of a line to what was typed, as messages and conflicts name it.

    Parameters
    ----------
    data : dict
        The line as its file has it; changed in place.
    line : Line
        The same as it was read.
    key : str
        Such as ``boxes.load.mass``, ``handover.pack.items`` or ``floor.length``.
    text : str
    where : str
        What a message begins with.

    Raises
    ------
    InputError
        If there is no such loop, handover, table or station. What is no value of the key is left to
        the reader of lines to refuse.
    """
    head, _, rest = key.partition(".")
    if head in line.names and rest:
        loop = next(entry for entry in data["line"] if entry.get("name") == head)
        put(loop, rest, text, f"{where} (loop {shown(head)})")
    elif head == _HANDOVER and rest:
        _put_in_handover(data, line, rest, text, f"{where} {shown(key)}")
    elif rest and _is_table(head):
        put(data, key, text, where, LineTables)
    else:
        above = ", ".join(name for name in LineTables.model_fields if _is_table(name))
        loops = ", ".join(map(shown, line.names))
        raise InputError(
            f"{where} {shown(key)}: a key of a line begins with a loop ({loops}), with"
            f" {_HANDOVER}.NAME, or with a table above the loops ({above}), such as"
            f" {shown(line.names[0])}.load.mass"
        )


def _is_table(name: str) -> bool:
    """Whether a table stands above the loops under this name."""
    field = LineTables.model_fields.get(name)
    kind = field.annotation if field is not None else None
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _put_in_handover(data: dict[str, Any], line: Line, rest: str, text: str, where: str) -> None:
    name, _, last = rest.rpartition(".")
    names = [handover.name for handover in line.handovers]
    if name not in names:
        known = ", ".join(f"{_HANDOVER}.{shown(one)}.{shown(last or 'items')}" for one in names)
        raise InputError(f"{where}: there is no such handover; {known or 'the line has none'}")
    fields = {field.alias or key: field for key, field in HandoverTable.model_fields.items()}
    field = fields.get(last)
    entry = data[_HANDOVER][names.index(name)]
    entry[last] = text if field is None else typed(text, field)
