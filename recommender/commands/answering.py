"""How every command gets the answer to a case."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import priced_catalogue, seconds_of
from recommender.running import seconds_gone, tell

if TYPE_CHECKING:
    from recommender.inputs.case import Case
    from recommender.results.answer import Answer


def answer_case(
    case: "Case",
    folder: Path | None,
    where: str,
    *,
    quiet: bool,
    prices: Path | None = None,
    in_brief: bool = False,
    time_limit: str | None = None,
    about: Sequence[str] | None = (),
    turning: bool = False,
    least: str = "price",
    calculation: bool = False,
    shown_whole: bool = False,
    nearest: int | None = None,
) -> "Answer":
    """The answer to a case that was read from ``where``."""
    from recommender.choice.parts.goals import goal_named
    from recommender.choice.parts.options import refuse_unknown
    from recommender.inputs.case import check_currency, check_without

    goal, seconds = goal_named(least, "--least"), seconds_of(time_limit)
    catalogue, price_list = priced_catalogue(folder, prices, quiet=quiet)
    check_currency(case, catalogue.catalogue.currency, where)
    check_without(case, catalogue.items, where)
    refuse_unknown(about or (), case, catalogue)
    from recommender.recommend import recommend
    from recommender.views.progress import shown_progress

    with shown_progress(quiet=quiet) as report:
        answer = recommend(
            case,
            catalogue,
            in_brief=in_brief,
            about=about,
            turning=turning,
            seconds=left_of(seconds),
            progress=report,
            goal=goal,
            calculation=calculation,
            nearest=nearest,
        )
    # Who shows the whole answer shows this as well.
    if answer.unsettled and not shown_whole:
        tell(f"not settled within the time limit: {'; '.join(answer.unsettled)}", quiet=quiet)
    return replace(answer, prices=price_list)


def left_of(seconds: float | None) -> float | None:
    """What is left of a limit that counts from the beginning of the command."""
    return None if seconds is None else max(seconds - seconds_gone(), 0.0)
