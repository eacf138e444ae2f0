"""The motion of a finished configuration on its loop: one row of settings, worked out alone."""

import numpy as np

from recommender.choice.configuration import Configuration, Motion
from recommender.choice.lap import Settings
from recommender.choice.layout import LayoutContext, LoopContext
from recommender.choice.load_cases import bend_loads, straight_loads
from recommender.choice.setting import LoadTable, OptionContext, SettingContext


def setting_of(about: OptionContext, motion: Motion) -> SettingContext:
    """The load cases of one motion of an option, a single row."""
    settings = Settings.single(motion.acceleration, motion.jerk, motion.speed, motion.bend_speed)
    one = np.array([0])
    return SettingContext(
        about,
        settings,
        LoadTable(straight_loads(about.alone, settings.acceleration[:, None]), 0, one),
        LoadTable(bend_loads(about.alone, settings.bend_speed[:, None]), 0, one),
    )


def layout_of(configuration: Configuration, setting: SettingContext) -> LayoutContext:
    """A configuration on its loop, with its own number of carriers."""
    on = LoopContext(
        setting.about,
        configuration.loop,
        configuration.placement,
        configuration.front,
        configuration.back,
    )
    return LayoutContext(on, setting, configuration.carriers)
