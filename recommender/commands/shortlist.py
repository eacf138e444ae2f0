"""Which options a comparison shows, and in which order."""

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from recommender.faults import InputError
from recommender.shown import shown

if TYPE_CHECKING:
    from recommender.results.answer import Answer, OptionResult

MOST_SIDE_BY_SIDE: Final = 3
"""Options whose ids stay whole in 80 columns."""

_Key = Callable[["OptionResult"], float | None]
SORTS: Final[dict[str, _Key]] = {
    "price": lambda option: float(option.price) if option.price is not None else None,
    "carriers": lambda option: option.carriers,
    "length": lambda option: option.loop.length_m if option.loop else None,
    "floor": lambda o: o.loop.floor_width_m * o.loop.floor_extent_m if o.loop else None,
    "delivery": lambda option: option.delivery.weeks if option.delivery else None,
    "energy": lambda option: option.running.energy_kwh_a_year if option.running else None,
    "rate": lambda option: -option.rate_per_min if option.rate_per_min is not None else None,
}
"""What options are sorted by, the least first; the highest rate."""


def refuse_unknown_sort(sort: str | None) -> None:
    """Refuse an order that there is not.

    Raises
    ------
    InputError
        With those that there are.
    """
    if sort is not None and sort not in SORTS:
        raise InputError(f"--sort must be {_either(list(SORTS))} (read: {shown(sort)})")


def picked(answer: "Answer", sort: str | None, only: Sequence[str]) -> list["OptionResult"]:
    """Options of a kind in an order, those that work first.

    Raises
    ------
    InputError
        If there is no such order or kind, or no option of it.
    """
    from recommender.views.terminal import ordered

    refuse_unknown_sort(sort)
    found = ordered(answer.options)
    for word in only:
        kept = [option for option in found if is_of(option, word)]
        if not kept and not any(is_of(option, word) for option in answer.options):
            raise InputError(
                f"--only {shown(word)}: no option is that; {known_kinds(answer.options)}"
            )
        found = kept
    if not found:
        raise InputError(f"--only: no option is {' and '.join(map(shown, only))}")
    if sort is None:
        return found
    key = SORTS[sort]
    return sorted(found, key=lambda option: (not _works(option), _last(key(option))))


def _last(value: float | None) -> float:
    return math.inf if value is None else value


def _works(option: "OptionResult") -> bool:
    return option.price is not None


def is_of(option: "OptionResult", word: str) -> bool:
    """Whether an option is what --only says."""
    if word in ("works", "fails"):
        return _works(option) == (word == "works")
    return word in (option.verdict, option.family, option.carrier, option.bend)


def known_kinds(options: "Sequence[OptionResult]") -> str:
    """What --only may say of some options."""
    families = sorted({option.family for option in options})
    return f"give works, fails, the id of a carrier or bend, or a family: {', '.join(families)}"


def _either(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}"
