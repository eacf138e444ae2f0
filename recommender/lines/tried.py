"""A line that is tried: its configurations built, with what each of them was made for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from recommender.choice.decision.audit import Audit
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.direct import place_name
from recommender.lines.model import Line
from recommender.lines.result import HandoverResult, LineSupply
from recommender.results.answer import CheckResult


@dataclass(frozen=True)
class TriedLine:
    """A line that is tried: of each loop its configuration in the line with its case there.

    Parameters
    ----------
    line : Line
        As it was asked.
    loops : mapping
        Audit and case by the name of the loop.
    price : Decimal
        Of all parts.
    handovers : sequence of HandoverResult
    supplies : sequence of LineSupply
    conditions : sequence of CheckResult
        What holds for all loops together.
    catalogue : Catalogue
    """

    line: Line
    loops: Mapping[str, tuple[Audit, Case]]
    price: Decimal
    handovers: Sequence[HandoverResult]
    supplies: Sequence[LineSupply]
    conditions: Sequence[CheckResult]
    catalogue: Catalogue

    @property
    def names(self) -> tuple[str, ...]:
        """The loops' names."""
        return self.line.names

    @property
    def supplied(self) -> dict[str, bool]:
        """Of each loop whether its rate follows from handovers."""
        return {loop.name: loop.supplied for loop in self.line.loops}

    @property
    def own(self) -> dict[str, tuple[str, ...]]:
        """Of each loop the keys that it says itself although they may stand above the loops."""
        return {loop.name: loop.own for loop in self.line.loops}

    @property
    def stations(self) -> list[str]:
        """All stations, each behind its loop and a point."""
        return [f"{loop}.{s.name}" for loop, (_, case) in self.loops.items() for s in case.station]

    @property
    def places(self) -> set[str]:
        """Stations at which boxes stand while their units arrive."""
        return {
            place
            for handover in self.handovers
            if handover.between == "direct"
            for place in places_of(handover)
        }


def places_of(handover: HandoverResult) -> list[str]:
    """Where boxes stand in a direct handover, each behind its loop and a point."""
    count = handover.places or 1
    if count == 1:
        return [handover.taker]
    return [place_name(handover.taker, number + 1) for number in range(count)]
