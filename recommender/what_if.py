"""Answers a case again and again with one or two of its numbers changed."""

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from itertools import product
from typing import Any, Final

from recommender.choice.checks import FIXED
from recommender.choice.checks.configured import BUDGET
from recommender.choice.deadline import ending_in, time_left
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.errors import InputError, as_written
from recommender.inputs.given import put
from recommender.recommend import recommend
from recommender.results.answer import Answer, CauseResult, OptionResult
from recommender.results.what_if import Varied, WhatIf, WhatIfCell
from recommender.shown import shown

Report = Callable[[str, int, int], None]

MOST_KEYS: Final = 2
MOST_CELLS: Final = 60
_WORDS: Final = 5
# A comma between digits belongs to a number, whose refusal says so.
_COMMA: Final = re.compile(r"(?<!\d),|,(?!\d)")


def read_varied(texts: Sequence[str]) -> tuple[Varied, ...]:
    """Keys and their values from text.

    Raises
    ------
    InputError
        If there are too many, or one is no key with values.

    Examples
    --------
    >>> read_varied(["load.mass=20 kg, 25 kg"])
    (Varied(key='load.mass', values=('20 kg', '25 kg')),)
    """
    varied = tuple(_varied(text) for text in texts)
    if len(varied) > MOST_KEYS:
        raise InputError(f"--vary may be given {MOST_KEYS} times at most (read: {len(varied)})")
    if len({entry.key for entry in varied}) < len(varied):
        raise InputError(f"--vary names {shown(varied[0].key)} twice; give its values at once")
    cells = 1
    for entry in varied:
        cells *= len(entry.values)
    if cells > MOST_CELLS:
        raise InputError(f"--vary makes {cells} cells; {MOST_CELLS} at most are worked out")
    return varied


def _varied(text: str) -> Varied:
    key, _, values = text.partition("=")
    listed = tuple(value.strip() for value in _COMMA.split(values))
    if not key.strip() or not all(listed):
        raise InputError(
            f'--vary must be a key with values, such as load.mass="20 kg, 25 kg"'
            f" (read: {as_written(text)})"
        )
    return Varied(key.strip(), tuple(dict.fromkeys(listed)))


def varied_cases(
    data: Mapping[str, Any], varied: Sequence[Varied], where: str
) -> Iterator[tuple[tuple[str, ...], Case]]:
    """The case for each combination of values, all read by the reader of cases.

    Raises
    ------
    InputError
        As ``make_case``, naming the value.
    """
    for values, told in combinations(varied):
        changed = deepcopy(dict(data))
        for entry, value in zip(varied, values, strict=True):
            put(changed, entry.key, value, "--vary")
        yield values, make_case(changed, f"{where} with {told}")


def combinations(varied: Sequence[Varied]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Values of all that varies together, and how a message names them.

    >>> list(combinations([Varied("load.mass", ("20 kg", "25 kg"))]))
    [(('20 kg',), 'load.mass = 20 kg'), (('25 kg',), 'load.mass = 25 kg')]
    """
    for values in product(*(entry.values for entry in varied)):
        told = (f"{e.key} = {shown(v)}" for e, v in zip(varied, values, strict=True))
        yield values, ", ".join(told)


def what_if(
    data: Mapping[str, Any],
    varied: Sequence[Varied],
    catalogue: Catalogue,
    where: str,
    *,
    seconds: float | None = None,
    progress: Report | None = None,
) -> WhatIf:
    """What is recommended for each combination of values.

    Nothing is worked out before all of them are read.

    Parameters
    ----------
    data : mapping
        The case as its file has it.
    varied : sequence of Varied
    catalogue : Catalogue
    where : str
        What a message names.
    seconds : float, optional
        Time after which the rest is left; a cell that it cuts short is not proven.
    progress : callable, optional

    Raises
    ------
    InputError
        If a value is refused.
    """
    asked = make_case(dict(data), where)
    cases = list(varied_cases(data, varied, where))
    cells = []
    with ending_in(seconds):
        for number, (values, case) in enumerate(cases, start=1):
            left = None if seconds is None else time_left()
            answer = recommend(case, catalogue, in_brief=True, seconds=left, nearest=0)
            cells.append(_cell(values, case == asked, answer))
            if progress is not None:
                progress("What if", number, len(cases))
    return WhatIf(asked.title, catalogue.catalogue.currency, tuple(varied), tuple(cells))


def _cell(values: tuple[str, ...], as_asked: bool, answer: Answer) -> WhatIfCell:
    choice = answer.choice
    return WhatIfCell(
        values=values,
        as_asked=as_asked,
        recommended=answer.recommended,
        carriers=choice.carriers if choice else None,
        length_m=choice.loop.length_m if choice and choice.loop else None,
        price=choice.price if choice else None,
        proven=answer.proof.optimal if answer.proof else False,
        why="" if choice else why_none(answer.options),
    )


def why_none(options: Sequence[OptionResult]) -> str:
    """What stands in the way of the option that comes nearest, in five words at most."""
    if any(not option.causes for option in options):
        return "nothing found, not all decided"
    nearest = min(options, key=_distance)
    worst = max(nearest.causes, key=_excess)
    return IN_SHORT.get(worst.check, "see recommender why")


IN_SHORT: Final = {
    "rating.payload": "too heavy for the carriers",
    "rating.roll_moment": "roll moment beyond the carriers",
    "rating.pitch_moment": "pitch moment beyond the carriers",
    "rating.yaw_moment": "yaw moment beyond the carriers",
    "rating.speed": "faster than carriers may go",
    "pair.bend": "pairs too long for bends",
    "guide.bend_fit": "rollers do not fit bends",
    "loop.width": "floor across is too narrow",
    "loop.height": "room above is too low",
    "loop.extent": "floor along is too short",
    "loop.length": "guide would be too long",
    "loop.stations": "no room for the stations",
    "load.holding": "load not held upside down",
    "load.slip": "load would slip",
    "load.tip": "load would tip over",
    "load.clamp": "clamp would not hold",
    "load.spill": "liquid would spill",
    "load.acceleration": "too harsh for the load",
    "limit.acceleration": "acceleration beyond what is allowed",
    "limit.speed": "speed beyond what is allowed",
    "limit.jerk": "jerk beyond what is allowed",
    "limit.jerk_bend": "jerk at bends too high",
    "house.acceleration": "harsher than the house builds",
    "station.deflection": "process presses the load aside",
    "station.exchange": "stations take too long",
    "drive.standing": "too heavy to hold upright",
    "drive.peak_bend": "drive too weak in bends",
    "drive.peak_straight": "drive too weak on straights",
    "drive.continuous": "windings would get too hot",
    "roller.static": "bearings loaded too highly",
    "roller.working_load": "rollers loaded too highly",
    "roller.life": "rollers would not last",
    "fleet.gaps": "stations stand too close together",
    "fleet.bend_spacing": "carriers too close in bends",
    "fleet.room": "places are held too long",
    "fleet.lap": "lap too long for rate",
    "fleet.places": "no room for enough carriers",
    "fleet.takt": "takt cannot be kept",
    "supply.mean": "mean power too high",
    "supply.peak": "peak power too high",
    "supply.sections": "too many sections to serve",
    "supply.number": "too many supplies for cabinet",
    "supply.feeds": "feeds too far apart",
    "supply.voltage": "voltage drops too far",
    "controller.carriers": "too many carriers to command",
    "braking.energy": "braking energy has no place",
    "braking.power": "braking power has no place",
    "commercial.budget": "dearer than the budget",
    "commercial.delivery": "slowest part comes too late",
    "commercial.chain": "delivery would be too late",
}
"""What fails, in five words at most."""


def _distance(option: OptionResult) -> tuple[bool, bool, int, float]:
    """How far an option is from working: what lacks money alone is nearest, and then what a case
    can change."""
    checks = {cause.check for cause in option.causes}
    fixed = not checks.isdisjoint(FIXED)
    excess = max(map(_excess, option.causes))
    return checks != {BUDGET}, fixed, len(option.causes), excess


def _excess(cause: CauseResult) -> float:
    """How far a demand is from its limit; what is allowed nothing at all is farthest."""
    return cause.demand / cause.limit if cause.limit > 0.0 else math.inf
