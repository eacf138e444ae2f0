"""What became of a choice that was let run, or doubted, as a sheet shows it."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from recommender.faults import InputError
from recommender.result import OptionResult
from recommender.result_doubt import Doubt
from recommender.result_rehearsal import Rehearsal
from recommender.sheet.charts import course_chart, share_chart
from recommender.views import doubt_words, rehearsal_words

Trial = Rehearsal | Doubt


@dataclass(frozen=True)
class Told:
    """A trial in text and pictures: ``rows`` of names and values, and one table."""

    title: str
    rows: tuple[tuple[str, str], ...]
    caption: str
    heads: tuple[str, ...]
    table: tuple[tuple[str, ...], ...]
    words: int
    """Columns of the table that hold words, from the first."""
    chart_title: str
    chart: Markup | None
    closing: str


def refuse_others(choice: OptionResult | None, trials: Sequence[Trial]) -> None:
    """Refuse trials of another choice than that of the answer.

    Raises
    ------
    InputError
        With what they are about.
    """
    for trial in trials:
        about = f"{trial.option} with {trial.carriers} carriers"
        what = "rehearsal" if isinstance(trial, Rehearsal) else "doubt"
        if choice is None:
            raise InputError(f"--with: a {what} of {about}, but nothing is recommended")
        priced = isinstance(trial, Rehearsal) or trial.price == choice.price
        if (trial.option, trial.carriers) != (choice.id, choice.carriers) or not priced:
            raise InputError(
                f"--with: a {what} of {about}, where {choice.id} with {choice.carriers} carriers is"
                f" recommended for {choice.price} {choice.currency}; run it again for this answer"
            )


def told(trials: Sequence[Trial]) -> list[Told]:
    """What is said of each trial."""
    return [_rehearsal(t) if isinstance(t, Rehearsal) else _doubt(t) for t in trials]


def _rehearsal(found: Rehearsal) -> Told:
    return Told(
        rehearsal_words.title(found),
        tuple(rehearsal_words.rows(found)),
        "Stations, means over carriers, time and runs; carriers before a station are its queue",
        rehearsal_words.HEADS,
        tuple(rehearsal_words.station_row(run) for run in found.stations),
        1,
        "Position against time, each carrier a line",
        Markup(course_chart(found.courses, "courses")) if found.courses else None,
        rehearsal_words.kept(found),
    )


def _doubt(found: Doubt) -> Told:
    return Told(
        doubt_words.title(found),
        tuple(doubt_words.rows(found)),
        "Inputs that are not sure, the one that explains most first; low and high are the lowest"
        " and the highest tenth",
        doubt_words.HEADS,
        tuple(doubt_words.input_row(entry) for entry in found.inputs),
        2,
        "What it depends on",
        Markup(share_chart(found, "inputs")),
        doubt_words.ONE_VALUE,
    )
