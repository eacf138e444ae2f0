"""Formulas of time: stations, fleet, lap, takt, and the life of the rollers."""

from collections.abc import Callable, Mapping
from typing import Final

from recommender.calculation.load_formulas import Sides, both, given
from recommender.calculation.worked import Worked, written
from recommender.choice.checks.findings import Finding
from recommender.physics.fleet import batch_wait
from recommender.results.calculation import Formula


def _takt(worked: Worked) -> Formula:
    """The takt that is asked for, from the rate with its reserve."""
    return written(
        "{items}/({rate}·(1 + {reserve}))",
        items=("items on a carrier", worked.option.items),
        rate=("items a second", worked.case.rate.items),
        reserve=("reserve", worked.about.reserve),
    )


def _exchange(worked: Worked, finding: Finding) -> Sides:
    station = worked.station(finding)
    k = worked.case.station.index(station)
    dwell, occupied = float(worked.about.dwells[k]), float(worked.about.occupied[k])
    demand = written(
        "{dwell} + {settling} + {exchange}",
        dwell=("dwell", dwell),
        settling=("settling", occupied - dwell),
        exchange=("exchange of carriers", float(worked.layout.exchange[0, k])),
    )
    limit = written(
        "{takt}·{positions}",
        takt=("takt", worked.about.takt),
        positions=("carriers at once", station.positions),
    )
    return demand, limit


def _bend_spacing(worked: Worked, finding: Finding) -> Sides:
    demand = written(
        "{spacing}/{speed}",
        spacing=("spacing in the bend", worked.about.least_bend_spacing),
        speed=("bend speed", worked.audit.configuration.motion.bend_speed),
    )
    return demand, _takt(worked)


def _lap(worked: Worked, finding: Finding) -> Sides:
    waits = float(batch_wait(worked.about.positions, worked.about.takt))
    demand = written(
        "{lap} + {waits}",
        lap=("unhindered lap", float(worked.layout.lap_time[0])),
        waits=("waiting for batches", waits),
    )
    limit = written(
        "{carriers}·{takt}",
        carriers=("carriers", worked.audit.configuration.carriers),
        takt=("takt", worked.about.takt),
    )
    return demand, limit


def _places(worked: Worked, finding: Finding) -> Sides:
    takt, lag = worked.about.takt, worked.rules.start_lag
    blocked = float((worked.about.occupied + worked.layout.exchange[0]).sum())
    demand = written(
        "({carriers} + {blocked}/{takt})/(1 − {lag}/{takt})",
        carriers=("carriers", worked.audit.configuration.carriers),
        blocked=("block times of all stations", blocked),
        takt=("takt", takt),
        lag=("start lag", lag),
    )
    return demand, given("carriers that the loop has room for", finding.limit)


def _room(worked: Worked, finding: Finding) -> Sides:
    words = "time for which carriers hold the places between the two stations, over those places"
    return Formula(words), _takt(worked)


def _keeps(worked: Worked, finding: Finding) -> Sides:
    return Formula("largest cycle mean of the event graph of stations and carriers"), _takt(worked)


def _life(worked: Worked, finding: Finding) -> Sides:
    limit = written(
        "{laps}·{carriers}·{takt}/3600",
        laps=("laps that all rollers last together", float(worked.layout.life_laps[0])),
        carriers=("carriers", worked.audit.configuration.carriers),
        takt=("takt", worked.about.takt),
    )
    return given("hours that are asked", finding.demand), limit


FORMULAS: Final[Mapping[str, Callable[[Worked, Finding], Sides]]] = {
    "station.exchange": _exchange,
    "fleet.bend_spacing": _bend_spacing,
    "fleet.lap": _lap,
    "fleet.places": _places,
    "fleet.gaps": both("carriers of the next station", "places between the two stations"),
    "fleet.room": _room,
    "fleet.takt": _keeps,
    "roller.life": _life,
}
