"""Lines of loops in the command that asks how often a choice holds."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.line_tried import line_tried
from recommender.commands.lines import GivenToLine
from recommender.commands.writing import writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_text
from recommender.shown import shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.lines.result_doubt import LineDoubt


@dataclass(frozen=True)
class Drawn:
    """What is not sure of a line, and how often it is drawn."""

    vary: Sequence[str]
    draws: int
    seed: int
    enough: float
    no_reserve: bool
    save: Path | None

    def refuse(self, path: Path) -> None:
        """Refuse what a doubt about a line goes without.

        Raises
        ------
        InputError
            With what would do.
        """
        begun = f"{shown_path(path)}: holds a line of loops, whose doubt goes without"
        if self.no_reserve:
            raise InputError(f"{begun} --no-reserve; write rate.reserve = 0 in the line's file")
        if self.save is not None:
            raise InputError(
                f"{begun} --save, as its sheet shows none; leave it out, and write -o FILE.json"
            )


def doubt_line_command(
    path: Path,
    asked: Drawn,
    output: Path | None,
    given_to: GivenToLine,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """What ``doubt`` does with a line."""
    from recommender.lines.doubt import doubt_line
    from recommender.lines.unsure import read_unsure_in_line
    from recommender.views.line_doubt import line_doubt_csv, line_doubt_json, show_line_doubt
    from recommender.views.progress import shown_progress

    asked.refuse(path)
    writers: dict[str, Callable[[LineDoubt], str | bytes]] = {
        ".csv": line_doubt_csv,
        ".json": lambda found: line_doubt_json(found) + "\n",
    }
    write = writer_of(output, writers, force=force, quiet=given_to.quiet)
    line = line_tried(path, given_to, "doubt")
    if line is None:
        return NONE_MEETS
    with shown_progress(quiet=given_to.quiet) as report, written_in(line.line.units):
        found = doubt_line(
            line,
            read_unsure_in_line(asked.vary, line),
            draws=asked.draws,
            seed=asked.seed,
            asked=asked.enough,
            assumed=not asked.vary,
            progress=report,
        )
    write(found)
    if as_json:
        print_text(line_doubt_json(found))
    elif output is None:
        with written_in(line.line.units):
            show_line_doubt(console(), found)
    return DONE
