"""The tables of a line's file: loops under names, handovers, and what is asked of the whole."""

import re
from typing import Annotated, Final, Literal, Self

from pydantic import ConfigDict, Field, field_validator, model_validator

from recommender.inputs.case_tables import (
    Commercial,
    Floor,
    Life,
    Limits,
    Load,
    Site,
    Station,
    Table,
    Tooling,
)
from recommender.inputs.lines import Name
from recommender.inputs.quantities import PositiveLength, Rate

MOST_LOOPS: Final = 6
MOST_HANDOVERS: Final = 12
MOST_PLACES: Final = 4

_KEY: Final = re.compile(r"[^\W_][\w -]*")
_OF_THE_LINE: Final = frozenset({"handover", "floor", "spares", "commercial", "line"})
_Count = Annotated[int, Field(ge=1, le=20)]
_Spare = Annotated[int, Field(ge=0, le=20)]


class LoopRate(Table):
    """As a case's rate; the items a minute of a loop that is supplied follow from the handover."""

    items: Rate | None = None
    per_carrier: Annotated[tuple[_Count, ...], Field(min_length=1, strict=False)] = (1,)
    reserve: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)] | None = None


class LoopTables(Table):
    """One loop of a line: what a case has, under a name."""

    name: Name
    load: Load
    tooling: Tooling = Tooling()
    rate: LoopRate = LoopRate()
    loop: Floor = Floor()
    station: Annotated[tuple[Station, ...], Field(min_length=1, max_length=24, strict=False)]
    limits: Limits = Limits()
    site: Site = Site()
    life: Life = Life()

    @field_validator("name")
    @classmethod
    def _begins_a_key(cls, name: str) -> str:
        if not _KEY.fullmatch(name) or name in _OF_THE_LINE:
            raise ValueError(
                "is not the name of a loop; write letters, digits, spaces, - and _, such as"
                f' "units", and none of {", ".join(sorted(_OF_THE_LINE))}'
            )
        return name


class HandoverTable(Table):
    """Where one loop's items become those of another."""

    model_config = ConfigDict(populate_by_name=True)

    giver: Annotated[Name, Field(alias="from")]
    taker: Annotated[Name, Field(alias="to")]
    items: Annotated[int, Field(ge=1, le=10_000)]
    between: Literal["buffer", "direct"]
    share: Annotated[float, Field(gt=0, le=1, allow_inf_nan=False)] | None = None
    positions: Annotated[
        tuple[Annotated[int, Field(ge=1, le=MOST_PLACES)], ...],
        Field(min_length=1, strict=False),
    ] = (1,)

    @field_validator("positions", mode="before")
    @classmethod
    def _one_or_a_list(cls, given: object) -> object:
        return [given] if isinstance(given, int) else given

    @field_validator("positions")
    @classmethod
    def _once_each(cls, counts: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(sorted(set(counts)))

    @model_validator(mode="after")
    def _places_of_direct_ones(self) -> Self:
        if self.between == "buffer" and self.positions != (1,):
            raise ValueError(
                "has positions although it leads through a buffer; they are for between ="
                ' "direct", where boxes stand while their units arrive'
            )
        return self


class Spares(Table):
    """Spare parts of the whole order: so many of each kind in it."""

    carriers: _Spare = 0
    supplies: _Spare = 0


class Space(Table):
    """Floor for all loops side by side, and the gap between them."""

    length: PositiveLength | None = None
    width: PositiveLength | None = None
    gap: PositiveLength = 0.6


class LineTables(Table):
    """A line's file: what stands above its loops holds for all of them."""

    title: Name = "Untitled line"
    units: Literal["metric", "us"] = "metric"
    limits: Limits = Limits()
    site: Site = Site()
    life: Life = Life()
    commercial: Commercial = Commercial()
    spares: Spares = Spares()
    floor: Space = Space()
    line: Annotated[
        tuple[LoopTables, ...], Field(min_length=2, max_length=MOST_LOOPS, strict=False)
    ]
    handover: Annotated[tuple[HandoverTable, ...], Field(max_length=MOST_HANDOVERS, strict=False)]
