"""Travel from station to station for many settings at once, against one stretch after the other."""

from dataclasses import replace

import numpy as np

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted
from tests.oracles.legs import travel
from tests.random_enquiries import random_enquiry

_ROWS = 40


def test_legs_of_all_settings_are_those_of_each(catalogue: Catalogue) -> None:
    rng, compared, impossible = np.random.default_rng(481), 0, 0
    for _ in range(12):
        case = random_enquiry(rng)
        options = list_options(case, catalogue)
        builds = PriceBook(case, catalogue, catalogue.rules.longest_loop).builds()
        for option in rng.choice(np.array(options, dtype=object), 4):
            about = OptionContext(option, case, catalogue)
            build = builds[int(rng.integers(len(builds)))]
            acceleration = rng.uniform(0.5, 25.0, _ROWS)
            speed = rng.uniform(0.2, 4.0, _ROWS)
            bend_speed = speed * rng.uniform(0.1, 1.0, _ROWS)
            settings = Settings(acceleration, acceleration / 0.05, speed, bend_speed)
            with trusted():
                # What the load cases come to is nothing that a leg looks at.
                one = setting_of(about, Motion(1.0, 20.0, 1.0, 0.5))
                many = replace(one, settings=settings)
                for on in placed_on(about, build):
                    found = LayoutContext(on, many).station_legs
                    for row in range(_ROWS):
                        alone = travel(on, settings, row)
                        # Lengths are counted in billionths of a metre there.
                        assert np.allclose(found[row], alone, rtol=0.0, atol=1e-7)
                        compared += 1
                        impossible += not np.isfinite(alone).all()
    assert compared > 1_000
    assert 0 < impossible < compared
