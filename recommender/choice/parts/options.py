"""What there is to choose from: carrier variants x bends x items on a carrier."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from recommender.faults import InputError, nearest_ids
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Bend, Carrier, Catalogue, Family, Part, Roller
from recommender.shown import shown


@dataclass(frozen=True)
class Option:
    """One carrier variant on one bend with a number of items on it."""

    carrier: Carrier
    family: Family
    roller: Roller
    lower_roller: Roller | None
    bend: Bend
    items: int

    @cached_property
    def id(self) -> str:
        """Stable, readable and typeable, e.g. ``lm-128_arc-280_x1``."""
        return f"{self.carrier.id}_{self.bend.id}_x{self.items}"

    @property
    def base(self) -> float:
        """Distance between the two points that steer the body: wheelbase or coupling, m."""
        return self.carrier.coupling_distance or self.carrier.wheelbase

    def parts(self, catalogue: Catalogue) -> tuple[Part, ...]:
        """Parts that the option cannot do without, and the soonest of each kind beside them."""
        own: list[Part] = [self.carrier, self.bend]
        if self.family.lower_guide:
            own.append(catalogue.lower_rails[self.bend.id])
        kinds: tuple[tuple[Part, ...], ...] = (
            catalogue.straight,
            catalogue.supply,
            catalogue.feed,
            catalogue.controller,
        )
        soonest = [min(parts, key=lambda part: part.lead_time) for parts in kinds]
        lines = (line for line in catalogue.lines if line.roller in (None, self.roller.id))
        return (*own, *soonest, *lines)


def reserve_of(case: Case, catalogue: Catalogue) -> float:
    """Share of the rate that is asked for beyond it: the enquiry's, or that of the house."""
    asked = case.rate.reserve
    return catalogue.rules.rate_reserve if asked is None else asked


def takt_of(option: Option, case: Case, catalogue: Catalogue) -> float:
    """Time between two carriers at the rate that is asked with its reserve, s."""
    return option.items / (case.rate.items * (1.0 + reserve_of(case, catalogue)))


def refuse_unknown(ids: Sequence[str], case: Case, catalogue: Catalogue) -> None:
    """Refuse options that there are not, before anything is searched for.

    Raises
    ------
    InputError
        With a line for each, and the ids nearest to it.
    """
    known = [option.id for option in list_options(case, catalogue)] if ids else []
    unknown = [id_ for id_ in ids if id_ not in known]
    if unknown:
        raise InputError(
            "\n".join(
                f"there is no option '{shown(id_)}'; {nearest_ids(id_, known)}" for id_ in unknown
            )
        )


def list_options(case: Case, catalogue: Catalogue) -> tuple[Option, ...]:
    """Every option, in the catalogue's order."""
    return tuple(
        Option(
            carrier=carrier,
            family=catalogue.families[carrier.family],
            roller=catalogue.rollers[carrier.roller],
            lower_roller=catalogue.rollers[carrier.lower_roller] if carrier.lower_roller else None,
            bend=bend,
            items=items,
        )
        for carrier in catalogue.carrier
        for bend in catalogue.bend
        for items in case.rate.per_carrier
    )
