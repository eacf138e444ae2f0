"""Published examples of wheel and axle loads, as loads of a truck's rollers."""

from math import atan, cos, pi, radians, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike

from recommender.evidence.entry import Mark, Published
from recommender.physics.constants import Array
from recommender.physics.loads import drive_force_wrench, inertial_wrench, upright_gravity
from recommender.physics.rollers import guide_roller_loads
from recommender.physics.turning import arc_drive_force

_COVERS = ("roller.working_load", "roller.static", "roller.life")


def _rollers(wrench: ArrayLike, wheelbase: float, gauge: float = 1.0) -> tuple[Array, Array]:
    """Loads with so much preload that no flank lifts, as wheels that cannot are computed."""
    return guide_roller_loads(wrench, wheelbase, gauge, pi / 4, 1e6)


def _overturning_speed() -> float:
    """The inner wheels' load falls with the square of the speed, to 0 when they lift."""
    wrench = inertial_wrench(
        10e3 / 9.81,
        [0.0, 0.0, 1.0],
        0.0,
        yaw_rate=np.array([0.0, 1.0]) / 100,
        radius=100.0,
        gravity=[0.0, 0.0, -9.81],
    )
    standing, moving = _rollers(wrench, 2.0, 1.5)[1][:, 0]
    return sqrt(standing / (standing - moving))


def _loading_car() -> Array:
    """Force on the track of the upper and the lower axle, in kN.

    Frame of an upright loop on its way up, the car on the outer side; datum on the cable's line,
    150 mm below the centre of gravity.
    """
    load = inertial_wrench(
        25 / 9.81, [0.0, 0.15, 0.0], 0.0, gravity=upright_gravity(radians(-65), 9.81)
    )
    cable = drive_force_wrench(arc_drive_force(load, np.inf), 0.0, 0.0)
    radial, _ = _rollers(load + cable, 1.25)
    return np.array([radial[1] - radial[0], radial[3] - radial[2]])


def _truck_uphill() -> tuple[float, Array]:
    """Driving force at the road, and loads of the front and rear axle, in lbf (feet, slugs)."""
    slope = atan(0.1)
    load = inertial_wrench(
        3220 / 32.2,
        [0.0, 0.0, 2.0],
        0.0,
        along=44**2 / (2 * 200),
        gravity=[-32.2 * sin(slope), 0.0, -32.2 * cos(slope)],
    )
    thrust = float(arc_drive_force(load, np.inf))
    return thrust, _axles(load + drive_force_wrench(thrust, 0.0, 0.0), 10.0)


def _axles(wrench: ArrayLike, wheelbase: float) -> Array:
    """Loads of the front and rear axle on the road."""
    _, axial = _rollers(wrench, wheelbase)
    return np.array([-axial[:2].sum(), -axial[2:].sum()])


def _rear_drive() -> Array:
    """Axle loads of a car at the acceleration that its slipping rear wheels give, in kN."""
    load = inertial_wrench(2.0, [-0.25, 0.0, 0.3], 0.0, along=1.59, gravity=[0.0, 0.0, -9.81])
    return _axles(load + drive_force_wrench(arc_drive_force(load, np.inf), 0.0, 0.0), 2.0)


_BEER = "Beer & Johnston, Vector Mechanics for Engineers: Statics, sample problem 4.3, p. 168"
_MERIAM = "Meriam & Kraige, Engineering Mechanics: Dynamics, sample problem 6/1, p. 422"
_HIBBELER = "Hibbeler, Engineering Mechanics: Dynamics, example 17.5, p. 733"
_CAR = (
    "2000 kg, centre of gravity 0.3 m up, 1.25 m behind the front and 0.75 m before the rear axle"
)
_PICKUP = "3220 lbf, 44 ft/s within 200 ft up a grade of 1:10, wheelbase 120 in, c.g. 24 in up"

ENTRIES: tuple[Published, ...] = (
    Published(
        id="rollers.level-curve.overturning-speed",
        covers=_COVERS,
        quantity="speed at which the inner wheels of a vehicle lift",
        inputs="10 kN, radius 100 m, centre of gravity 1 m up, track 1.5 m",
        source="Tayal, Engineering Mechanics, example 15.20",
        mark=Mark.COMPANION,
        unit="m/s",
        published=27.12,
        tolerance=0.005,
        compute=_overturning_speed,
        note="the wheel loads beside it, 4660 and 5340 N, miss a factor 2 in the moment",
    ),
    Published(
        id="rollers.incline.upper-axle",
        covers=_COVERS,
        quantity="load of the upper axle of a loading car held by a cable",
        inputs="25 kN, track 25° from the vertical, axles 1.25 m apart, cable 0.15 m off the c.g.",
        source=_BEER,
        mark=Mark.COMPANION,
        unit="kN",
        published=2.5,
        tolerance=0.07,
        compute=lambda: float(_loading_car()[0]),
        note="the book rounds the normal component of the weight from 10.565 to 10.5 kN",
    ),
    Published(
        id="rollers.incline.lower-axle",
        covers=_COVERS,
        quantity="load of the lower axle of a loading car held by a cable",
        inputs="25 kN, track 25° from the vertical, axles 1.25 m apart, cable 0.15 m off the c.g.",
        source=_BEER,
        mark=Mark.COMPANION,
        unit="kN",
        published=8.0,
        tolerance=0.05,
        compute=lambda: float(_loading_car()[1]),
    ),
    Published(
        id="rollers.uphill.friction",
        covers=("drive.peak_straight",),
        quantity="driving force of a vehicle that accelerates uphill",
        inputs=_PICKUP,
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="lbf",
        published=804,
        tolerance=0.5,
        compute=lambda: _truck_uphill()[0],
    ),
    Published(
        id="rollers.uphill.front-axle",
        covers=_COVERS,
        quantity="load of the front axle of a vehicle that accelerates uphill",
        inputs=_PICKUP,
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="lbf",
        published=1441,
        tolerance=0.5,
        compute=lambda: float(_truck_uphill()[1][0]),
    ),
    Published(
        id="rollers.uphill.rear-axle",
        covers=_COVERS,
        quantity="load of the rear axle of a vehicle that accelerates uphill",
        inputs=_PICKUP,
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="lbf",
        published=1763,
        tolerance=0.5,
        compute=lambda: float(_truck_uphill()[1][1]),
    ),
    Published(
        id="rollers.rear-drive.front-axle",
        covers=_COVERS,
        quantity="load of the front axle of an accelerating car",
        inputs=f"{_CAR}, 1.59 m/s²",
        source=_HIBBELER,
        mark=Mark.COMPANION,
        unit="kN",
        published=6.88,
        tolerance=0.005,
        compute=lambda: float(_rear_drive()[0]),
    ),
    Published(
        id="rollers.rear-drive.rear-axle",
        covers=_COVERS,
        quantity="load of the rear axle of an accelerating car",
        inputs=f"{_CAR}, 1.59 m/s²",
        source=_HIBBELER,
        mark=Mark.COMPANION,
        unit="kN",
        published=12.74,
        tolerance=0.005,
        compute=lambda: float(_rear_drive()[1]),
    ),
)
