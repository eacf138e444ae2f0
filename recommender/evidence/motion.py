"""Published motion: double-S, trapezoidal and triangular profiles."""

from collections.abc import Callable
from math import inf

from recommender.evidence.entry import Mark, Published
from recommender.physics.motion import (
    leg_peak_speed,
    leg_time,
    speed_change_distance,
    speed_change_ramp,
    speed_change_time,
)
from recommender.physics.profile import leg_segments

INCH = 0.0254

_BOOK = (
    "L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots, "
    "Springer, 2008, section 3.4, example "
)
_LAP = ("fleet.lap", "station.exchange")
_RAMP = ("limit.jerk", "limit.acceleration")

# distance, start, end, speed, acceleration, jerk
_LEGS = {
    "3.9": (10.0, 1.0, 0.0, 5.0, 10.0, 30.0),
    "3.10": (10.0, 1.0, 0.0, 10.0, 10.0, 30.0),
    "3.13": (10.0, 0.0, 0.0, 10.0, 20.0, 30.0),
}


def _phases(example: str, first: int, last: int) -> Callable[[], float]:
    return lambda: float(leg_segments(*_LEGS[example]).durations[first:last].sum())


def _total(example: str) -> Callable[[], float]:
    return lambda: float(leg_time(*_LEGS[example]))


def _peak(example: str) -> Callable[[], float]:
    return lambda: float(leg_peak_speed(*_LEGS[example]))


def _double_s(
    example: str,
    name: str,
    quantity: str,
    published: float,
    compute: Callable[[], float],
    *,
    covers: tuple[str, ...] = _LAP,
    unit: str = "s",
    tolerance: float = 0.5e-4,
    note: str = "",
) -> Published:
    distance, start, end, speed, acceleration, jerk = _LEGS[example]
    return Published(
        id=f"motion.double-s-{example}.{name}",
        covers=covers,
        quantity=f"{quantity} of a double-S move",
        inputs=(
            f"q 0 to {distance:g}, v0 {start:g}, v1 {end:g}, limits v {speed:g}, "
            f"a {acceleration:g}, j {jerk:g}"
        ),
        source=_BOOK + example,
        mark=Mark.TEXT,
        unit=unit,
        published=published,
        tolerance=tolerance,
        compute=compute,
        note=note,
    )


_SUM = "sum of the printed phases, so the sum of their roundings"

_REACHING_SPEED = (
    _double_s("3.9", "acceleration-time", "acceleration time T_a", 0.7333, _phases("3.9", 0, 3)),
    _double_s("3.9", "cruise-time", "time at top speed T_v", 1.1433, _phases("3.9", 3, 4)),
    _double_s("3.9", "braking-time", "braking time T_d", 0.8333, _phases("3.9", 4, 7)),
    _double_s(
        "3.9",
        "total-time",
        "total time T_a + T_v + T_d",
        2.7099,
        _total("3.9"),
        tolerance=1.5e-4,
        note=_SUM,
    ),
    _double_s(
        "3.9",
        "jerk-time-accelerating",
        "jerk time T_j1",
        0.3333,
        lambda: float(speed_change_ramp(5.0 - 1.0, 10.0, 30.0)),
        covers=_RAMP,
    ),
    _double_s(
        "3.9",
        "jerk-time-braking",
        "jerk time T_j2",
        0.3333,
        lambda: float(speed_change_ramp(0.0 - 5.0, 10.0, 30.0)),
        covers=_RAMP,
    ),
)

_NOT_REACHING_SPEED = (
    _double_s("3.10", "acceleration-time", "acceleration time T_a", 1.0747, _phases("3.10", 0, 3)),
    _double_s("3.10", "braking-time", "braking time T_d", 1.1747, _phases("3.10", 4, 7)),
    _double_s(
        "3.10",
        "total-time",
        "total time T_a + T_d",
        2.2494,
        _total("3.10"),
        tolerance=1e-4,
        note=_SUM,
    ),
    _double_s(
        "3.10",
        "jerk-time-accelerating",
        "jerk time T_j1",
        0.3333,
        _phases("3.10", 0, 1),
        covers=_RAMP,
    ),
    _double_s(
        "3.10", "jerk-time-braking", "jerk time T_j2", 0.3333, _phases("3.10", 4, 5), covers=_RAMP
    ),
    _double_s(
        "3.10",
        "peak-speed",
        "peak speed v_lim",
        8.4136,
        _peak("3.10"),
        covers=("limit.speed",),
        unit="m/s",
    ),
)

_NOT_REACHING_ACCELERATION = (
    _double_s("3.13", "jerk-time", "jerk time T_j", 0.5503, _phases("3.13", 0, 1), covers=_RAMP),
    _double_s("3.13", "acceleration-time", "acceleration time T_a", 1.1006, _phases("3.13", 0, 3)),
    _double_s(
        "3.13",
        "total-time",
        "total time 2·T_a",
        2.2012,
        _total("3.13"),
        tolerance=1e-4,
        note=_SUM,
    ),
)


def _unequal_ramps() -> float:
    speed = 24.56 * INCH
    ramps = speed_change_distance([0.0, speed], [speed, 0.0], [speed / 0.3, speed / 0.45], inf)
    return float(ramps.sum() + speed * (2.15 - 0.3 - 0.45)) / INCH


def _unequal_triangle() -> float:
    return float(speed_change_distance([0.0, 16.33], [16.33, 0.0], [2.0, 4.0], inf).sum())


_EXACT = "the printed numbers are exact, not rounded"

_TRAPEZOIDS = (
    Published(
        id="motion.trapezoid-unequal.distance",
        covers=_LAP,
        quantity="distance of a trapezoidal move at its printed peak speed, 24.56 in/s",
        inputs="43.6 in in 2.15 s, of which 0.3 s accelerating and 0.45 s braking",
        source="article on the motion of hydraulic cylinders, userz.net",
        mark=Mark.TEXT,
        unit="in",
        published=43.6,
        tolerance=0.009,
        compute=_unequal_ramps,
        note="half a unit of the last digit of the speed times 1.775 s",
    ),
    Published(
        id="motion.triangle-unequal.distance",
        covers=_LAP,
        quantity="distance of a triangular move at its printed peak speed, 16.33 m/s",
        inputs="100 m, accelerating at 2 m/s², braking at 4 m/s²",
        source="worked problem on motion from rest to rest, tech-champion.com",
        mark=Mark.TEXT,
        unit="m",
        published=100.0,
        tolerance=0.062,
        compute=_unequal_triangle,
        note="half a unit of the last digit of the speed times 12.25 s",
    ),
    Published(
        id="motion.trapezoid.time",
        covers=_LAP,
        quantity="time of a trapezoidal move",
        inputs="200 mm at 200 mm/s and 500 mm/s²",
        source="tutorial on motion profiles, industrialmonitordirect.com",
        mark=Mark.TEXT,
        unit="s",
        published=1.4,
        tolerance=1e-9,
        compute=lambda: float(leg_time(0.2, 0.0, 0.0, 0.2, 0.5, inf)),
        note=_EXACT,
    ),
    Published(
        id="motion.one-third.time",
        covers=(*_LAP, "limit.speed", "limit.acceleration"),
        quantity="time of a move in equal thirds at its peak speed and acceleration",
        inputs="v = 1.5·d/t, a = 4.5·d/t², for d = 1 m and t = 1 s",
        source="one-third rule of servo handbooks",
        mark=Mark.TEXT,
        unit="s",
        published=1.0,
        tolerance=1e-9,
        compute=lambda: float(leg_time(1.0, 0.0, 0.0, 1.5, 4.5, inf)),
        note=_EXACT,
    ),
    Published(
        id="motion.one-third.peak-speed",
        covers=("limit.speed", "limit.acceleration"),
        quantity="peak speed that 4.5·d/t² gives in a third of the time",
        inputs="d = 1 m, t = 1 s; both ramps together cover half the distance",
        source="one-third rule of servo handbooks",
        mark=Mark.TEXT,
        unit="m/s",
        published=1.5,
        tolerance=1e-9,
        compute=lambda: float(leg_peak_speed(0.5, 0.0, 0.0, 10.0, 4.5, inf)),
        note=_EXACT,
    ),
    Published(
        id="motion.one-third-inch.time",
        covers=(*_LAP, "limit.speed", "limit.acceleration"),
        quantity="time of a move in equal thirds at the printed 5 in/s and 50 in/s²",
        inputs="1.0 in",
        source="S. Cetinkunt, Mechatronics, problem of this kind",
        mark=Mark.MEMORY,
        unit="s",
        published=0.3,
        tolerance=1e-9,
        compute=lambda: float(leg_time(INCH, 0.0, 0.0, 5.0 * INCH, 50.0 * INCH, inf)),
        note=_EXACT,
    ),
    Published(
        id="motion.one-third-inch.acceleration-time",
        covers=(*_LAP, "limit.acceleration"),
        quantity="time to the printed 5 in/s at 50 in/s², a third of the move",
        inputs="1.0 in in 0.3 s",
        source="S. Cetinkunt, Mechatronics, problem of this kind",
        mark=Mark.MEMORY,
        unit="s",
        published=0.1,
        tolerance=1e-9,
        compute=lambda: float(speed_change_time(5.0 * INCH, 50.0 * INCH, inf)),
        note=_EXACT,
    ),
)

ENTRIES: tuple[Published, ...] = (
    *_REACHING_SPEED,
    *_NOT_REACHING_SPEED,
    *_NOT_REACHING_ACCELERATION,
    *_TRAPEZOIDS,
)
