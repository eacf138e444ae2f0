"""Published bearing lives: ratings, mean loads, reliability."""

from functools import partial
from typing import SupportsFloat

import numpy as np

from recommender.evidence.entry import Mark, Published, example
from recommender.physics.bearing_life import (
    basic_rating_life,
    mean_load,
    reliability_factor,
)
from recommender.physics.bearings import combined_load

_LIFE = ("roller.life",)

_SHIGLEY_8 = (
    "R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 8th ed., McGraw-Hill"
)
_SHIGLEY_10 = _SHIGLEY_8.replace("8th", "10th")
_JINDAL = "U. C. Jindal, Machine Design, Pearson"
_MOTT = "R. L. Mott, Machine Elements in Mechanical Design, chapter 14, problem"


_example = partial(example, section="bearing-life", mark=Mark.TEXT)


def _turns(hours: float, per_minute: float) -> float:
    return hours * 60.0 * per_minute


def _rated(
    name: str,
    inputs: str,
    source: str,
    rating: float,
    tolerance: float,
    load: SupportsFloat,
    life: float,
    unit: str,
    *,
    turns: float = 1.0,
    exponent: float = 3.0,
    mark: Mark = Mark.TEXT,
    note: str = "The rating is rounded in print.",
) -> Published:
    """The life that a source asks for, by the rating that it finds and prints to a tolerance.

    ``turns`` are the revolutions in the unit of the life.
    """
    return _example(
        name,
        _LIFE,
        "life that a rating was found for",
        inputs,
        source,
        life,
        exponent * tolerance / rating * life,
        unit,
        lambda: basic_rating_life(rating, float(load), exponent) / turns,
        mark=mark,
        note=note,
    )


_RATINGS = (
    _rated(
        "shigley-11-1",
        "C = 3211 lbf, P = 400 lbf, 1725 rev/min",
        "Shigley's Mechanical Engineering Design, example 11-1",
        3211.0,
        0.5,
        400.0,
        5000.0,
        "h",
        turns=_turns(1.0, 1725.0),
        mark=Mark.MEMORY,
    ),
    _rated(
        "shigley-10-11-2",
        "C = 10 930 lbf, P = 1.4·725 lbf, 520 rev/min",
        f"{_SHIGLEY_10}, solution 11-2",
        10_930.0,
        5.0,
        1.4 * 725.0,
        40e3,
        "h",
        turns=_turns(1.0, 520.0),
    ),
    _rated(
        "shigley-8-11-3",
        "roller bearing, exponent 10/3: C = 91.1 kN, P = 10.279 kN",
        f"{_SHIGLEY_8}, solution 11-3",
        91.1,
        0.05,
        10.279,
        1440e6,
        "rev",
        exponent=10.0 / 3.0,
    ),
    _example(
        "shigley-8-11-6.load",
        _LIFE,
        "equivalent load",
        "8 kN radially, 4 kN axially, X = 0.56, Y = 1.53",
        f"{_SHIGLEY_8}, solution 11-6",
        10.60,
        0.005,
        "kN",
        lambda: combined_load(8.0, 4.0, 0.56, 1.53),
    ),
    _rated(
        "shigley-8-11-6.rating",
        "C = 68.51 kN, the same load",
        f"{_SHIGLEY_8}, solution 11-6",
        68.51,
        0.005,
        combined_load(8.0, 4.0, 0.56, 1.53),
        270e6,
        "rev",
    ),
    _example(
        "mott.life",
        _LIFE,
        "life",
        "C = 2350 lb, P = 1675 lb",
        f"{_MOTT} as solved at questionai.com, exercise 1",
        2.76e6,
        0.005e6,
        "rev",
        lambda: basic_rating_life(2350.0, 1675.0),
    ),
    _rated(
        "mott.rating-880",
        "C = 12 729.11 lb, P = 1250 lb, 880 rev/min",
        f"{_MOTT} as solved at questionai.com, exercise 2",
        12_729.11,
        0.05,
        1250.0,
        20e3,
        "h",
        turns=_turns(1.0, 880.0),
        note="The solution rounds the cube root.",
    ),
    _rated(
        "mott.rating-1150",
        "C = 13 615.85 lb, P = 1450 lb, 1150 rev/min",
        f"{_MOTT} as solved at questionai.com",
        13_615.85,
        0.1,
        1450.0,
        12e3,
        "h",
        turns=_turns(1.0, 1150.0),
        note="The solution rounds the cube root.",
    ),
    _example(
        "mott.life-2200",
        _LIFE,
        "life",
        "C = 3150 lb, P = 2200 lb",
        f"{_MOTT} as solved at questionai.com, exercise 3a",
        2.94e6,
        0.005e6,
        "rev",
        lambda: basic_rating_life(3150.0, 2200.0),
    ),
    _example(
        "mott.life-4500",
        _LIFE,
        "life under more than the rating",
        "C = 3150 lb, P = 4500 lb",
        f"{_MOTT} as solved at questionai.com, exercise 3b",
        3.43e5,
        0.005e5,
        "rev",
        lambda: basic_rating_life(3150.0, 4500.0),
    ),
    _rated(
        "faires-601.rating",
        "C = 30 614 lb, P = 2770 lb",
        "V. M. Faires, Design of Machine Elements, solution of problem 601",
        30_614.0,
        0.5,
        2770.0,
        1350e6,
        "rev",
    ),
    _example(
        "faires-601.life",
        _LIFE,
        "life",
        "C = 29 900 lb, P = 2770 lb",
        "V. M. Faires, Design of Machine Elements, solution of problem 601",
        1258e6,
        0.5e6,
        "rev",
        lambda: basic_rating_life(29_900.0, 2770.0),
    ),
    _example(
        "wentzell-20-4",
        _LIFE,
        "life",
        "C = 3350 lb, P = 1095 lb",
        "T. H. Wentzell, Machine Design, example 20.4, p. 436",
        28_634_662.0,
        0.5,
        "rev",
        lambda: basic_rating_life(3350.0, 1095.0),
        mark=Mark.COMPANION,
    ),
    _example(
        "examination.life",
        _LIFE,
        "life",
        "C = 16 kN, P = 2 kN",
        "examination question with answer, sarthaks.com/2642436",
        512e6,
        0.5e6,
        "rev",
        lambda: basic_rating_life(16.0, 2.0),
    ),
    _example(
        "lecture.hours",
        _LIFE,
        "life at a speed",
        "C = 27 kN, P = 4.5 kN, 1200 rev/min",
        "lecture notes on machine design by S. Kumar",
        3000.0,
        0.5,
        "h",
        lambda: basic_rating_life(27.0, 4.5) / _turns(1.0, 1200.0),
    ),
)

_BOOK_OF_JINDAL = (
    _example(
        "jindal-18-2.inner",
        _LIFE,
        "life under combined load, inner ring turning",
        "C = 5590 N, 1250 N radially, 625 N axially, X = 0.56, Y = 1.2",
        f"{_JINDAL}, example 18-2, p. 508",
        57.3e6,
        0.05e6,
        "rev",
        lambda: basic_rating_life(5590.0, combined_load(1250.0, 625.0, 0.56, 1.2)),
        mark=Mark.COMPANION,
    ),
    _example(
        "jindal-18-2.outer",
        _LIFE,
        "life under combined load, outer ring turning (radial load times 1.2)",
        "C = 5590 N, 1250 N radially, 625 N axially, X = 0.56, Y = 1.2",
        f"{_JINDAL}, example 18-2, p. 508",
        43.46e6,
        0.005e6,
        "rev",
        lambda: basic_rating_life(5590.0, combined_load(1.2 * 1250.0, 625.0, 0.56, 1.2)),
        mark=Mark.COMPANION,
    ),
    _example(
        "jindal-18-4",
        _LIFE,
        "life at a speed",
        "C = 41 kN, P = 20 kN, 720 rev/min",
        f"{_JINDAL}, example 18-4, p. 509",
        199.424,
        0.0005,
        "h",
        lambda: basic_rating_life(41.0, 20.0) / _turns(1.0, 720.0),
        mark=Mark.COMPANION,
    ),
    _example(
        "jindal-18-6",
        _LIFE,
        "life at a speed, shock factor 1.4",
        "C = 3120 N, reactions 236.2 N and 108.56 N at right angles, 720 rev/min",
        f"{_JINDAL}, example 18-6, p. 511",
        14_585.0,
        0.5,
        "h",
        lambda: basic_rating_life(3120.0, 1.4 * np.hypot(236.2, 108.56)) / _turns(1.0, 720.0),
        mark=Mark.COMPANION,
    ),
    _rated(
        "jindal-18-9",
        "C = 34 219 N; 3000 N at 1440 rev/min for 1/4 of the time, 4000 N at 1080 for 1/2, "
        "5000 N at 720 for 1/4",
        f"{_JINDAL}, example 18-9, p. 512",
        34_219.0,
        0.5,
        mean_load([3e3, 4e3, 5e3], [360.0, 540.0, 180.0]),
        10e3,
        "h",
        turns=_turns(1.0, 1080.0),
        mark=Mark.COMPANION,
    ),
    _example(
        "jindal-18-10",
        _LIFE,
        "life under changing loads, one of them combined",
        "C = 1430 N; 600 N at 1440 rev/min for 2/3 of the time; 300 N radially and 120 N axially "
        "(X = 0.56, Y = 1.13) at 720 for 1/3",
        f"{_JINDAL}, example 18-10, p. 513",
        227.66,
        0.005,
        "h",
        lambda: (
            basic_rating_life(
                1430.0,
                mean_load([600.0, float(combined_load(300.0, 120.0, 0.56, 1.13))], [960.0, 240.0]),
            )
            / _turns(1.0, 1200.0)
        ),
        mark=Mark.COMPANION,
    ),
)

_MEANS = (
    _example(
        "mott-14-6",
        _LIFE,
        "mean load",
        "650 lb for 30 min, 750 lb for 10 min, 250 lb for 20 min",
        "R. L. Mott, Machine Elements in Mechanical Design, 4th ed., example 14-6, p. 626",
        597.0,
        0.5,
        "lb",
        lambda: mean_load([650.0, 750.0, 250.0], [30.0, 10.0, 20.0]),
    ),
    _example(
        "rectified-sine",
        _LIFE,
        "mean load over amplitude of a load that follows |sin|",
        "90 000 steps of equal length",
        "bearing makers' catalogues",
        0.75,
        0.005,
        "1",
        lambda: mean_load(np.sin(np.linspace(0.0, np.pi, 90_001)), np.ones(90_001)),
        mark=Mark.MEMORY,
    ),
)


def _reliability(percent: float, published: float, tolerance: float, mark: Mark) -> Published:
    return _example(
        f"reliability-{percent:g}",
        _LIFE,
        "a1, life modification factor for reliability",
        f"{percent:g} %",
        "ISO 281:2007, table of a1, as printed in NTN, Ball and Roller Bearings, cat. 2203/E, "
        "table 3.2",
        published,
        tolerance,
        "1",
        lambda: reliability_factor(percent),
        mark=mark,
    )


_RELIABILITIES = (
    *(
        _reliability(percent, factor, 1e-9, Mark.PRINT)
        for percent, factor in (
            (90.0, 1.0),
            (95.0, 0.64),
            (96.0, 0.55),
            (97.0, 0.47),
            (98.0, 0.37),
            (99.0, 0.25),
        )
    ),
    *(
        _reliability(percent, factor, 0.005, Mark.MEMORY)
        for percent, factor in ((99.2, 0.22), (99.4, 0.19), (99.6, 0.16), (99.8, 0.12))
    ),
    _reliability(99.9, 0.093, 0.0005, Mark.PRINT),
    _reliability(99.92, 0.087, 0.0005, Mark.PRINT),
    _reliability(99.94, 0.080, 0.0005, Mark.MEMORY),
    _reliability(99.95, 0.077, 0.0005, Mark.PRINT),
)

ENTRIES: tuple[Published, ...] = (*_RATINGS, *_BOOK_OF_JINDAL, *_MEANS, *_RELIABILITIES)
"""Every value printed elsewhere that the functions of bearing life have to reproduce."""
