"""Lines of loops in the command that compares two answers."""

from dataclasses import replace
from pathlib import Path

from recommender.commands.lines import GivenToLine, line_answer_of, status_of
from recommender.commands.saved import is_saved
from recommender.running import console, print_json
from recommender.units import written_in


def changed_lines(old: Path, new: Path, *, as_json: bool, given_to: GivenToLine) -> int:
    """What ``changed`` does with two lines, or answers to them that were saved."""
    from recommender.lines.changes import line_changes_between
    from recommender.results.answer import document
    from recommender.views.line_changed import show_line_changes

    before, after = (
        line_answer_of(
            path,
            # Of the two only what is answered here is answered with anything.
            replace(given_to, catalogue=None, prices=None, time_limit=None)
            if is_saved(path)
            else given_to,
            in_brief=True,
        )
        for path in (old, new)
    )
    changes = line_changes_between(before, after)
    if as_json:
        print_json(document(changes))
    else:
        with written_in(after.units):
            show_line_changes(console(), changes)
    return status_of(after)
