"""Lines of loops in the commands that try a choice: rehearse and doubt."""

from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import priced_catalogue, seconds_of
from recommender.commands.lines import GivenToLine
from recommender.commands.saved import is_saved
from recommender.faults import InputError
from recommender.running import complain, tell
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.inputs.catalogue import Catalogue
    from recommender.lines.model import Line
    from recommender.lines.tried import TriedLine


def line_tried(path: Path, given_to: GivenToLine, what: str) -> "TriedLine | None":
    """What of a line is tried; ``None``, and said so, if there is no line that meets its file.

    Raises
    ------
    InputError
        If a saved answer was made with another catalogue.
    """
    given_to.refuse_least(path)
    found = _saved(path, given_to) if is_saved(path) else _read(path, given_to)
    if found is None:
        complain(f"{shown_path(path)}: no line meets this enquiry, so there is nothing to {what}")
    return found


def _read(path: Path, given_to: GivenToLine) -> "TriedLine | None":
    from recommender.inputs.case import check_without
    from recommender.lines.reading import check_line_currency, read_line

    name, line = shown_path(path), read_line(path)
    parts, _ = priced_catalogue(given_to.catalogue, given_to.prices, quiet=given_to.quiet)
    check_line_currency(line, parts.catalogue.currency, name)
    check_without(line.loops[0].case, parts.items, name)
    return _decided(line, parts, given_to)


def _decided(line: "Line", parts: "Catalogue", given_to: GivenToLine) -> "TriedLine | None":
    from recommender.choice.deadline import ending_in
    from recommender.lines.decide import decide_line
    from recommender.lines.tried import TriedLine
    from recommender.lines.whole import conditions_of, handovers_in, shared_result
    from recommender.views.progress import shown_progress

    seconds = seconds_of(given_to.time_limit)
    with shown_progress(quiet=given_to.quiet), ending_in(seconds):
        decision = decide_line(line, parts)
    chosen = decision.chosen
    if chosen is None:
        return None
    loops = zip(line.names, chosen.loops, chosen.built.cases, strict=True)
    return TriedLine(
        line,
        {name: (audit, case) for name, audit, case in loops},
        chosen.price,
        tuple(handovers_in(line, decision.turns)),
        shared_result(chosen, parts).supplies,
        conditions_of(chosen),
        parts,
    )


def _saved(path: Path, given_to: GivenToLine) -> "TriedLine | None":
    from recommender.lines.tried import TriedLine
    from recommender.saved_line import cases_in_line, line_of, read_saved_line
    from recommender.trials.rebuilt import rebuilt_option

    where = shown_path(path)
    if given_to.time_limit:
        raise InputError(f"{where}: a saved answer goes without --time-limit; name the line")
    answer = read_saved_line(path)
    parts, _ = priced_catalogue(given_to.catalogue, given_to.prices, quiet=given_to.quiet)
    if answer.catalogue.digest != parts.digest:
        raise InputError(
            f"{where}: was answered with another catalogue or other prices than"
            f" {parts.catalogue.id}; name them with --catalogue and --prices, or name the line"
        )
    if answer.shared is None or answer.price is None:
        return None
    line = line_of(answer, where)
    cases = cases_in_line(answer, line, parts) or {}
    audits = {
        loop.name: rebuilt_option(loop.chosen, answer.shared.controller, cases[loop.name], parts)
        for loop in answer.loops
        if loop.chosen is not None and loop.name in cases
    }
    loops = {name: (audit, cases[name]) for name, audit in audits.items() if audit is not None}
    if len(loops) == len(answer.loops):
        return TriedLine(
            line,
            loops,
            answer.price,
            answer.handovers,
            answer.shared.supplies,
            answer.conditions,
            parts,
        )
    tell(f"{where}: its figures are rounded; the line is answered again", quiet=given_to.quiet)
    return _decided(line, parts, given_to)
