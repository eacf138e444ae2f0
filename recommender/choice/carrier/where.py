"""What governs a check, as data: a load case, a roller, a station, a part, whichever apply.

It is put into words where an answer is written and nowhere before, and no words are read back: a
station may be called whatever its owner likes.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from recommender.choice.carrier.directions import Direction

_ON_STRAIGHTS: Final = frozenset({"speeding up", "braking", "cruising", "emergency", "process"})


@dataclass(frozen=True)
class Where:
    """What governs a check.

    Parameters
    ----------
    load_case : Direction, optional
    truck, roller : str
        Of a coupled pair ``front truck`` or ``rear truck``; ``front inner roller`` or another.
    axis : str
        ``along`` or ``across``: the way in which something happens, seen along the travel.
    station, following : str
        Name of a station, and of the next one where the way between the two governs.
    part : str
        Id of a part of the catalogue.
    sections : (int, int), optional
        First and last section, counted from 1 along the travel.
    bends : bool
        Whether it happens at the ends of the bends, in no load case of its own.
    words : str
        How it is read, with ``{station}``, ``{part}`` where the name belongs; for what has no
        field of its own simply the text.

    Examples
    --------
    >>> Where(station="press", words="stop at {station}").text
    'stop at press'
    >>> Where(part="dc-500", sections=(3, 7)).text
    'dc-500 on sections 3 to 7'
    """

    load_case: Direction | None = None
    truck: str = ""
    roller: str = ""
    axis: str = ""
    station: str = ""
    following: str = ""
    part: str = ""
    sections: tuple[int, int] | None = None
    bends: bool = False
    words: str = ""

    @staticmethod
    def of(label: "Where | str") -> "Where":
        """A label as it is, or plain text as words about nothing that is known further."""
        return label if isinstance(label, Where) else Where(words=label)

    @property
    def in_bends(self) -> bool:
        """Whether it happens in the bends or at their ends."""
        return self.bends or (
            self.load_case is not None and self.load_case.kind not in _ON_STRAIGHTS
        )

    @cached_property
    def text(self) -> str:
        """In words, for a table; empty if nothing in particular governs."""
        if self.words:
            # One pass, so that a name that looks like a placeholder stays a name.
            named = {"{station}": self.station, "{part}": self.part}
            return _filled(self.words, named)
        between = f"{self.station} and {self.following}" if self.following else self.station
        axis = f"{self.axis} the travel" if self.axis else ""
        case = self.load_case.name if self.load_case else ""
        parts = (case, self.truck, self.roller, axis, between, self._of_part)
        return ", ".join(part for part in parts if part)

    @property
    def _of_part(self) -> str:
        if self.sections is None:
            return self.part
        first, last = self.sections
        which = f"section {first}" if first == last else f"sections {first} to {last}"
        return f"{self.part} on {which}"


def _filled(words: str, named: dict[str, str]) -> str:
    for placeholder, name in named.items():
        before, found, behind = words.partition(placeholder)
        if found:
            return f"{before}{name}{_filled(behind, named)}"
    return words


NOWHERE: Final = Where()
