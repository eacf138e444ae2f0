"""What a rehearsal found, as views read it."""

from dataclasses import dataclass
from typing import Final, Literal

REHEARSAL_SCHEMA: Final = "recommender.rehearsal/1"


@dataclass(frozen=True)
class StationRun:
    """How one station fared: means over all carriers, over time and over all replications.

    ``busy`` is the share of the time during which it worked, stops included. A carrier was
    ``delayed_s`` later than on a free way, waited ``gathering_s`` for its batch and stood
    ``blocked_s`` after its work because the way ahead was taken. ``queue`` carriers stood before
    the station on average, ``longest_queue`` at most.
    """

    name: str
    busy: float
    delayed_s: float
    gathering_s: float
    blocked_s: float
    queue: float
    longest_queue: int


@dataclass(frozen=True)
class SupplyUse:
    """Power that a supply gave, beside what the answer counts on and what it may give, W."""

    id: str
    first_section: int
    sections: int
    mean_w: float
    mean_counted_w: float
    mean_limit_w: float
    peak_w: float
    peak_counted_w: float
    peak_limit_w: float


@dataclass(frozen=True)
class FleetTried:
    """Another number of carriers on the same loop, and the rate that it made."""

    carriers: int
    rate_per_min: float


@dataclass(frozen=True)
class StationMark:
    """Where a station stands along the guide."""

    name: str
    at_m: float


@dataclass(frozen=True)
class Course:
    """One carrier's line: instants after the warm-up, and places, which count on lap by lap.

    Between two points the line is straight within some millimetres.
    """

    time_s: tuple[float, ...]
    place_m: tuple[float, ...]


@dataclass(frozen=True)
class Courses:
    """Position against time of all carriers for some laps."""

    length_m: float
    seconds: float
    stations: tuple[StationMark, ...]
    carriers: tuple[Course, ...]


@dataclass(frozen=True)
class Rehearsal:
    """A configuration that ran for some hours.

    ``low`` and ``high`` bound the rate with a confidence of 95 % (Student's t over the
    replications); they are ``None`` where nothing varies or there is one replication only.
    ``formula_per_min`` is what the answer says without variation, held to the pace that the
    controller keeps if it keeps one. ``closest`` is the least distance between two neighbours while
    one of them moved, over the least spacing. ``enough`` is the first fleet that made the rate, and
    ``None`` if it was not looked for or none did. ``courses`` are kept for a sheet alone.
    """

    option: str
    carriers: int
    hours: float
    warm_up_s: float
    replications: int
    seed: int
    varied: tuple[str, ...]
    stops: tuple[str, ...]
    pace_s: float
    asked_per_min: float
    rate_per_min: float
    low_per_min: float | None
    high_per_min: float | None
    formula_per_min: float
    verdict: Literal["holds", "short", "open"]
    stations: tuple[StationRun, ...]
    supplies: tuple[SupplyUse, ...]
    closest: float
    moves: int
    tried: tuple[FleetTried, ...] = ()
    enough: FleetTried | None = None
    courses: Courses | None = None
    schema: str = REHEARSAL_SCHEMA
