"""Published values for what a load allows: slipping, tipping, jerk, a liquid in an open vessel."""

from collections.abc import Callable
from typing import Final

import numpy as np

from recommender.evidence.entry import Mark, Published
from recommender.physics.jerk import bend_jerk
from recommender.physics.load_limits import (
    clamp_limited_acceleration,
    friction_limited_acceleration,
    slip_utilisation,
    tipping_acceleration,
)
from recommender.physics.slosh import sloshing_frequency, wall_rise
from recommender.physics.swing import ramp_factor, swing_factors

_G: Final = 9.81
"""What most of the books calculate with, m/s²."""
_ENGLISH_G: Final = 32.2
"""The same in ft/s²."""

_HIBBELER: Final = "Hibbeler, Engineering Mechanics: Dynamics, 14th ed."
_CENGEL: Final = "Cengel and Cimbala, Fluid Mechanics: Fundamentals and Applications"
_TAYAL: Final = "Tayal, Engineering Mechanics: Statics and Dynamics"
_HALLIDAY: Final = "Halliday, Resnick and Walker, Fundamentals of Physics, 7th ed., problem 12-35"
_WOLFSON: Final = "Wolfson, Essential University Physics, 3rd ed., problem 12-48, p. 217"
_HARRIS: Final = (
    "Ayre, Transient Response to Step and Pulse Functions, in: Harris and Piersol (eds.), "
    "Harris' Shock and Vibration Handbook, 5th ed., chapter 8"
)


def _slope(acceleration_over_gravity: float) -> float:
    """Incline in degrees on which gravity does what that acceleration does on the level."""
    return float(np.degrees(np.arctan(acceleration_over_gravity)))


def _reaction(acceleration: float, height: float, vertical: float = _G) -> float:
    """How far from below the centre of gravity the reaction acts: the half base that just tips."""
    return acceleration / float(tipping_acceleration(height, 1.0, vertical=vertical))


def _crate_on_inclined_cart() -> float:
    """Where the reaction acts when the cart under a 15° slope accelerates at the printed rate."""
    sine, cosine = np.sin(np.radians(15.0)), np.cos(np.radians(15.0))
    along, across = 2.01 * cosine + _G * sine, _G * cosine - 2.01 * sine
    return _reaction(along, 0.5, across)


def _entry(
    name: str,
    quantity: str,
    inputs: str,
    source: str,
    mark: Mark,
    *,
    printed: tuple[float, str, float],
    compute: Callable[[], float],
    note: str = "",
) -> Published:
    published, unit, tolerance = printed
    check = ".".join(name.split(".")[:2])
    return Published(
        id=name,
        covers=(check,),
        quantity=quantity,
        inputs=inputs,
        source=source,
        mark=mark,
        unit=unit,
        published=published,
        tolerance=tolerance,
        compute=compute,
        note=note,
    )


_SLIP: Final = (
    _entry(
        "load.slip.crate-on-cart",
        "acceleration at which a crate slips on its cart",
        "friction 0.2, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 17-38",
        Mark.TEXT,
        printed=(1.96, "m/s²", 0.005),
        compute=lambda: float(friction_limited_acceleration(0.2, vertical=_G)),
    ),
    _entry(
        "load.slip.force-on-cart",
        "force that starts a crate slipping on its cart",
        "crate 150 kg, cart 10 kg, friction 0.2, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 17-38",
        Mark.TEXT,
        printed=(314.0, "N", 0.5),
        compute=lambda: 160.0 * float(friction_limited_acceleration(0.2, vertical=_G)),
    ),
    _entry(
        "load.slip.pushed-crate",
        "acceleration of a crate pushed over the floor, friction used up",
        "50 kg, 600 N, kinetic friction 0.2, g = 9.81 m/s²",
        f"{_HIBBELER}, example 17.7, p. 736",
        Mark.COMPANION,
        printed=(10.0, "m/s²", 0.05),
        compute=lambda: 600.0 / 50.0 - float(friction_limited_acceleration(0.2, vertical=_G)),
    ),
    _entry(
        "load.slip.flatbed-truck",
        "largest deceleration of a truck that keeps a crate in place",
        "friction 0.75, g = 9.8 m/s²",
        "Giancoli, Physics: Principles with Applications, chapter 4, crate on a flatbed truck",
        Mark.TEXT,
        printed=(7.4, "m/s²", 0.0501),
        compute=lambda: float(friction_limited_acceleration(0.75, vertical=9.8)),
        note="7.35 is rounded up in print",
    ),
    _entry(
        "load.slip.shortest-start",
        "shortest time to 60 km/h without a crate slipping",
        "friction 0.3, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 13-35",
        Mark.TEXT,
        printed=(5.66, "s", 0.005),
        compute=lambda: 60.0 / 3.6 / float(friction_limited_acceleration(0.3, vertical=_G)),
    ),
    _entry(
        "load.slip.shortest-start-utilisation",
        "acceleration of the same crate, as what leaves no friction unused",
        "friction 0.3, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 13-35",
        Mark.TEXT,
        printed=(2.94, "m/s²", 0.005),
        compute=lambda: 1.0 / float(slip_utilisation(1.0, 0.0, 0.3, 1.0, 1.0, vertical=_G)),
    ),
    _entry(
        "load.slip.flat-turn",
        "speed at which a vehicle slips in a flat turn",
        "radius 50 m, friction 0.15, g = 9.81 m/s²",
        f"{_TAYAL}, example 15.18",
        Mark.COMPANION,
        printed=(8.578, "m/s", 0.0005),
        compute=lambda: float(np.sqrt(50.0 * friction_limited_acceleration(0.15, vertical=_G))),
    ),
    _entry(
        "load.slip.block-on-ramp",
        "slope on which a block would slip",
        "friction 0.63",
        _WOLFSON,
        Mark.TEXT,
        printed=(32.2, "°", 0.05),
        compute=lambda: _slope(float(friction_limited_acceleration(0.63, vertical=1.0))),
    ),
    _entry(
        "load.slip.crate-on-ramp",
        "slope on which a crate slips before it tips",
        "friction 0.60",
        _HALLIDAY,
        Mark.MEMORY,
        printed=(31.0, "°", 0.5),
        compute=lambda: _slope(float(friction_limited_acceleration(0.60, vertical=1.0))),
    ),
)

_CLAMP: Final = (
    _entry(
        "load.clamp.carton-between-fingers",
        "force of each of two fingers that hold a carton by friction",
        "10 lb, friction 0.25, 3 g with the weight",
        "Groover, Weiss, Nagel and Odrey, Industrial Robotics, 1986, chapter 5, gripper force",
        Mark.MEMORY,
        printed=(60.0, "lbf", 0.5),
        compute=lambda: 3.0 / float(clamp_limited_acceleration(1.0, 0.25, 10.0)),
    ),
)

_JERK: Final = (
    _entry(
        "limit.jerk_bend.transition-curve",
        "rate of change of the lateral acceleration along a transition curve",
        "80 km/h, radius 402.71 m, transition 90.83 m, over 0.05 s",
        "N. N. Basak, Surveying and Levelling, 1994, chapter 10, p. 388",
        Mark.COMPANION,
        printed=(0.3, "m/s³", 0.0005),
        compute=lambda: float(bend_jerk(80.0 / 3.6, 402.71, 90.83, 1.0, 0.0, 0.0, 0.05)),
    ),
)

_TIP: Final = (
    _entry(
        "load.tip.crate-on-cart",
        "distance of the reaction from below the centre of gravity",
        "1.962 m/s², centre of gravity 0.5 m up, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 17-38",
        Mark.TEXT,
        printed=(0.1, "m", 0.0005),
        compute=lambda: _reaction(1.962, 0.5),
    ),
    _entry(
        "load.tip.crate-on-inclined-cart",
        "distance of the reaction from below the centre of gravity",
        "cart at 2.01 m/s², surface inclined 15°, crate 1 m high, g = 9.81 m/s²",
        f"{_HIBBELER}, problem 17-42",
        Mark.TEXT,
        printed=(0.25, "m", 0.0005),
        compute=_crate_on_inclined_cart,
    ),
    _entry(
        "load.tip.overturning-speed",
        "speed at which a vehicle overturns in a flat turn",
        "radius 100 m, centre of gravity 1 m up, track 1.5 m, g = 9.81 m/s²",
        f"{_TAYAL}, example 15.20",
        Mark.COMPANION,
        printed=(27.12, "m/s", 0.005),
        compute=lambda: float(np.sqrt(100.0 * tipping_acceleration(1.0, 0.75, vertical=_G))),
    ),
    _entry(
        "load.tip.truck-on-grade",
        "steepest slope on which a truck parks without overturning",
        "centre of gravity 3.5 m up and 1.5 m before the wheel it would turn about",
        "Hibbeler, Engineering Mechanics: Statics, 14th ed., problem 11-43",
        Mark.TEXT,
        printed=(23.2, "°", 0.05),
        compute=lambda: _slope(float(tipping_acceleration(3.5, 1.5, vertical=1.0))),
    ),
    _entry(
        "load.tip.block-on-ramp",
        "slope on which a block twice as high as wide tips",
        "height 1, width 1/2",
        _WOLFSON,
        Mark.TEXT,
        printed=(26.56, "°", 0.01),
        compute=lambda: _slope(float(tipping_acceleration(0.5, 0.25, vertical=1.0))),
        note="26.565 is cut off, not rounded, in print",
    ),
    _entry(
        "load.tip.crate-on-ramp",
        "slope on which a top-heavy cubic crate tips",
        "edge 1.2 m, centre of gravity 0.30 m above the cube's centre",
        _HALLIDAY,
        Mark.MEMORY,
        printed=(34.0, "°", 0.5),
        compute=lambda: _slope(float(tipping_acceleration(0.9, 0.6, vertical=1.0))),
    ),
)


def _mode(mode: int, printed: float, tolerance: float) -> Published:
    return _entry(
        f"load.spill.sloshing-mode-{mode}",
        f"frequency of sloshing mode {mode} of a rectangular vessel",
        "length 0.8 m, depth 0.3 m, g = 9.81 m/s²",
        "Code_Aster, validation manual V8.21.101 (ADLV101)",
        Mark.TEXT,
        printed=(printed, "Hz", tolerance),
        compute=lambda: float(sloshing_frequency(0.8, 0.3, mode, gravity=_G)) / (2.0 * np.pi),
        note="the sixth digit of the first mode is two higher by the formula" if mode == 1 else "",
    )


_SPILL: Final = (
    _mode(1, 0.898250, 2.5e-6),
    _mode(2, 1.38452, 5e-6),
    _mode(3, 1.70952, 5e-6),
    _mode(4, 1.97551, 5e-6),
    _mode(5, 2.20885, 5e-6),
    _entry(
        "load.spill.rise-in-long-tank",
        "rise of the water at the rear wall, long side along the travel",
        "2.5 m/s², length 2.0 m, g = 9.81 m/s²",
        f"{_CENGEL}, example 3-12, p. 106",
        Mark.COMPANION,
        printed=(25.5, "cm", 0.05),
        compute=lambda: 100.0 * float(wall_rise(2.5, 2.0, gravity=_G)),
    ),
    _entry(
        "load.spill.rise-in-short-tank",
        "rise of the water at the rear wall, short side along the travel",
        "2.5 m/s², length 0.6 m, g = 9.81 m/s²",
        f"{_CENGEL}, example 3-12, p. 106",
        Mark.COMPANION,
        printed=(7.6, "cm", 0.05),
        compute=lambda: 100.0 * float(wall_rise(2.5, 0.6, gravity=_G)),
    ),
    _entry(
        "load.spill.safe-fill",
        "height to which a cylinder may be filled",
        "height 60 cm, diameter 40 cm, 4 m/s², g = 9.81 m/s²",
        f"{_CENGEL}, chapter 3, problem of the cylinder on a truck",
        Mark.TEXT,
        printed=(51.8, "cm", 0.05),
        compute=lambda: 60.0 - 100.0 * float(wall_rise(4.0, 0.4, gravity=_G)),
    ),
    _entry(
        "load.spill.acceleration-to-spill",
        "acceleration that brings the fuel to the rim",
        "rise 0.5 ft over half a length of 0.75 ft, g = 32.2 ft/s²",
        "Munson et al., Fundamentals of Fluid Mechanics, example 2.11, p. 75",
        Mark.COMPANION,
        printed=(21.5, "ft/s²", 0.05),
        compute=lambda: 0.5 / float(wall_rise(1.0, 1.5, gravity=_ENGLISH_G)),
    ),
    _entry(
        "load.spill.tilt",
        "angle of the surface",
        "1 ft/s², g = 32.2 ft/s²",
        "de Nevers, Fluid Mechanics for Chemical Engineers, example 2.18",
        Mark.COMPANION,
        printed=(1.779, "°", 0.0005),
        compute=lambda: _slope(float(wall_rise(1.0, 2.0, gravity=_ENGLISH_G))),
    ),
    _entry(
        "load.spill.step",
        "greatest response to a long rectangular pulse, over the steady one",
        "pulse of at least half a period, here ten and a half",
        f"{_HARRIS}, remark 3 on table 8.3",
        Mark.TEXT,
        printed=(2.0, "1", 1e-12),
        compute=lambda: float(swing_factors(0.0, 10.5, 1.0)[0]),
    ),
    _entry(
        "load.spill.rectangular-pulse-residual",
        "greatest residual amplitude after a rectangular pulse, as much as during it",
        "pulse of half a period",
        f"{_HARRIS}, table 8.3",
        Mark.TEXT,
        printed=(2.0, "1", 1e-12),
        compute=lambda: float(swing_factors(0.0, 0.5, 1.0)[1]),
    ),
    _entry(
        "load.spill.rectangular-pulse-quiet",
        "residual amplitude after the shortest quiet rectangular pulse",
        "pulse of one period",
        f"{_HARRIS}, remark 7 on residual response",
        Mark.TEXT,
        printed=(0.0, "1", 1e-12),
        compute=lambda: float(swing_factors(0.0, 1.0, 1.0)[1]),
    ),
    _entry(
        "load.spill.triangular-pulse-quiet",
        "residual amplitude after the shortest quiet symmetrical triangle",
        "pulse of two periods",
        f"{_HARRIS}, remark 7 on residual response",
        Mark.TEXT,
        printed=(0.0, "1", 1e-12),
        compute=lambda: float(swing_factors(1.0, 1.0, 1.0)[1]),
    ),
    _entry(
        "load.spill.short-pulse",
        "response factor after a short rectangular pulse",
        "pulse 0.2 s, period 0.5 s",
        "Chopra, Dynamics of Structures, example 4.1",
        Mark.MEMORY,
        printed=(1.902, "1", 0.0005),
        compute=lambda: float(swing_factors(0.0, 0.2, 0.5)[1]),
    ),
    _entry(
        "load.spill.tuned-ramp",
        "response factor of a step whose rise takes whole periods",
        "rise time three periods",
        "Chopra, Dynamics of Structures, section 4.5",
        Mark.MEMORY,
        printed=(1.0, "1", 1e-12),
        compute=lambda: 1.0 + float(ramp_factor(3.0, 1.0)),
    ),
)

ENTRIES: Final[tuple[Published, ...]] = (*_SLIP, *_CLAMP, *_JERK, *_TIP, *_SPILL)
