"""What became of a choice that was let run, doubted or mapped, as a sheet shows it."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from recommender.faults import InputError
from recommender.results.answer import OptionResult
from recommender.results.doubt import Doubt
from recommender.results.map import Map
from recommender.results.rehearsal import Rehearsal
from recommender.sheet.charts import course_chart, map_chart, share_chart
from recommender.views import doubt_words, map_words, rehearsal_words

Trial = Rehearsal | Doubt | Map


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
        if isinstance(trial, Map):
            _refuse_other_map(choice, trial)
            continue
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


def _refuse_other_map(choice: OptionResult | None, found: Map) -> None:
    own = found.asked
    known = None if choice is None else (choice.id, choice.carriers, choice.price)
    if known != (None if own.option is None else (own.option, own.carriers, own.price)):
        about = map_words.cell_words(own, found.currency)
        other = "nothing" if choice is None else f"{choice.id} for {choice.price} {choice.currency}"
        raise InputError(
            f"--with: a map of a case for which it has {about}, where {other} is recommended; run"
            " it again for this answer"
        )


def told(trials: Sequence[Trial]) -> list[Told]:
    """What is said of each trial."""
    return [_told(trial, number) for number, trial in enumerate(trials)]


def _told(trial: Trial, number: int) -> Told:
    if isinstance(trial, Map):
        return _map(trial, f"map{number}")
    return _rehearsal(trial) if isinstance(trial, Rehearsal) else _doubt(trial)


def _map(found: Map, prefix: str) -> Told:
    letters = map_words.letters(found)
    return Told(
        map_words.title(found),
        tuple(map_words.rows(found)),
        "Options that are cheapest somewhere, by their lowest price, whose share of the map they"
        f" have, and from which price to which, {found.currency}",
        map_words.HEADS,
        tuple(map_words.option_row(o, found, letters[o.id]) for o in found.options),
        3,
        "What is cheapest; the star is this case",
        Markup(map_chart(found, prefix)),
        map_words.CLOSING,
    )


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
