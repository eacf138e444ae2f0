"""Putting a configuration together."""

from dataclasses import replace

from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LoopContext
from recommender.choice.parts.braking import resistors_for
from recommender.choice.parts.configuration import Configuration, Electrics, Motion
from recommender.choice.parts.pricing import offered
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue


def assemble(
    on: LoopContext, settings: Settings, carriers: int, electrics: Electrics
) -> Configuration:
    """A configuration from a loop, the first row of settings and the electrical parts."""
    about = on.about
    configuration = Configuration(
        option=about.option,
        front=on.front,
        back=on.back,
        loop=on.loop,
        placement=on.placement,
        motion=Motion(
            acceleration=float(settings.acceleration[0]),
            jerk=float(settings.jerk[0]),
            speed=float(settings.speed[0]),
            bend_speed=float(settings.bend_speed[0]),
        ),
        carriers=carriers,
        electrics=electrics,
    )
    return with_resistors(configuration, about.case, about.catalogue)


def with_resistors(configuration: Configuration, case: Case, catalogue: Catalogue) -> Configuration:
    """A configuration with the brake resistors that a case asks for."""
    option, straight = configuration.option, configuration.loop.straight
    able = offered(catalogue, case)
    kind, pieces = resistors_for(option, case, able, straight, configuration.carriers)
    bought = ((able.brake_resistor[int(kind)].id, int(pieces)),) if pieces else ()
    return replace(configuration, resistors=bought)
