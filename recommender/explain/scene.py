"""One configuration with everything that is known of its motion, worked out when it is wanted."""

from dataclasses import dataclass
from functools import cached_property

from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.parts.configuration import Configuration
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
    def setting(self) -> SettingContext:
        """Load cases of its motion, one row."""
        return setting_of(self.about, self.configuration.motion)

    @property
    def straight(self) -> LoadTable:
        """Load cases on straights."""
        return self.setting.straight

    @property
    def bend(self) -> LoadTable:
        """Load cases in bends and at their ends."""
        return self.setting.bend

    @cached_property
    def layout(self) -> LayoutContext:
        """The motion on its loop, one row."""
        return layout_of(self.configuration, self.setting)
