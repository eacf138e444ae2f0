"""The sheet: an answer as one page of HTML that needs nothing else, for the customer and inside."""

from collections.abc import Sequence
from typing import Any, Final

from markupsafe import Markup

from recommender.drawing.plan import plan_of
from recommender.drawing.svg import svg_of
from recommender.results.answer import Answer, OptionResult, Verdict
from recommender.sheet import content
from recommender.sheet.charts import charts
from recommender.sheet.question import understood
from recommender.sheet.setting import environment, template
from recommender.sheet.trials import Trial, refuse_others, told
from recommender.units import written_in
from recommender.views.numbers import raised

__all__ = ["sheet_of"]

_LONG: Final = 1.9
_UNTITLED: Final = "A carrier loop"


def sheet_of(
    answer: Answer,
    *,
    date: str = "",
    version: str = "",
    customer_only: bool = False,
    trials: Sequence[Trial] = (),
) -> str:
    """An answer as one HTML page: no script, no network, light and dark, for A4 as well.

    The same answer, date and version give the same bytes.

    Parameters
    ----------
    answer : Answer
        With its calculation, if charts of a lap and formulas are wanted.
    date : str
        The date of the sheet, as it is to be read.
    version : str
        Version of the program.
    customer_only : bool
        Whether to leave out what is for colleagues.
    trials : sequence of Rehearsal, Doubt or Map
        What became of the choice when it was tried, for colleagues.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If a trial is of another choice.
    """
    refuse_others(answer.choice, trials)
    with written_in(answer.units):
        page = environment().from_string(template("sheet.html.j2"))
        return page.render(
            answer=answer,
            date=date,
            version=version,
            customer_only=customer_only,
            title=str(answer.case.get("title") or _UNTITLED),
            style=Markup(template("sheet.css")),
            trials=told(trials),
            **_customer(answer),
            **({} if customer_only else _colleagues(answer)),
        )


def _customer(answer: Answer) -> dict[str, Any]:
    """What page one is filled in with."""
    choice = answer.choice
    drawn = _drawn(choice, answer) if choice is not None else {}
    return {
        "choice": choice,
        "long": False,
        "currency": answer.options[0].currency if answer.options else "",
        "headline": _nothing(answer),
        "question": understood(answer),
        "questions": content.questions(answer),
        "usual": content.usual(answer),
        **drawn,
    }


def _drawn(choice: OptionResult, answer: Answer) -> dict[str, Any]:
    assert choice.loop is not None
    drawing = plan_of(choice, notes=False)
    (left, bottom), (right, top) = drawing.least, drawing.most
    return {
        # What is long is drawn across the page, not beside the question.
        "long": right - left > _LONG * (top - bottom),
        "recommendation": content.recommendation(choice, answer),
        "figures": content.figures(choice, answer),
        # It escapes what it writes itself.
        "plan": Markup(svg_of(drawing)),
        "plan_note": content.description_of(choice.loop, choice),
    }


def _nothing(answer: Answer) -> str:
    left = sum(option.verdict is Verdict.UNDECIDED for option in answer.options)
    if left:
        return f"No option was found that meets this enquiry, and {left} are not decided."
    return "No option of the catalogue meets this enquiry."


def _colleagues(answer: Answer) -> dict[str, Any]:
    """What the pages behind it are filled in with."""
    choice, calculation = answer.choice, answer.calculation
    filled: dict[str, Any] = {
        "works": content.works(answer),
        "undecided": content.undecided(answer),
        "groups": [entry for entry in answer.rejections if not entry.near],
        "near": [entry for entry in answer.rejections if entry.near],
        "taken": [
            (name, [line for line in answer.assumptions if line.group == group])
            for group, name in (("house", "Rules of the house"), ("method", "The method"))
        ],
    }
    if choice is None:
        return filled
    motion = choice.motion
    assert motion is not None
    drawn = charts(choice, calculation)
    return {
        **filled,
        "motion": raised(
            f"{motion.acceleration}, {motion.jerk}, up to {motion.speed}, {motion.bend_speed} in"
            " bends"
        ),
        "checks": content.check_rows(
            choice, calculation.workings if calculation else (), choice.currency
        ),
        "charts": [(name, Markup(chart)) for name, chart in drawn],
        "parts": list(content.part_groups(choice.parts)),
    }
