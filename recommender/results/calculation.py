"""What a calculation sheet shows beside the answer: a lap in time, roller loads, worked formulas.

It is worked out on request alone, since most readers of an answer have no use for it.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class LapCurve:
    """A carrier's lap that nothing hinders, from the start of the front straight on.

    Entries at the same index belong together: time from the start, place of the carrier's middle
    along the guide, speed, acceleration and force of the drive; a place beyond the length of the
    guide is back on the front straight.
    """

    time_s: tuple[float, ...]
    at_m: tuple[float, ...]
    speed_m_s: tuple[float, ...]
    acceleration_m_s2: tuple[float, ...]
    force_n: tuple[float, ...]


@dataclass(frozen=True)
class RollerCurve:
    """Static equivalent load of a roller at the places of a lap, and what the catalogue allows."""

    roller: str
    load_n: tuple[float, ...]
    working_load_n: float


@dataclass(frozen=True)
class Formula:
    """A formula in words, and the same with its numbers in SI units; empty where they are not one.

    What it comes to is the demand or the limit of its check.
    """

    words: str
    numbers: str = ""


@dataclass(frozen=True)
class Working:
    """How the demand and the limit of a check come about."""

    check: str
    demand: Formula
    limit: Formula


@dataclass(frozen=True)
class Calculation:
    """All of it for the recommended configuration."""

    lap: LapCurve
    rollers: tuple[RollerCurve, ...]
    workings: tuple[Working, ...]
