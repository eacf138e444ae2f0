"""All checks, by what they look at; a new check is one entry in one of these lists."""

from recommender.choice.checks import (
    configured,
    drive,
    liquid,
    load,
    loop,
    moments,
    order,
    ratings,
    rest,
    rollers,
)

OPTION_CHECKS = (*ratings.CHECKS, *rest.CHECKS)
FIXED = frozenset({"pair.bend", "guide.bend_fit"})
"""Ids of those that look at nothing of the case."""

STRAIGHT_CHECKS = (*rollers.CHECKS, *load.CHECKS, *moments.CHECKS)
BEND_CHECKS = (
    *rollers.CHECKS,
    *load.CHECKS,
    *load.BEND_CHECKS,
    *drive.BEND_CHECKS,
    *moments.CHECKS,
)
SETTING_CHECKS = drive.CHECKS
GEOMETRY_CHECKS = loop.GEOMETRY_CHECKS
FLEET_CHECKS = loop.FLEET_CHECKS
TIME_CHECKS = (*loop.GEOMETRY_CHECKS, *loop.LAP_CHECKS, *loop.FLEET_CHECKS)
"""Those that look at no load case where the number of carriers is known."""

LAYOUT_CHECKS = (*loop.CHECKS, *liquid.CHECKS)
CONFIGURED_CHECKS = (*configured.CHECKS, *order.CHECKS)
