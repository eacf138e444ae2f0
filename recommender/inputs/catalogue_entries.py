"""Entries of a catalogue: families, rollers, and the parts that can be bought."""

import re
from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from recommender.inputs.lines import Description, Name
from recommender.inputs.quantities import (
    Angle,
    Capacitance,
    Coordinate,
    Force,
    Inertia,
    LeadTime,
    Length,
    LinkVoltage,
    MotorConstant,
    PositiveEnergy,
    PositiveForce,
    PositiveLength,
    PositiveMass,
    PositiveMoment,
    PositivePower,
    RotationalStiffness,
    Speed,
    Stiffness,
    Voltage,
    as_text,
    kind_of,
)

_TABULATED_ANGLES = (25.0, 30.0, 35.0, 40.0, 45.0)


def _money(text: object) -> Decimal:
    if not isinstance(text, str):
        raise PydanticCustomError("money", 'is not a price; write it as text, such as "1240.00"')
    if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,2})?", text):
        raise PydanticCustomError(
            "money", 'is not a price of whole cents, zero or more; write one such as "1240.00"'
        )
    return Decimal(text)


def _tabulated(value: float) -> float:
    if value not in _TABULATED_ANGLES:
        raise PydanticCustomError(
            "angle", "must be a contact angle that ISO 281 tabulates: 25, 30, 35, 40 or 45"
        )
    return value


def _identifier(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", text):
        raise PydanticCustomError(
            "id", 'must be small letters, digits and single hyphens, such as "arc-280"'
        )
    return text


Money = Annotated[Decimal, BeforeValidator(_money)]
Id = Annotated[str, Field(max_length=40), AfterValidator(_identifier)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Factor = Annotated[float, Field(ge=1, le=20, allow_inf_nan=False)]
Triple = Annotated[tuple[Coordinate, Coordinate, Coordinate], Field(strict=False)]
Pair = Annotated[tuple[Coordinate, Coordinate], Field(strict=False)]


class Table(BaseModel):
    """A table of a catalogue: frozen, and no key but the known ones."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Part(Table):
    """Anything that can be bought."""

    id: Id
    description: Description
    price: Money
    lead_time: LeadTime


class Family(Table):
    """How the carriers of a family are borne."""

    id: Id
    name: Name
    trucks: Literal[1, 2]
    lower_guide: bool


class Roller(Table):
    """A guide roller on a double-row angular contact bearing."""

    id: Id
    description: Description
    diameter: PositiveLength
    dynamic_rating: PositiveForce
    static_rating: PositiveForce
    working_load: PositiveForce
    radial_stiffness: Stiffness
    contact_angle: Annotated[float, AfterValidator(_tabulated)]
    flank_angle: Angle


class Carrier(Part):
    """One carrier variant, with all that its checks need.

    Axles of a ``swivelling`` one turn under it and stand square to the guide in every bend.
    """

    family: Id
    mass: PositiveMass
    centre_of_gravity: Triple
    yaw_inertia: Inertia
    plate_length: PositiveLength
    plate_width: PositiveLength
    mounting_height: Length
    wheelbase: PositiveLength
    gauge: PositiveLength
    roller: Id
    swivelling: bool = False
    preload: PositiveForce
    drag: Force
    rolling_coefficient: Annotated[float, Field(gt=0, lt=0.2, allow_inf_nan=False)]
    magnets: Annotated[int, Field(ge=1, le=4)]
    magnet_length: PositiveLength
    magnet_width: PositiveLength
    pole_pitch: PositiveLength
    peak_force: PositiveForce
    continuous_force: PositiveForce
    knee_speed: Speed
    no_load_speed: Speed
    motor_constant: MotorConstant
    drive_line: Pair
    attraction: Force
    rated_payload: PositiveMass
    rated_roll_moment: PositiveMoment
    rated_pitch_moment: PositiveMoment
    rated_yaw_moment: PositiveMoment
    top_speed: Speed
    guide_depth: PositiveLength | None = None
    lower_roller: Id | None = None
    lower_preload: Force = 0.0
    coupling_distance: PositiveLength | None = None
    truck_yaw_inertia: Inertia = 0.0
    stiffness: RotationalStiffness

    @model_validator(mode="before")
    @classmethod
    def _no_reach(cls, data: object) -> object:
        if isinstance(data, dict) and "rated_reach" in data:
            raise ValueError(
                "rated_reach is not read any more, as what a carrier bears far out falls with the"
                " weight; give rated_roll_moment, rated_pitch_moment and rated_yaw_moment, such as"
                ' "60 N*m", and leave rated_reach out'
            )
        return data

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.knee_speed >= self.no_load_speed:
            raise ValueError("knee_speed must lie below no_load_speed")
        if self.continuous_force > self.peak_force:
            raise ValueError("continuous_force must not exceed peak_force")
        if self.top_speed > self.no_load_speed:
            raise ValueError("top_speed must not exceed no_load_speed")
        if (self.guide_depth is None) != (self.lower_roller is None):
            raise ValueError("guide_depth and lower_roller go together")
        together = (self.coupling_distance or 0.0) + self.magnet_length
        if self.coupling_distance is not None and self.plate_length < together:
            raise ValueError("plate_length must hold coupling_distance and one magnet_length")
        return self

    @property
    def total_peak_force(self) -> float:
        """Peak force of all magnets together, N."""
        return self.magnets * self.peak_force


class Bend(Part):
    """A 180 degree bend: an arc, with or without curvature transitions.

    Its rails are cut for the trucks of one wheelbase; without ``cut_for`` they are as far apart as
    on a straight.
    """

    radius: Annotated[PositiveLength, Field(ge=0.05)]
    transition: Length
    cut_for: PositiveLength | None = None
    sections: Annotated[int, Field(ge=1, le=12)]
    takes_feed: bool = False


class Straight(Part):
    """A straight section of the guideway with its windings."""

    length: Annotated[PositiveLength, Field(ge=0.05)]
    takes_feed: bool = True


class LowerRail(Part):
    """The lower guide's rail along one straight or bend."""

    along: Id


class Supply(Part):
    """A DC supply and how many sections it may serve; without ``voltage`` no drop is looked at."""

    voltage: Voltage | None = None
    mean_power: PositivePower
    peak_power: PositivePower
    max_sections: Annotated[int, Field(ge=1, le=500)]
    link_capacitance: Capacitance = 0.0
    link_voltage: LinkVoltage = 0.0
    brake_voltage: LinkVoltage = 0.0

    @model_validator(mode="after")
    def _link(self) -> Self:
        if self.brake_voltage < self.link_voltage:
            raise ValueError("brake_voltage must not lie below link_voltage")
        return self


class Feed(Part):
    """A place where a supply feeds the guideway, and how many sections it reaches."""

    max_sections: Annotated[int, Field(ge=1, le=500)]


class Controller(Part):
    """A motion controller by the number of carriers and sections that it commands."""

    max_carriers: Annotated[int, Field(ge=1, le=1000)]
    max_sections: Annotated[int, Field(ge=1, le=2000)]


class BrakeResistor(Part):
    """A brake resistor with its chopper: what it takes in one stop, at its peak, and on average."""

    pulse_energy: PositiveEnergy
    peak_power: PositivePower
    mean_power: PositivePower


class OrderLine(Part):
    """A line of the order with a rule of its own: ``pieces`` for each ``per``.

    ``item`` is the group in which it is shown, and by which an enquiry leaves it out. Metres are
    those of the guide, each begun one counting. ``of = "carrier"`` adds the price of the option's
    own carrier, as for a spare; a line with a ``roller`` is for carriers on that roller alone.
    """

    item: Annotated[Name, Field(max_length=40)]
    per: Literal[
        "order",
        "loop",
        "metre",
        "section",
        "station",
        "carrier",
        "supply",
        "feed",
        "cabinet",
        "kind of carrier",
    ]
    pieces: Annotated[int, Field(ge=1, le=1000)] = 1
    of: Literal["carrier"] | None = None
    roller: Id | None = None

    @model_validator(mode="after")
    def _own(self) -> Self:
        if (self.of or self.roller) and self.per not in _OF_THE_OPTION:
            raise ValueError(
                f"of and roller go with per = {' or '.join(map(repr, _OF_THE_OPTION))}"
            )
        return self


_OF_THE_OPTION = ("order", "loop", "kind of carrier")


class Engineering(OrderLine):
    """A fixed line of work of one's own."""

    item: Annotated[Name, Field(max_length=40)] = "engineering"


class DeliveryStep(Table):
    """What follows in the delivery once the last part is there, and how long it takes."""

    id: Id
    description: Description
    time: LeadTime


class Energy(Table):
    """What energy costs, for the running cost."""

    price_per_kwh: Money


def described(entry: Part | Family | Roller | DeliveryStep, currency: str) -> dict[str, str]:
    """What the catalogue says of one entry, as text with units; what it leaves out is left out."""
    fields = type(entry).model_fields
    return {
        name: f"{value} {currency}" if name == "price" else as_text(value, kind_of(fields[name]))
        for name, value in entry
        if value is not None
    }
