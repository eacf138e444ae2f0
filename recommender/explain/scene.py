"""One configuration with everything that is known of its motion, worked out when it is wanted."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from recommender.choice.configuration import Configuration
from recommender.choice.lap import Settings
from recommender.choice.layout import LayoutContext, LoopContext
from recommender.choice.load_cases import bend_loads, straight_loads
from recommender.choice.setting import LoadTable, OptionContext, SettingContext
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue


@dataclass(frozen=True)
class Scene:
    """A configuration, the case it is meant for and the catalogue it is built from."""

    configuration: Configuration
    case: Case
    catalogue: Catalogue

    @cached_property
    def about(self) -> OptionContext:
        """The option and its case."""
        return OptionContext(self.configuration.option, self.case, self.catalogue)

    @cached_property
    def straight(self) -> LoadTable:
        """Load cases on straights."""
        acceleration = np.array([[self.configuration.motion.acceleration]])
        return LoadTable(straight_loads(self.about.alone, acceleration), 0, np.array([0]))

    @cached_property
    def bend(self) -> LoadTable:
        """Load cases in bends and at their ends."""
        speed = np.array([[self.configuration.motion.bend_speed]])
        return LoadTable(bend_loads(self.about.alone, speed), 0, np.array([0]))

    @cached_property
    def layout(self) -> LayoutContext:
        """The motion on its loop, one row."""
        configuration, motion = self.configuration, self.configuration.motion
        values = (motion.acceleration, motion.jerk, motion.speed, motion.bend_speed)
        settings = Settings(*(np.array([value]) for value in values))
        setting = SettingContext(self.about, settings, self.straight, self.bend)
        on = LoopContext(
            self.about,
            configuration.loop,
            configuration.placement,
            configuration.front,
            configuration.back,
        )
        return LayoutContext(on, setting, configuration.carriers)
