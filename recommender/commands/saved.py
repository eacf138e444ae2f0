"""Answers that were saved, in place of cases: read without computing again."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from recommender.commands.answering import answer_case
from recommender.commands.common import read_case_of
from recommender.faults import InputError, nearest_ids
from recommender.shown import shown, shown_path

if TYPE_CHECKING:
    from recommender.results.answer import Answer

SUFFIX: Final = ".json"

Asked = Annotated[
    Path, typer.Argument(metavar="CASE", help="Case file (TOML), or a saved answer (JSON).")
]


def is_saved(path: Path) -> bool:
    """Whether a name is that of a saved answer and not of a case."""
    return path.suffix.lower() == SUFFIX


def answer_of(
    path: Path,
    *,
    catalogue: Path | None = None,
    prices: Path | None = None,
    time_limit: str | None = None,
    quiet: bool = False,
    in_brief: bool = False,
    about: Sequence[str] | None = (),
    turning: bool = False,
    least: str = "price",
    calculation: bool = False,
    nearest: int | None = None,
) -> "Answer":
    """The answer to a case, or one that was saved.

    Parameters
    ----------
    path : Path
        A case, or a saved answer, whose name ends in ``.json``.
    catalogue, prices, time_limit
        What a case is answered with; a saved answer goes without.
    quiet : bool
        Whether to show no progress.
    in_brief : bool
        Whether no explanation is wanted. Where one is, an answer that was saved without is refused.
    about : sequence of str, optional
        Ids of options that are asked about in depth, refused where there is no such option;
        ``None`` for all.
    turning : bool
        Whether to look for the values at which another option would be recommended.
    least : str
        What is to be least.
    calculation : bool
        Whether the answer is to hold what a calculation sheet shows; a saved one does.
    nearest : int, optional
        How many options besides the choice are looked at to the end; all unless given.

    Raises
    ------
    InputError
        With what would do.
    """
    if is_saved(path):
        given = {
            "--catalogue": catalogue,
            "--prices": prices,
            "--time-limit": time_limit,
            "--least": least != "price",
        }
        return _saved(path, [flag for flag, value in given.items() if value], in_brief, about or ())
    return answer_case(
        read_case_of(path),
        catalogue,
        shown_path(path),
        prices=prices,
        quiet=quiet,
        in_brief=in_brief,
        time_limit=time_limit,
        about=about,
        turning=turning,
        least=least,
        calculation=calculation,
        nearest=nearest,
    )


def _saved(path: Path, flags: Sequence[str], in_brief: bool, about: Sequence[str]) -> "Answer":
    from recommender.saved import read_saved

    name = shown_path(path)
    if flags:
        raise InputError(f"{name}: a saved answer goes without {', '.join(flags)}; name the case")
    answer = read_saved(path)
    if not in_brief and not answer.extent.explained:
        raise InputError(
            f"{name}: was saved with --brief, without what would have to give; name the case, or"
            " save it again without --brief"
        )
    for id_ in about:
        if answer.option(id_) is None:
            known = [option.id for option in answer.options]
            raise InputError(f"there is no option '{shown(id_)}'; {nearest_ids(id_, known)}")
    return answer


def refuse_target(path: Path, *, force: bool) -> None:
    """Refuse a name under which no answer can be saved, before anything is computed."""
    from recommender.files import refuse_existing

    if not is_saved(path):
        raise InputError(f"{shown_path(path)}: the name of a saved answer must end in {SUFFIX}")
    refuse_existing(path, force=force)


def save(answer: "Answer", path: Path, *, force: bool) -> None:
    """Write an answer in full."""
    from recommender.files import write_whole
    from recommender.results.answer import as_json

    write_whole(path, as_json(answer) + "\n", force=force)
