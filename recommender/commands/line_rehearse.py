"""Lines of loops in the command that lets a choice run."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from recommender.commands.line_tried import line_tried
from recommender.commands.lines import GivenToLine
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_text, tell
from recommender.shown import shown_path


@dataclass(frozen=True)
class Runs:
    """How a line is let run."""

    hours: float
    runs: int
    seed: int
    vary: Sequence[str]
    stops: Sequence[str]
    free: bool


def rehearse_line_command(
    path: Path, runs: Runs, diagram: Path | None, save: Path | None, given_to: GivenToLine,
    *, force: bool, as_json: bool,
) -> int:  # fmt: skip
    """What ``rehearse`` does with a line."""
    from recommender.files import refuse_existing, write_whole
    from recommender.lines.rehearse import chances_of, rehearse_line
    from recommender.trials.diagram import diagram as drawn
    from recommender.views.line_rehearsal import line_rehearsal_json, show_line_rehearsal
    from recommender.views.progress import shown_progress

    if save is not None:
        raise InputError(
            f"{shown_path(path)}: holds a line of loops, whose sheet shows no rehearsal, so that"
            " there is nothing to --save; leave it out, and keep what --json prints"
        )
    line = line_tried(path, given_to, "rehearse")
    if line is None:
        return NONE_MEETS
    chances = chances_of(line, runs.vary, runs.stops)
    pictures = {}
    if diagram is not None:
        pictures = {
            name: diagram.with_name(f"{diagram.stem}-{name}{diagram.suffix}") for name in line.loops
        }
        for picture in pictures.values():
            refuse_existing(picture, force=force)
    with shown_progress(quiet=given_to.quiet) as report:
        found, traces = rehearse_line(
            line,
            chances,
            hours=runs.hours,
            replications=runs.runs,
            seed=runs.seed,
            pace=not runs.free,
            progress=report,
        )
    for name, picture in pictures.items():
        write_whole(picture, drawn(traces[name], picture.suffix.lower()), force=force)
        tell(f"wrote {shown_path(picture)}", quiet=given_to.quiet)
    if as_json:
        print_text(line_rehearsal_json(found))
    else:
        show_line_rehearsal(console(), found)
    return DONE
