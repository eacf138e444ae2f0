"""Published calculations of what stores braking energy and of the way of a stop."""

from functools import partial

from recommender.evidence.entry import Mark, Published, example
from recommender.physics.braking import braking_power, link_energy, stopping_distance

_KMH = 1.0 / 3.6
_GIANCOLI = "D. C. Giancoli, Physics: Principles with Applications, 7th ed., chapter 2, problem 31"

_example = partial(example, section="braking", mark=Mark.EXCERPT)

ENTRIES: tuple[Published, ...] = (
    _example(
        "capacitor.defibrillator",
        ("braking.energy",),
        "energy of a capacitor",
        "80.0 µF charged to 2.50 kV",
        "Freedman, Ruskell, Kesten and Tauck, College Physics, example 17-9 (authors from memory)",
        250.0,
        0.5,
        "J",
        lambda: link_energy(80e-6, 0.0, 2500.0),
    ),
    _example(
        "capacitor.heart",
        ("braking.energy",),
        "energy of a capacitor",
        "8.00 µF charged to 10.0 kV",
        "College Physics, OpenStax, section 19.7, capacitance of a heart defibrillator",
        400.0,
        0.5,
        "J",
        lambda: link_energy(8e-6, 0.0, 1e4),
        mark=Mark.MEMORY,
    ),
    _example(
        "matched-power",
        ("braking.power",),
        "greatest power that a source gives away, at half of its voltage",
        "speed voltage of 2 V behind 1 Ω: U²/(4R)",
        "maximum power transfer theorem, general reference",
        1.0,
        0.005,
        "W",
        lambda: braking_power(2.0, 1e9, 1.0),
        mark=Mark.MEMORY,
        note="A motor of force constant 1 N/A turns a speed of 2 m/s into 2 V.",
    ),
    _example(
        "stop.gentle",
        (),
        "stopping distance of a car, reaction included",
        "95 km/h, 0.40 s, 3.0 m/s²",
        _GIANCOLI,
        126.63,
        0.02,
        "m",
        lambda: stopping_distance(95.0 * _KMH, 3.0, 0.4),
        note="Speed rounded to 26.39 m/s on the way.",
    ),
    _example(
        "stop.hard",
        (),
        "stopping distance of a car, reaction included",
        "95 km/h, 0.40 s, 6.0 m/s²",
        _GIANCOLI,
        68.60,
        0.02,
        "m",
        lambda: stopping_distance(95.0 * _KMH, 6.0, 0.4),
        note="Speed rounded to 26.39 m/s on the way.",
    ),
)
