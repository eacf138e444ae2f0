"""Results that go to a file by the end of its name."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from recommender.faults import InputError
from recommender.running import tell
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.results.answer import Answer, OptionResult

Value = TypeVar("Value")


def writer_of(
    output: Path | None,
    writers: Mapping[str, Callable[[Value], str | bytes]],
    *,
    force: bool,
    quiet: bool,
) -> Callable[[Value], None]:
    """What writes a result to a file, refused before anything is computed; nothing without a name.

    Parameters
    ----------
    output : Path, optional
    writers : mapping
        What makes the contents, by the end of the name.
    force : bool
        Whether a file may be replaced.
    quiet : bool
        Whether not to say what was written.

    Raises
    ------
    InputError
        If nothing can be written under the name, or a library for it is missing.
    """
    from recommender.files import refuse_existing, write_whole
    from recommender.views.workbook import refuse_without_library

    if output is None:
        return lambda value: None
    suffix = output.suffix.lower()
    if suffix not in writers:
        *some, last = writers
        raise InputError(f"{shown_path(output)}: the name must end in {', '.join(some)} or {last}")
    if suffix == ".xlsx":
        refuse_without_library()
    refuse_existing(output, force=force)

    def write(value: Value) -> None:
        write_whole(output, writers[suffix](value), force=force)
        tell(f"wrote {shown_path(output)}", quiet=quiet)

    return write


def parts_writers() -> "dict[str, Callable[[tuple[Answer, OptionResult]], str | bytes]]":
    """What makes a file of the parts of an option, by the end of its name."""
    from recommender.views.tables import parts_csv, parts_json, parts_title, parts_xlsx

    return {
        ".xlsx": lambda of: parts_xlsx(*of),
        ".csv": lambda of: parts_csv(of[1].parts, parts_title(*of), of[1].currency, of[1].delivery),
        ".json": lambda of: parts_json(of[1].parts),
    }
