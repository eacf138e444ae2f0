"""Inputs of a line that are not sure, and what each loop sees of the same draws."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from recommender.faults import InputError
from recommender.inputs.case import Case
from recommender.lines.tried import TriedLine
from recommender.physics.constants import Array
from recommender.shown import shown
from recommender.trials.outcome import Draws
from recommender.trials.unsure import MOST_INPUTS, Unsure, keys_of, read_unsure

_ABOVE: Final = ("site", "life")
_RATE: Final = "rate.items"
_ALL: Final = "dwell"


@dataclass(frozen=True)
class UnsureInputs:
    """Inputs of a line that are not sure.

    Parameters
    ----------
    inputs : tuple of Unsure
        Under the keys of the line: behind a loop, or without one where it stands above them.
    of : dict
        For each input the loops that have it, with the key of their own case.
    fixed : tuple of str
        Inputs that were meant as well, but are taken as they stand.
    """

    inputs: tuple[Unsure, ...]
    of: tuple[tuple[tuple[str, str], ...], ...]
    fixed: tuple[str, ...]

    def seen(self, line: TriedLine, drawn: Draws) -> dict[str, Draws]:
        """What each loop sees of the draws; one that sees nothing of them has one input at rest."""
        rates = _rates(line, self, drawn)
        return {name: _of_loop(self, drawn, name, line, rates) for name in line.loops}


def read_unsure_in_line(texts: Sequence[str], line: TriedLine) -> UnsureInputs:
    """Inputs as they are said: as for a case, with the loop before the key.

    ``dwell`` alone is for all loops and ``boxes.dwell`` for one. Without any the usual ones are
    taken in each loop.

    Raises
    ------
    InputError
        With what was read and what would do.
    """
    found: dict[str, tuple[Unsure, tuple[tuple[str, str], ...]]] = {}
    fixed: list[str] = []
    for loop, text in _addressed(texts, line):
        sharing = [] if loop else _sharing(line, text)
        names = [loop] if loop else sharing
        for unsure in _read(text, line.loops[names[0]][1], names[0]):
            key = f"{loop}.{unsure.key}" if loop else unsure.key
            reason = _tied(line, names[0], unsure.key)
            if reason and _meant(text):
                raise InputError(f"--vary: {shown(key)} {reason}")
            if reason:
                fixed.append(key)
                continue
            if loop:
                _refuse_above(line, loop, unsure.key)
            own = tuple((name, unsure.key) for name in names)
            found[key] = replace(unsure, key=key), own
    if not found:
        raise InputError("--vary: no input is left that may be unsure; name one, such as"
                         f" {shown(line.names[0])}.load.mass=\"±10 %\"")  # fmt: skip
    if len(found) > MOST_INPUTS * len(line.loops):
        raise InputError(
            f"--vary: {len(found)} inputs are not sure; {MOST_INPUTS * len(line.loops)} at most"
        )
    inputs, of = zip(*found.values(), strict=True)
    return UnsureInputs(tuple(inputs), tuple(of), tuple(dict.fromkeys(fixed)))


def _addressed(texts: Sequence[str], line: TriedLine) -> Iterator[tuple[str, str]]:
    """Each text without its loop, and that loop; none where it stands above the loops."""
    if not texts:
        yield from ((name, "") for name in line.names)
    for text in texts:
        head, point, rest = text.strip().partition(".")
        if point and head in line.names:
            yield head, rest
        elif text.partition("=")[0].strip() == _ALL:
            yield from ((name, text) for name in line.names)
        elif head in _ABOVE:
            yield "", text
        else:
            raise InputError(
                f"--vary: an input of a line stands behind its loop ({', '.join(line.names)}), or"
                f" above the loops ({', '.join(_ABOVE)}); write such as"
                f' {line.names[0]}.load.mass="±10 %" (read: {shown(text)})'
            )


def _read(text: str, case: Case, loop: str) -> Sequence[Unsure]:
    try:
        return read_unsure([text] if text else [], case)
    except InputError as error:
        raise InputError(f"loop {shown(loop)}: {error}") from None


def _meant(text: str) -> bool:
    """Whether a text names one input and is not for all of a kind."""
    key = text.partition("=")[0].strip()
    return bool(key) and key != _ALL


def _sharing(line: TriedLine, text: str) -> list[str]:
    """Loops that have a key from above."""
    key = text.partition("=")[0].strip()
    names = [name for name in line.names if key not in line.own[name]]
    if not names:
        raise InputError(
            f"--vary: every loop says {shown(key)} itself; name it behind a loop, such as"
            f" {shown(line.names[0])}.{shown(key)}"
        )
    return names


def _refuse_above(line: TriedLine, loop: str, key: str) -> None:
    """Refuse to draw for one loop alone what it shares with others."""
    if key.startswith(tuple(f"{table}." for table in _ABOVE)) and key not in line.own[loop]:
        raise InputError(
            f"--vary: {shown(loop)} has {shown(key)} from above the loops, where it is one value"
            f" for all of them; write {shown(key)} without a loop"
        )


def _tied(line: TriedLine, loop: str, key: str) -> str:
    """Why an input is taken as it stands; empty if it may be unsure."""
    direct = [handover for handover in line.handovers if handover.between == "direct"]
    if any(f"{loop}.{key}" == f"{loop}.station.{place.partition('.')[2]}.dwell"
           for place in line.places if place.partition(".")[0] == loop):  # fmt: skip
        return "follows from the units that a box stands for; it is no input"
    if key == _RATE and line.supplied[loop]:
        return "follows from the handovers; let that of the loop that supplies it be unsure"
    because = (
        "sets how long boxes stand in a direct handover, and is taken as it stands; see what"
        " another value gives with compare --vary"
    )
    for handover in direct:
        giver, _, station = handover.giver.partition(".")
        if loop == giver and key == f"station.{station}.dwell":
            return because
    if key == _RATE and any(_from(line, loop, h.giver.partition(".")[0]) for h in direct):
        return because
    limited = any(condition.id.startswith("line.floor.") for condition in line.conditions)
    if limited and key in _SIZES:
        return (
            "changes the floor of all loops, of which no draw knows; leave it out, or the limits"
            " of the floor"
        )
    return ""


_SIZES: Final = ("load.length", "load.width", "load.reach", "load.offset")


def _from(line: TriedLine, source: str, loop: str) -> bool:
    """Whether the rate of a loop is that of another, or follows from it."""
    into = [h for h in line.handovers if h.taker.partition(".")[0] == loop]
    return loop == source or any(_from(line, source, h.giver.partition(".")[0]) for h in into)


# What loops see ------------------------------------------------------------------------------


def _rates(line: TriedLine, unsure: UnsureInputs, drawn: Draws) -> dict[str, Array]:
    """Items a second of each loop whose rate is not sure, in all draws."""
    found = {
        loop: drawn.values[:, k]
        for k, own in enumerate(unsure.of)
        for loop, key in own
        if key == _RATE
    }
    for _ in line.names:  # as often as a chain of handovers may be long
        for name in line.names:
            into = [h for h in line.handovers if h.taker.partition(".")[0] == name]
            # Several stations of a loop are brought the same; those of one add up.
            first = [h for h in into if h.taker == into[0].taker]
            givers = [h.giver.partition(".")[0] for h in first]
            if any(giver in found for giver in givers):
                count = len(drawn.values)
                parts = [
                    h.share * found.get(g, np.full(count, line.loops[g][1].rate.items)) / h.items
                    for h, g in zip(first, givers, strict=True)
                ]
                found[name] = np.sum(parts, axis=0)
    return found


def _of_loop(
    unsure: UnsureInputs, drawn: Draws, loop: str, line: TriedLine, rates: dict[str, Array]
) -> Draws:
    columns: list[tuple[Unsure, Array, Array]] = []
    for k, own in enumerate(unsure.of):
        for name, key in own:
            if name == loop:
                entry = replace(unsure.inputs[k], key=key)
                columns.append((entry, drawn.quantiles[:, k], drawn.values[:, k]))
    if line.supplied[loop] and loop in rates:
        values = rates[loop]
        # Of several that bring it no quantile is known but that of the draws themselves.
        ranks = (np.argsort(np.argsort(values)) + 0.5) / len(values)
        columns.append((Unsure(_RATE, float(values.min()), float(values.max())), ranks, values))
    if not columns:
        key, value = next(iter(keys_of(line.loops[loop][1]).items()))
        still = np.full(len(drawn.values), value)
        columns.append((Unsure(key, value, value), drawn.quantiles[:, 0], still))
    inputs, levels, values_ = zip(*columns, strict=True)
    return Draws(tuple(inputs), np.stack(levels, axis=1), np.stack(values_, axis=1))
