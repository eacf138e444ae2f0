"""The configuration of a saved answer, built again so that it can be tried without a new search."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.audit import Audit, audit
from recommender.choice.parts.configuration import Configuration, Electrics, Group, Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.placement import Loop, Placement
from recommender.choice.search.grid import jerk_for
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, parse
from recommender.physics.arguments import trusted
from recommender.results.answer import Answer, OptionResult

_AGREE: Final = 1e-6
_IN_FULL: Final = {"house.acceleration", "rating.speed", "fleet.bend_spacing"}


def rebuilt(answer: Answer, case: Case, catalogue: Catalogue) -> Audit | None:
    """The audit of what an answer recommends.

    Parameters
    ----------
    answer : Answer
        One that recommends something.
    case : Case
        That of the answer.
    catalogue : Catalogue
        That of the answer, prices included.

    Returns
    -------
    Audit or None
        ``None`` if the audit does not come to what the answer says of every check and of the price:
        the motion is told in rounded figures, and a program of another version may judge otherwise.
    """
    choice = answer.choice
    assert choice is not None
    pieces = {part.id for part in choice.parts}
    controllers = [part.id for part in catalogue.controller if part.id in pieces]
    if len(controllers) != 1:
        return None
    found = rebuilt_option(choice, controllers[0], case, catalogue)
    return found if found is not None and found.price == choice.price else None


def rebuilt_option(
    choice: OptionResult, controller: str, case: Case, catalogue: Catalogue
) -> Audit | None:
    """The audit of a configuration under some controller, whatever its order costs.

    Parameters
    ----------
    choice : OptionResult
        With its checks, its loop and its brake resistors in full.
    controller : str
        Id of its controller, which a loop may share with others.
    case : Case
    catalogue : Catalogue

    Returns
    -------
    Audit or None
        ``None`` as for `rebuilt`.
    """
    said = {check.id: check.utilisation for check in choice.checks}
    for motion in _motions(choice, case, catalogue):
        configuration = _configuration(choice, controller, motion, case, catalogue)
        if configuration is None:
            return None
        with trusted():
            found = audit(configuration, case, catalogue)
        own = {finding.check: finding.utilisation for finding in found.findings}
        if own.keys() != said.keys():
            return None
        known = [own[check] for check in said]
        if np.allclose(known, list(said.values()), rtol=_AGREE, atol=_AGREE):
            return found
    return None


def _configuration(
    choice: OptionResult, controller: str, motion: Motion, case: Case, catalogue: Catalogue
) -> Configuration | None:
    option = next((o for o in list_options(case, catalogue) if o.id == choice.id), None)
    plan, carriers = choice.loop, choice.carriers
    if option is None or plan is None or carriers is None:
        return None
    about = OptionContext(option, case, catalogue)
    at = tuple(station.at_m for station in plan.stations)
    loop = Loop(plan.straight_m, about.bend_length)
    pieces = {part.id: part.quantity for part in choice.parts}
    feeds = {feed.id for feed in plan.feeds}
    if len(feeds) != 1:
        return None
    return Configuration(
        option=option,
        front=plan.front,
        back=plan.back,
        loop=loop,
        placement=Placement(at, _gaps(at, loop.length)),
        motion=motion,
        carriers=carriers,
        electrics=Electrics(
            tuple(Group(run.id, run.first_section - 1, run.sections) for run in plan.supplies),
            feeds.pop(),
            tuple(feed.section - 1 for feed in plan.feeds),
            controller,
        ),
        resistors=tuple(
            (part.id, pieces[part.id]) for part in catalogue.brake_resistor if part.id in pieces
        ),
    )


def _gaps(at: tuple[float, ...], length: float) -> tuple[float, ...]:
    """From each station to the next one of the case, along the travel, m."""
    following = (*at[1:], at[0])
    return tuple(((b - a) % length) or length for a, b in zip(at, following, strict=True))


def _motions(choice: OptionResult, case: Case, catalogue: Catalogue) -> Iterator[Motion]:
    """The motion, from the checks that hold its figures in full, with jerks that it may have."""
    said, demands = choice.motion, {check.id: check.demand for check in choice.checks}
    option = next((o for o in list_options(case, catalogue) if o.id == choice.id), None)
    if said is None or option is None or not demands.keys() >= _IN_FULL:
        return
    acceleration, speed = demands["house.acceleration"], demands["rating.speed"]
    spacing = OptionContext(option, case, catalogue).least_bend_spacing
    bend_speed = _figures(spacing / demands["fleet.bend_spacing"])
    usual = float(jerk_for(np.array(acceleration), catalogue.rules.ramp_time, case))
    rounded = parse(said.jerk, KINDS["jerk"])
    for jerk in (usual, _figures(usual, down=True), rounded):
        yield Motion(acceleration, jerk, speed, bend_speed)


def _figures(value: float, *, down: bool = False) -> float:
    """A value to three figures, as motions are, if it is that but for rounding."""
    step = 10.0 ** (np.floor(np.log10(value)) - 2)
    nearest = float(f"{(np.floor if down else np.round)(value / step) * step:.12g}")
    return nearest if down or abs(nearest - value) <= _AGREE * value else value
