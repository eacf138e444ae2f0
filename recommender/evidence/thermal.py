"""Published values of warm windings, warm copper and the voltage along a feeder."""

from functools import partial

from recommender.evidence.entry import Mark, Published, example
from recommender.physics.thermal import ambient_share, copper_resistance, feeder_drop

_example = partial(example, section="thermal", mark=Mark.EXCERPT)
_ZERO = 273.15
_HOT = ("drive.continuous", "drive.standing")

ENTRIES: tuple[Published, ...] = (
    _example(
        "servomotor-at-65",
        _HOT,
        "torque left to a servomotor in warm surroundings",
        "rated at 40 °C, rise 100 K, at 65 °C",
        'Machine Design, "Choose wisely", worked example',
        0.87,
        0.005,
        "1",
        lambda: ambient_share(65 + _ZERO, 40 + _ZERO, 140 + _ZERO),
        note="Printed as a drop of 13 %.",
    ),
    _example(
        "copper-at-75",
        ("supply.voltage",),
        "resistance of a copper winding at 75 °C over that at 20 °C",
        "(235 + 75)/(235 + 20)",
        "IEC 60034-1, reference temperatures of windings, constant 235 of copper",
        1.2157,
        0.001,
        "1",
        lambda: copper_resistance(1.0, 75 + _ZERO),
        mark=Mark.MEMORY,
        note="IEC 60028 has 0.00393/K at 20 °C, that is a constant of 234.5 instead of 235.",
    ),
    _example(
        "two-wire-distributor",
        ("supply.voltage",),
        "voltage lost on a two-wire DC distributor fed at one end",
        "0.02 ohm/km each wire; 300 A over 2 km, then 200 A over 2 km",
        "EduRev, Distribution systems, DC distributor fed at one end: 500 V less 24 V and 16 V",
        40.0,
        0.5,
        "V",
        lambda: feeder_drop([300.0, 200.0], [0.08, 0.08]),
    ),
)
