"""Recommends the cheapest carriers and loop that meet an enquiry, and explains the rest.

The door for other programs: read a case and a catalogue, ask for the answer, write it as JSON.

Examples
--------
>>> import recommender
>>> catalogue = recommender.read_catalogue()
>>> case = recommender.make_case({"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}})
>>> round(case.rate.items, 4)
0.3333

``recommender.answer(case, catalogue)`` then gives an `Answer`: `Answer.choice` is the recommended
option with its loop, motion, checks and parts, and `as_json` its JSON document, whose JSON Schema
``recommender schema answer`` writes. What is needed is imported when it is used, so that importing
the package costs nothing.
"""

# As `typing` has it, whose import alone takes longer than a signal may stay unheard.
TYPE_CHECKING = False

if TYPE_CHECKING:
    from collections.abc import Mapping
    from concurrent.futures import Executor
    from pathlib import Path
    from typing import Any

    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue
    from recommender.inputs.errors import InputError
    from recommender.results.answer import Answer
    from recommender.results.batch import Line

__all__ = [
    "Answer",
    "Case",
    "Catalogue",
    "InputError",
    "answer",
    "answer_many",
    "as_json",
    "make_case",
    "read_case",
    "read_catalogue",
]

_HOMES = {
    "Answer": "recommender.results.answer",
    "Case": "recommender.inputs.case",
    "Catalogue": "recommender.inputs.catalogue",
    "InputError": "recommender.inputs.errors",
}


def read_case(path: "str | Path") -> "Case":
    """A case from a TOML file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Case

    Raises
    ------
    InputError
        With one line for each fault: file, key, what was read, what would do.
    """
    from pathlib import Path

    from recommender.inputs import case

    return case.read_case(Path(path))


def make_case(data: "Mapping[str, Any]") -> "Case":
    """A case from plain data, as a TOML file gives it: quantities are text with a unit.

    Parameters
    ----------
    data : mapping

    Returns
    -------
    Case

    Raises
    ------
    InputError
        As `read_case`.
    """
    from recommender.inputs import case

    return case.make_case(dict(data), "the case")


def read_catalogue(folder: "str | Path | None" = None) -> "Catalogue":
    """A catalogue from a folder of TOML files, or the one that comes with the program.

    Parameters
    ----------
    folder : str or Path, optional

    Returns
    -------
    Catalogue

    Raises
    ------
    InputError
        With one line for each fault.
    """
    from pathlib import Path

    from recommender.inputs import catalogue, files

    return catalogue.read_catalogue(files.shipped("catalog") if folder is None else Path(folder))


def answer(
    case: "Case",
    catalogue: "Catalogue",
    *,
    brief: bool = False,
    why: str | None = None,
    every: bool = False,
    seconds: float | None = None,
    least: str = "price",
) -> "Answer":
    """Answer a case from a catalogue.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    brief : bool
        Whether to leave out what would have to give; quicker.
    why : str, optional
        Id of an option that is asked about in depth.
    every : bool
        Whether all options that fail are looked into in depth, and not only the near misses.
    seconds : float, optional
        Time after which the rest is left out; ``Answer.unsettled`` says what.
    least : str
        What is to be least: price, floor, delivery or energy.

    Returns
    -------
    Answer
        Its status is ``recommended``, or ``none`` if no option meets the case.

    Raises
    ------
    InputError
        If the budget is in another money than the catalogue's, or there is no such option.
    """
    from recommender.choice.parts.options import refuse_unknown

    refuse_unknown((why,) if why else (), case, catalogue)
    from recommender.choice.parts.goals import goal_named
    from recommender.recommend import recommend

    about = None if every else (why,) if why else ()
    return recommend(
        case,
        catalogue,
        in_brief=brief,
        about=about,
        turning=why is not None,
        seconds=seconds,
        goal=goal_named(least, "least"),
    )


def answer_many(
    cases: "Mapping[str, Mapping[str, Any]]",
    catalogue: "Catalogue",
    *,
    executor: "Executor | None" = None,
    seconds: float | None = None,
) -> "list[Line]":
    """Answer many cases in brief; one that is wrong does not stop the rest.

    Parameters
    ----------
    cases : mapping
        Plain data of each case, as for `make_case`, or of a line of loops, by its name.
    catalogue : Catalogue
    executor : concurrent.futures.Executor, optional
        Where they are answered: a pool of processes, or a cluster's executor. In this process if
        it is not given.
    seconds : float, optional
        Longest time for each proof.

    Returns
    -------
    list of Line
        One for each case, in their order.
    """
    from recommender.lines.batch import answer_any
    from recommender.trials import batch
    from recommender.trials.jobs import Job

    jobs = [Job(name, dict(data)) for name, data in cases.items()]
    return batch.answer_many(jobs, catalogue, executor=executor, seconds=seconds, answer=answer_any)


def as_json(answer: "Answer") -> str:
    """An answer as one JSON document.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    str
    """
    from recommender.results import answer as results

    return results.as_json(answer)


def __getattr__(name: str) -> "Any":
    """Types of the door, from where they live."""
    if name not in _HOMES:
        raise AttributeError(f"module 'recommender' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)
