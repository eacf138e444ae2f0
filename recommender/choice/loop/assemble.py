"""Putting a configuration together."""

from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LoopContext
from recommender.choice.parts.braking import resistors_for
from recommender.choice.parts.configuration import Configuration, Electrics, Motion
from recommender.choice.parts.pricing import offered


def assemble(
    on: LoopContext, settings: Settings, carriers: int, electrics: Electrics
) -> Configuration:
    """A configuration from a loop, the first row of settings and the electrical parts."""
    about = on.about
    catalogue = offered(about.catalogue, about.case)
    kind, pieces = resistors_for(about.option, about.case, catalogue, on.loop.straight, carriers)
    return Configuration(
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
        resistors=((catalogue.brake_resistor[int(kind)].id, int(pieces)),) if pieces else (),
    )
