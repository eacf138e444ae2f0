"""Published examples of inertial loads in bends and on slopes."""

from math import atan, degrees, hypot, radians, sqrt, tan

import numpy as np

from recommender.evidence.entry import Mark, Published
from recommender.physics.constants import Array
from recommender.physics.loads import inertial_wrench, upright_gravity
from recommender.physics.turning import arc_drive_force

_COVERS = ("roller.working_load", "roller.static", "roller.life", "drive.peak_bend")
_KILOMETRES_PER_HOUR = 1 / 3.6


def _wrench(
    mass: float, speed: float, radius: float, gravity: float = 9.81, along: float = 0.0
) -> Array:
    """Wrench of a point mass on a level curve."""
    return inertial_wrench(
        mass,
        [0.0, 0.0, 0.0],
        0.0,
        along=along,
        yaw_rate=speed / radius,
        radius=radius,
        gravity=[0.0, 0.0, -gravity],
    )


def _lean(speed: float, radius: float) -> float:
    """Angle of the resultant against the vertical, in degrees."""
    wrench = _wrench(1.0, speed, radius)
    return degrees(atan(-wrench[1] / wrench[2]))


def _speed_of_lean(angle: float, radius: float, gravity: float = 9.81) -> float:
    """Speed at which the resultant leans by an angle; the side force grows with its square."""
    wrench = _wrench(1.0, 1.0, radius, gravity)
    return sqrt(-tan(angle) * wrench[2] / wrench[1])


def _horizontal_force(along: float, speed: float, radius: float) -> float:
    wrench = _wrench(1500.0, speed, radius, along=along)
    return hypot(wrench[0], wrench[1])


_BRAKING = ((50 * _KILOMETRES_PER_HOUR) ** 2 - (100 * _KILOMETRES_PER_HOUR) ** 2) / (2 * 200)
_BEER = "Beer & Johnston, Vector Mechanics for Engineers: Statics, sample problem 4.3, p. 168"
_TAYAL = "Tayal, Engineering Mechanics, example {}"
_NCERT = "NCERT, Physics for class XI, example 5.11"
_MERIAM = "Meriam & Kraige, Engineering Mechanics: Dynamics, sample problem 3/8, p. 140"


ENTRIES: tuple[Published, ...] = (
    Published(
        id="loads.level-curve.slip-speed",
        covers=_COVERS,
        quantity="speed at which a vehicle on a level curve begins to slip",
        inputs="radius 50 m, coefficient of friction 0.15",
        source=_TAYAL.format("15.18"),
        mark=Mark.COMPANION,
        unit="m/s",
        published=8.578,
        tolerance=0.0005,
        compute=lambda: _speed_of_lean(atan(0.15), 50),
    ),
    Published(
        id="loads.level-curve.lean",
        covers=_COVERS,
        quantity="angle of the resultant against the vertical",
        inputs="radius 50 m, 8.577587 m/s",
        source=_TAYAL.format("15.18"),
        mark=Mark.COMPANION,
        unit="°",
        published=8.531,
        tolerance=0.0005,
        compute=lambda: _lean(8.577587, 50),
    ),
    Published(
        id="loads.banked-curve.angle",
        covers=_COVERS,
        quantity="angle of banking",
        inputs="100 km/h, radius 250 m",
        source=_TAYAL.format("15.19"),
        mark=Mark.COMPANION,
        unit="°",
        published=17.465,
        tolerance=0.0005,
        compute=lambda: _lean(100 * _KILOMETRES_PER_HOUR, 250),
    ),
    Published(
        id="loads.level-curve.pendulum-speed",
        covers=_COVERS,
        quantity="speed of a carriage in which a hanging bob leans by 8°",
        inputs="radius 100 m",
        source=_TAYAL.format("15.21"),
        mark=Mark.COMPANION,
        unit="km/h",
        published=42.27,
        tolerance=0.005,
        compute=lambda: _speed_of_lean(radians(8), 100) / _KILOMETRES_PER_HOUR,
    ),
    Published(
        id="loads.banked-curve.best-speed",
        covers=_COVERS,
        quantity="speed of least wear on a banked track",
        inputs="radius 300 m, banked 15°, G 9.8 m/s²",
        source=_NCERT,
        mark=Mark.COMPANION,
        unit="m/s",
        published=28.1,
        tolerance=0.05,
        compute=lambda: _speed_of_lean(radians(15), 300, 9.8),
    ),
    Published(
        id="loads.banked-curve.greatest-speed",
        covers=_COVERS,
        quantity="greatest speed without slip on a banked track",
        inputs="radius 300 m, banked 15°, friction 0.2, G 9.8 m/s²",
        source=_NCERT,
        mark=Mark.COMPANION,
        unit="m/s",
        published=38.1,
        tolerance=0.05,
        compute=lambda: _speed_of_lean(radians(15) + atan(0.2), 300, 9.8),
    ),
    Published(
        id="loads.braking-in-bend.entry",
        covers=_COVERS,
        quantity="horizontal force while braking at the start of a curve",
        inputs="1500 kg, 100 to 50 km/h over 200 m of curve, radius of curvature 400 m",
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="N",
        published=3620,
        tolerance=5,
        compute=lambda: _horizontal_force(_BRAKING, 100 * _KILOMETRES_PER_HOUR, 400),
    ),
    Published(
        id="loads.braking-in-bend.inflection",
        covers=_COVERS,
        quantity="horizontal force while braking where the curvature is 0",
        inputs="1500 kg, 100 to 50 km/h over 200 m",
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="N",
        published=2170,
        tolerance=5,
        compute=lambda: _horizontal_force(_BRAKING, 0.0, float(np.inf)),
    ),
    Published(
        id="loads.braking-in-bend.exit",
        covers=_COVERS,
        quantity="horizontal force while braking at the end of a curve",
        inputs="1500 kg, 100 to 50 km/h over 200 m of curve, radius of curvature 80 m",
        source=_MERIAM,
        mark=Mark.COMPANION,
        unit="N",
        published=4220,
        tolerance=5,
        compute=lambda: _horizontal_force(_BRAKING, 50 * _KILOMETRES_PER_HOUR, 80),
    ),
    Published(
        id="loads.level-turn.cord-limited-speed",
        covers=_COVERS,
        quantity="speed at which a cord that holds a disk on a circle breaks",
        inputs="3 kg, radius 1 m, 100 N",
        source="Hibbeler, Engineering Mechanics: Dynamics, chapter 13, example of a disk on a cord",
        mark=Mark.COMPANION,
        unit="m/s",
        published=5.77,
        tolerance=0.005,
        compute=lambda: sqrt(100 / _wrench(3.0, 1.0, 1.0)[1]),
    ),
    Published(
        id="loads.incline.cable",
        covers=("drive.peak_bend", "drive.peak_straight"),
        quantity="pull of the cable that holds a loading car on a steep track",
        inputs="25 kN, track 25° from the vertical",
        source=_BEER,
        mark=Mark.COMPANION,
        unit="kN",
        published=22.65,
        tolerance=0.01,
        compute=lambda: float(
            arc_drive_force(
                inertial_wrench(
                    25 / 9.81, [0, 0, 0], 0, gravity=upright_gravity(radians(-65), 9.81)
                ),
                np.inf,
            )
        ),
        note="the book multiplies with the cosine rounded to 0.906",
    ),
)
