"""A saved answer about a line of loops, read back with the model that its own tables make."""

from pathlib import Path
from typing import Final

from pydantic import ValidationError
from pydantic_core import from_json, to_json

from recommender.faults import InputError
from recommender.inputs.case import Case
from recommender.inputs.case_tables import Commercial
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.errors import explain
from recommender.inputs.files import read_bytes
from recommender.inputs.si_case import case_in_si, written_in_si
from recommender.lines.direct import variants
from recommender.lines.model import Handover, Line, NamedLoop
from recommender.lines.result import LINE_SCHEMA, LineAnswer
from recommender.lines.tables import Space, Spares
from recommender.saved import AGAIN, LARGEST_SAVED, case_of, filled, model_of
from recommender.shown import shown, shown_path

_LARGEST: Final = 2 * LARGEST_SAVED


def is_line_answer(path: Path) -> bool:
    """Whether a file holds an answer about a line; what cannot be read holds none."""
    try:
        document = from_json(read_bytes(path, _LARGEST, "saved answer"))
    except (InputError, ValueError):
        return False
    return isinstance(document, dict) and document.get("schema") == LINE_SCHEMA


def read_saved_line(path: Path) -> LineAnswer:
    """The answer that a file holds.

    Parameters
    ----------
    path : Path
        As ``answer --save`` wrote it for a line.

    Raises
    ------
    InputError
        If the file cannot be read, is damaged, or holds its loops in short.
    """
    where = shown_path(path)
    data = read_bytes(path, _LARGEST, "saved answer")
    try:
        document = from_json(data, allow_inf_nan=False)
    except ValueError as error:
        raise InputError(f"{where}: is damaged: no JSON ({error}); {AGAIN}") from None
    for loop in document.get("loops", []) if isinstance(document.get("loops"), list) else []:
        if isinstance(loop, dict) and isinstance(loop.get("alone"), dict):
            loop["alone"].pop("schema", None)
    document.pop("schema", None)
    model = model_of(LineAnswer)
    try:
        read = model.model_validate_json(to_json(document))
    except ValidationError as error:
        faults = explain(error, where, model)
        raise InputError(f"{faults}\n{where}: is damaged, or of another version; {AGAIN}") from None
    answer = filled(read)
    assert isinstance(answer, LineAnswer)
    if not all(loop.alone.extent.whole for loop in answer.loops):
        raise InputError(
            f"{where}: holds its options in short, as answer --json prints them; write it with"
            " answer --save FILE"
        )
    _read_cases(answer, where)
    for fault in _contradictions(answer):
        raise InputError(f"{where}: is damaged: {fault}; {AGAIN}")
    return answer


def _read_cases(answer: LineAnswer, where: str) -> None:
    """Refuse loops whose cases are not there, or are none as this version understands one."""
    cases = answer.line.get("cases")
    if not isinstance(cases, dict) or set(cases) != {loop.name for loop in answer.loops}:
        raise InputError(
            f"{where}: line.cases does not hold the case of each loop: is damaged, or of another"
            f" version; {AGAIN}"
        )
    for loop in answer.loops:
        case_in_si(cases[loop.name], f"{where}: line.cases.{shown(loop.name)}")
        case_of(loop.alone, f"{where}: loops.{shown(loop.name)}.alone")


def _contradictions(answer: LineAnswer) -> list[str]:
    """What the parts of an answer say against each other."""
    faults = []
    total = sum(part.price for part in answer.parts)
    if answer.price is not None and total != answer.price:
        faults.append("its parts do not add up to its price")
    if (answer.status == "recommended") != (answer.price is not None):
        faults.append("its status is not what its price says")
    if any(part.price != part.quantity * part.unit_price for part in answer.parts):
        faults.append("a price is not quantity times unit price")
    if answer.savings is not None:
        saved = sum(item.saved for item in answer.savings.items)
        if saved != answer.savings.saved or answer.savings.together != answer.price:
            faults.append("what is saved does not add up")
    return faults


def line_of(answer: LineAnswer, where: str = "the saved answer") -> Line:
    """The line of an answer, before direct handovers were settled; every value counts as given."""
    asked = answer.line
    handovers = (
        Handover(
            name=known.name,
            giver=entry["from"].partition(".")[0],
            gives_at=entry["from"].partition(".")[2],
            taker=entry["to"].partition(".")[0],
            takes_at=entry["to"].partition(".")[2],
            items=entry["items"],
            between=entry["between"],
            share=entry["share"],
            positions=tuple(entry["positions"]),
        )
        for known, entry in zip(answer.handovers, asked["handover"], strict=True)
    )
    return Line(
        title=answer.title,
        units=answer.units,
        loops=tuple(
            NamedLoop(
                loop.name,
                case_in_si(asked["cases"][loop.name], f"{where}: line.cases.{shown(loop.name)}"),
                loop.supplied,
                tuple(asked["own"][loop.name]),
            )
            for loop in answer.loops
        ),
        handovers=tuple(handovers),
        spares=Spares.model_validate(asked["spares"]),
        floor=Space.model_validate(written_in_si(asked["floor"], Space)),
        commercial=Commercial.model_validate(written_in_si(asked["commercial"], Commercial)),
        reserve=asked["reserve"],
    )


def cases_in_line(answer: LineAnswer, line: Line, catalogue: Catalogue) -> dict[str, Case] | None:
    """Each loop's case as the line of an answer settles its direct handovers.

    ``None`` if the answer's own cases are none of those that this version makes of it.
    """
    said = {loop.name: loop.alone.case for loop in answer.loops}
    for variant in variants(line, catalogue):
        made = {name: case.model_dump(mode="json") for name, case in variant.cases.items()}
        if made == said:
            return dict(variant.cases)
    return None
