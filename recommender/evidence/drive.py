"""Published drive calculations: copper loss, mean square of forces, power and energy of starts."""

from functools import partial
from math import inf, pi, sqrt

from recommender.evidence.entry import Mark, Published, example
from recommender.physics.drive import copper_loss, passing_heat, stop_heat
from recommender.physics.supply import (
    electrical_power,
    peak_power,
    speed_change_copper_energy,
    speed_change_energy,
)

_DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, 2nd ed., Narosa"
_GUPTA = "J. B. Gupta, R. Manglik and R. Manglik, Utilization of Electrical Energy and Traction"
_KILOWATT_HOUR = 3.6e6
_KMH = 1.0 / 3.6


_example = partial(example, section="drive", mark=Mark.COMPANION)


class _Train:
    """A train of the traction examples: masses in t, speeds in km/h, resistances in N/t."""

    def __init__(
        self, mass: float, speed: float, acceleration: float, resistance: float, grade: float
    ) -> None:
        self.resistance = mass * (resistance + 98.1 * grade)
        self.speed = speed * _KMH
        # 10 % more for what rotates.
        self.limits = (acceleration * _KMH, inf, self.resistance, inf)
        self.inertia = 1100.0 * mass

    def peak(self) -> float:
        """Power at the end of the start, W."""
        return float(peak_power(self.inertia, self.speed, *self.limits))

    def energy(self, free_run: float = 0.0) -> float:
        """Energy of the start and of a run at full speed for a time, J."""
        start = speed_change_energy(self.inertia, 0.0, self.speed, *self.limits)
        return float(start + electrical_power(self.resistance, self.speed, inf) * free_run)


def _reversing_mill() -> float:
    """Mean square torque with two reversals, each a stop and a start at constant torque."""
    takt = 39.0
    acceleration = 2.0 * 200.0 * 2.0 * pi / 60.0 / 5.0
    # The windings are loaded throughout, as by a magnet that leaves as the reversal ends.
    reversal = stop_heat(10e3, acceleration, 0.0, acceleration * 2.5**2, takt)
    rolling = passing_heat([25e3, 20e3], [10.0, 15.0], 1.0, takt)
    return sqrt(2.0 * float(reversal) + float(rolling.sum()))


def _ramped_load() -> float:
    """Mean square of a load that rises evenly to 400 kW in 5 min, and steps after that."""
    # Half of a speed change whose force rises for 5 min and falls for 5 min.
    ramp = 0.5 * speed_change_copper_energy(1.0, 400.0 * 5.0, 400.0, 400.0 / 5.0, 0.0, 1.0)
    steps = copper_loss([500.0, -400.0], 1.0) * [5.0, 4.0]
    return sqrt(float(ramp + steps.sum()) / 16.0)


_LOSSES = (
    _example(
        "motor-constant",
        ("supply.mean", "supply.peak"),
        "copper loss by the motor constant K_f/√R",
        "100 N, 20 N/A, 4 Ω",
        "definition K_m = K_t/√R = F/√P, general reference on motor constants",
        100.0,
        0.5,
        "W",
        lambda: copper_loss(100.0, 20.0 / sqrt(4.0)),
        mark=Mark.TEXT,
        note="5 A through 4 Ω.",
    ),
    _example(
        "dubey-4-2.rms",
        ("drive.continuous",),
        "root mean square torque",
        "10 000 kg·m² reversed from 200 to −200 rev/min in 5 s, twice; 25 000 N·m for 10 s, "
        "20 000 N·m for 15 s, 4 s without load",
        f"{_DUBEY}, example 4.2, p. 52",
        45_975.0,
        0.5,
        "N·m",
        _reversing_mill,
        note="Value of the companion, which notes a slip of arithmetic in the book.",
    ),
    _example(
        "dubey-4-2.power",
        ("drive.continuous",),
        "power at full speed of that torque",
        "the same, at 200 rev/min",
        f"{_DUBEY}, example 4.2, p. 52",
        962.9,
        0.05,
        "kW",
        lambda: electrical_power(_reversing_mill(), 200.0 * 2.0 * pi / 60.0, inf) / 1e3,
        note="Value of the companion, which notes a slip of arithmetic in the book.",
    ),
    _example(
        "dubey-4-3",
        ("supply.mean",),
        "root mean square load, with a ramp",
        "0 to 400 kW in 5 min, 500 kW for 5 min, −400 kW for 4 min, none for 2 min",
        f"{_DUBEY}, example 4.3, p. 53",
        367.0,
        0.5,
        "kW",
        _ramped_load,
    ),
    _example(
        "pillai-7-2",
        ("supply.peak",),
        "power of a torque at a speed",
        "4205.3 N·m at 60 rev/min",
        "S. K. Pillai, A First Course on Electrical Drives, example 7.2, p. 153",
        26.41,
        0.015,
        "kW",
        lambda: electrical_power(4205.3, 2.0 * pi, inf) / 1e3,
        note="The book takes 3.14 for π.",
    ),
)

# Mass, speed, acceleration in km/h per s, resistance, grade in per cent.
_GUPTA_13 = _Train(250.0, 60.0, 2.0, 49.05, 1.0)
_GUPTA_18 = _Train(100.0, 71.0, 1.0, 40.0, 1.0)
_GUPTA_19 = _Train(203.0, 45.0, 1.5, 44.0, 0.2)
_CHAKRABARTI_11 = _Train(400.0, 48.0, 1.6, 66.75, 100.0 / 75.0)

_TRACTION = (
    _example(
        "gupta-7-13",
        ("supply.peak",),
        "peak power of a start, at 97 % efficiency",
        "250 t and 10 % for rotation, to 60 km/h at 2 km/h per s, 49.05 N/t, grade 1 %",
        f"{_GUPTA}, example 7.13, p. 212",
        3257.0,
        0.5,
        "kW",
        lambda: _GUPTA_13.peak() / 0.97 / 1e3,
    ),
    _example(
        "gupta-7-18.power",
        ("supply.peak",),
        "peak power of a start",
        "100 t and 10 % for rotation, to 71 km/h at 1 km/h per s, 40 N/t, grade 1 %",
        f"{_GUPTA}, example 7.18, p. 219",
        875.0,
        0.5,
        "kW",
        lambda: _GUPTA_18.peak() / 1e3,
    ),
    _example(
        "gupta-7-18.energy",
        ("supply.mean",),
        "energy of a run, at 60 % efficiency",
        "the same, and 73.5 s at full speed",
        f"{_GUPTA}, example 7.18, p. 219",
        23.65,
        0.005,
        "kWh",
        lambda: _GUPTA_18.energy(73.5) / 0.6 / _KILOWATT_HOUR,
    ),
    _example(
        "gupta-7-19.power",
        ("supply.peak",),
        "peak power of a start",
        "203 t and 10 % for rotation, to 45 km/h at 1.5 km/h per s, 44 N/t, grade 0.2 %",
        f"{_GUPTA}, example 7.19, p. 220",
        1324.55,
        0.1,
        "kW",
        lambda: _GUPTA_19.peak() / 1e3,
        note="The book takes 277.8 for 1000/3.6.",
    ),
    _example(
        "gupta-7-19.energy",
        ("supply.mean",),
        "energy of a start, at 60 % efficiency",
        "the same",
        f"{_GUPTA}, example 7.19, p. 220",
        9.2,
        0.05,
        "kWh",
        lambda: _GUPTA_19.energy() / 0.6 / _KILOWATT_HOUR,
    ),
    _example(
        "chakrabarti-5-11",
        ("supply.mean",),
        "energy of a start",
        "400 t and 10 % for rotation, to 48 km/h at 1.6 km/h per s, 66.75 N/t, grade 1:75",
        "A. Chakrabarti, M. L. Soni, P. V. Gupta and U. S. Bhatnagar, A Text Book on Power System "
        "Engineering, 2nd ed., Dhanpat Rai, example 4.5.11, p. 784",
        15.26,
        0.006,
        "kWh",
        lambda: _CHAKRABARTI_11.energy() / _KILOWATT_HOUR,
        note="The book takes 277.8 for 1000/3.6.",
    ),
)

ENTRIES: tuple[Published, ...] = (*_LOSSES, *_TRACTION)
"""Every value printed elsewhere that the drive and supply functions have to reproduce."""
