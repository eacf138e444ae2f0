"""Published load factors of double row angular contact ball bearings."""

from collections.abc import Callable
from functools import partial

import numpy as np

from recommender.evidence.entry import Mark, Published
from recommender.physics.bearings import dynamic_equivalent_load, static_equivalent_load

_LIFE = ("roller.life",)
_STATIC = ("roller.static",)

_MAKERS = {
    25.0: "a bearing maker's print of the ISO tables",
    30.0: "SKF general catalogue, p. 440, and NSK catalogue",
    35.0: "SKF general catalogue, p. 452",
    40.0: "SKF and NSK general catalogues",
    45.0: "SKF general catalogue, p. 440",
}


def _static_factor(angle: float) -> float:
    return float(static_equivalent_load(0.0, 1.0, angle))


def _limit(angle: float) -> float:
    """Largest ratio of axial to radial load, in hundredths, at which the first line holds."""
    ratio = np.arange(1, 201) / 100.0
    load = dynamic_equivalent_load(1.0, ratio, angle)
    slope = (load[0] - 1.0) / ratio[0]
    return float(ratio[np.isclose(load, 1.0 + slope * ratio, rtol=1e-9)].max())


def _mostly_radial_axial_factor(angle: float) -> float:
    return float(dynamic_equivalent_load(1.0, 0.5, angle) - 1.0) / 0.5


def _mostly_axial_radial_factor(angle: float) -> float:
    with_radial, without = dynamic_equivalent_load([1.0, 0.0], 2.0, angle)
    return float(with_radial - without)


def _mostly_axial_axial_factor(angle: float) -> float:
    return float(dynamic_equivalent_load(0.0, 1.0, angle))


def _factors(
    angle: float, e: float, y1: float, x2: float, y2: float, y0: float
) -> tuple[Published, ...]:
    """One entry for each printed factor of double row bearings with one contact angle."""
    rows: tuple[tuple[str, str, float, str, Callable[[float], float]], ...] = (
        ("e", "limit of F_a/F_r", e, "ISO 281:2007, table 3", _limit),
        ("Y1", "axial factor below it", y1, "ISO 281:2007, table 3", _mostly_radial_axial_factor),
        ("X2", "radial factor above it", x2, "ISO 281:2007, table 3", _mostly_axial_radial_factor),
        ("Y2", "axial factor above it", y2, "ISO 281:2007, table 3", _mostly_axial_axial_factor),
    )
    dynamic = tuple(
        Published(
            id=f"bearings.double-row-{angle:.0f}.{name}",
            covers=_LIFE,
            quantity=f"{name}, {what}",
            inputs=f"double row angular contact ball bearing, {angle:.0f}°",
            source=f"{standard}, as printed in {_MAKERS[angle]}",
            mark=Mark.PRINT,
            unit="1",
            published=value,
            tolerance=1e-9,
            compute=partial(factor, angle),
        )
        for name, what, value, standard, factor in rows
    )
    static = Published(
        id=f"bearings.double-row-{angle:.0f}.Y0",
        covers=_STATIC,
        quantity="Y0, static axial factor",
        inputs=f"double row angular contact ball bearing, {angle:.0f}°",
        source=f"ISO 76, as printed in {_MAKERS[angle]}",
        mark=Mark.PRINT,
        unit="1",
        published=y0,
        tolerance=1e-9,
        compute=partial(_static_factor, angle),
    )
    return (*dynamic, static)


def _static(
    name: str,
    quantity: str,
    inputs: str,
    source: str,
    published: float,
    compute: Callable[[], float],
) -> Published:
    return Published(
        id=f"bearings.{name}",
        covers=_STATIC,
        quantity=quantity,
        inputs=inputs,
        source=source,
        mark=Mark.PRINT,
        unit="1",
        published=published,
        tolerance=1e-9,
        compute=compute,
    )


_PAIRS = tuple(
    _static(
        f"pair-{angle:.0f}.Y0",
        "static axial factor of two single row bearings back to back or face to face",
        f"{angle:.0f}°",
        "LYC, Bearing basic knowledge: equivalent static load, angular contact ball bearings, "
        "table 4",
        factor,
        partial(_static_factor, angle),
    )
    for angle, factor in ((25.0, 0.76), (40.0, 0.52))
)

_RADIAL = _static(
    "static-radial-factor",
    "X0, static radial factor",
    "double row angular contact ball bearing",
    "ISO 76, as printed in bearing makers' tables",
    1.0,
    lambda: float(static_equivalent_load(1.0, 0.0, 30.0)),
)

ENTRIES: tuple[Published, ...] = (
    *_factors(25.0, 0.68, 0.92, 0.67, 1.41, 0.76),
    *_factors(30.0, 0.80, 0.78, 0.63, 1.24, 0.66),
    *_factors(35.0, 0.95, 0.66, 0.60, 1.07, 0.58),
    *_factors(40.0, 1.14, 0.55, 0.57, 0.93, 0.52),
    *_factors(45.0, 1.34, 0.47, 0.54, 0.81, 0.44),
    _RADIAL,
    *_PAIRS,
)
"""Every value printed elsewhere that the equivalent loads have to reproduce."""
