"""The files that the page gives: the case, and what commands make of an answer."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final

from recommender.guided import words
from recommender.inputs.case_text import case_toml
from recommender.lines.result import LineAnswer
from recommender.page.desk import Question
from recommender.page.workers import Said
from recommender.units import written_in
from recommender.version import program_version

if TYPE_CHECKING:
    from recommender.drawing.shapes import Drawing

CASE: Final = "case.toml"
SHOWN: Final = "shown.svg"
_NO_NAME: Final = re.compile(r"[^a-z0-9]+")
_LONGEST_NAME: Final = 40
_SPREADSHEET: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True)
class Maker:
    """What makes a file of a question; nothing where no option meets the case."""

    make: Callable[[Question], str | bytes | None]
    type: str
    needs: tuple[str, ...] = ()

    @property
    def lacking(self) -> list[str]:
        """Libraries that it needs and that are not installed."""
        return [need for need in self.needs if find_spec(need) is None]


def file_name(title: object, name: str) -> str:
    """The name of a file, from the title and without anything that could be a path or a quote.

    Examples
    --------
    >>> file_name('Größe: ../A"', "plan.svg"), file_name("", "case.toml")
    ('gr-e-a-plan.svg', 'case.toml')
    """
    stem = _NO_NAME.sub("-", str(title).lower())[:_LONGEST_NAME].strip("-")
    return f"{stem}-{name}" if stem else name


def ready(answer: Said) -> list[str]:
    """Files that can be made already; the whole sheet waits for explanations and calculation."""
    found = []
    if isinstance(answer, LineAnswer):
        if answer.price is not None:
            found += ["parts.xlsx", "plan.svg", "plan.dxf"]
        if explained(answer):
            found.append("sheet.html")
        return [name for name in found if not MAKERS[name].lacking]
    if answer.choice is not None:
        found += ["parts.xlsx", "plan.svg", "plan.dxf"]
    if answer.extent.explained and (answer.calculation is not None or answer.choice is None):
        found.append("sheet.html")
    return [name for name in found if not MAKERS[name].lacking]


def explained(answer: LineAnswer) -> bool:
    """Whether each loop of a line is explained."""
    return all(loop.alone.extent.explained for loop in answer.loops)


def case_file(data: Mapping[str, Any]) -> str:
    """A case file of what a form holds, finished or not."""
    return case_toml(data, words(), None, "")


def _sheet(question: Question) -> str | None:
    from recommender.sheet import sheet_of  # noqa: PLC0415 - loads the library that draws charts

    answer, today = question.answer, date.today().isoformat()
    if isinstance(answer, LineAnswer):
        from recommender.sheet.line import line_sheet_of  # noqa: PLC0415 - as above

        if not explained(answer):
            return None
        return line_sheet_of(answer, date=today, version=program_version())
    if answer is None or not answer.extent.explained:
        return None
    return sheet_of(answer, date=today, version=program_version())


def _spreadsheet(question: Question) -> bytes | None:
    from recommender.views.tables import parts_xlsx  # noqa: PLC0415 - only for who asks for it

    answer = question.answer
    if isinstance(answer, LineAnswer):
        from recommender.views.line_tables import line_parts_xlsx  # noqa: PLC0415 - as above

        return line_parts_xlsx(answer) if answer.price is not None else None
    if answer is None or answer.choice is None:
        return None
    return parts_xlsx(answer, answer.choice)


def _shown(question: Question) -> str | None:
    """The plan for the page, which says beside it what the plan by itself says in it."""
    return _plan(question, notes=False)


def _plan(question: Question, *, notes: bool = True) -> str | None:
    from recommender.drawing.svg import svg_of  # noqa: PLC0415 - as above

    answer = question.answer
    if answer is None:
        return None
    with written_in(answer.units):
        drawing = _drawn(answer, notes=notes)
        return svg_of(drawing) if drawing is not None else None


def _drawing(question: Question) -> str | bytes | None:
    from recommender.drawing.dxf import dxf_of  # noqa: PLC0415 - as above

    answer = question.answer
    if answer is None:
        return None
    with written_in(answer.units):
        drawing = _drawn(answer)
        return dxf_of(drawing) if drawing is not None else None


def _drawn(answer: Said, *, notes: bool = True) -> "Drawing | None":
    """The plan of the choice, of a line of all its loops."""
    if isinstance(answer, LineAnswer):
        from recommender.drawing.line_plan import line_plan_of  # noqa: PLC0415 - as above

        return line_plan_of(answer) if answer.price is not None else None
    from recommender.drawing.plan import plan_of  # noqa: PLC0415 - as above

    return plan_of(answer.choice, notes=notes) if answer.choice is not None else None


MAKERS: Final = {
    "sheet.html": Maker(_sheet, "text/html; charset=utf-8", ("matplotlib",)),
    "parts.xlsx": Maker(_spreadsheet, _SPREADSHEET, ("xlsxwriter",)),
    SHOWN: Maker(_shown, "image/svg+xml; charset=utf-8"),
    "plan.svg": Maker(_plan, "image/svg+xml; charset=utf-8"),
    "plan.dxf": Maker(_drawing, "image/vnd.dxf", ("ezdxf",)),
}
"""What makes each file, by the end of its name."""
