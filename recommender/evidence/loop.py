"""Published geometry: transition curves of road and track, and the Fresnel integrals."""

from collections.abc import Callable

import numpy as np

from recommender.evidence.entry import Mark, Published
from recommender.physics.bend import bend_depth, bend_length, bend_width

_BASAK = "N. N. Basak, Surveying and Levelling, Tata McGraw-Hill, 1994, chapter 10, p. 388"
_WEB = "jfccivilengineer.com, Horizontal curves, worked example of a transition curve"
_TABLE = (
    "M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, National Bureau of "
    "Standards, 1964, table 7.7"
)
_ALL_COVERED = ("loop.length", "loop.width", "loop.extent")
_FIRST_TERMS = "the source takes the first terms of the series, "


def _shift(radius: float, transition: float) -> float:
    return float(bend_width(radius, transition)) / 2.0 - radius


def _tangent(radius: float, transition: float, deflection: float) -> float:
    """From the start of the clothoid to where the two straights would meet."""
    half_width = float(bend_width(radius, transition)) / 2.0
    ahead = float(bend_depth(radius, transition)) - radius
    return half_width * float(np.tan(deflection / 2.0)) + ahead


def _turned_by_clothoid(radius: float, transition: float, deflection: float) -> float:
    """What the arc between two clothoids leaves to each of them."""
    arc = float(bend_length(radius, transition, deflection)) - 2.0 * transition
    return (deflection - arc / radius) / 2.0


def _clothoid(
    name: str,
    quantity: str,
    published: float,
    tolerance: float,
    compute: Callable[[], float],
    *,
    covers: tuple[str, ...],
    unit: str = "m",
    note: str = "",
) -> Published:
    return Published(
        id=f"loop.clothoid-arc-clothoid.{name}",
        covers=covers,
        quantity=quantity,
        inputs="R = 402.71 m, clothoids of 90.83 m, deflection 60°",
        source=_BASAK,
        mark=Mark.COMPANION,
        unit=unit,
        published=published,
        tolerance=tolerance,
        compute=compute,
        note=note,
    )


def _web(
    name: str, quantity: str, published: float, tolerance: float, compute: Callable[[], float]
) -> Published:
    return Published(
        id=f"loop.road-transition.{name}",
        covers=("loop.width",) if name == "shift" else _ALL_COVERED,
        quantity=quantity,
        inputs="R = 1000 m, transitions of 95.093 m, deflection 32°24′",
        source=_WEB,
        mark=Mark.TEXT,
        unit="m",
        published=published,
        tolerance=tolerance,
        compute=compute,
        note=_FIRST_TERMS + "ℓ²/(24·R) and ℓ/2" if name == "tangent" else "",
    )


def _end_of_clothoid(radius: float, transition: float) -> tuple[float, float]:
    """How far along the straight and off its line, by the depth and the width of a 180° bend.

    The centre of its arc lies a radius off the clothoid's end, square to the direction there.
    """
    turned = transition / (2.0 * radius)
    along = float(bend_depth(radius, transition)) - radius * (1.0 - float(np.sin(turned)))
    aside = float(bend_width(radius, transition)) / 2.0 - radius * float(np.cos(turned))
    return along, aside


def _fresnel(argument: float, name: str, axis: int, published: float, digits: int) -> Published:
    # R = 1/π makes the argument √(ℓ/(π·R)) the root of the length, and the scale equal to it.
    return Published(
        id=f"loop.fresnel.{name}-{argument:g}",
        covers=("loop.extent",) if name == "C" else ("loop.width",),
        quantity=f"Fresnel integral {name}({argument:g}), of π·t²/2",
        inputs=f"t = {argument:g}: end of a clothoid of length t² onto a radius of 1/π, over t",
        source=_TABLE,
        mark=Mark.TEXT if argument == 1.0 else Mark.MEMORY,
        unit="1",
        published=published,
        tolerance=0.5 * 10.0**-digits,
        compute=lambda: _end_of_clothoid(1.0 / np.pi, argument**2)[axis] / argument,
    )


ENTRIES: tuple[Published, ...] = (
    _clothoid(
        "angle",
        "angle turned by a clothoid",
        6.4616,
        2e-4,
        lambda: float(np.degrees(_turned_by_clothoid(402.71, 90.83, np.pi / 3.0))),
        unit="°",
        covers=("loop.length",),
        note="the source goes on with unrounded lengths",
    ),
    _clothoid(
        "arc",
        "length of the arc between the clothoids",
        330.887,
        1e-3,
        lambda: float(bend_length(402.71, 90.83, np.pi / 3.0)) - 2.0 * 90.83,
        covers=("loop.length",),
        note="the lengths are given to a hundredth",
    ),
    _clothoid(
        "shift",
        "shift of the arc",
        0.8537,
        6e-4,
        lambda: _shift(402.71, 90.83),
        covers=("loop.width",),
        note=_FIRST_TERMS + "ℓ²/(24·R)",
    ),
    _clothoid(
        "tangent",
        "tangent length",
        278.416,
        0.03,
        lambda: _tangent(402.71, 90.83, np.pi / 3.0),
        covers=_ALL_COVERED,
        note=_FIRST_TERMS + "ℓ²/(24·R) and ℓ/2",
    ),
    _web("shift", "shift of the arc", 0.377, 5e-4, lambda: _shift(1000.0, 95.093)),
    _web(
        "tangent",
        "tangent length",
        338.183,
        5e-3,
        lambda: _tangent(1000.0, 95.093, float(np.radians(32.4))),
    ),
    _fresnel(1.0, "C", 0, 0.7798934, 7),
    _fresnel(1.0, "S", 1, 0.4382591, 7),
    _fresnel(0.5, "C", 0, 0.49234, 5),
    _fresnel(0.5, "S", 1, 0.06473, 5),
    _fresnel(0.2, "C", 0, 0.19992, 5),
    _fresnel(0.2, "S", 1, 0.00419, 5),
)
