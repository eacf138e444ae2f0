"""The motion of a finished configuration on its loop: one row of settings, worked out alone."""

import numpy as np

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.parts.configuration import Configuration, Motion


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
