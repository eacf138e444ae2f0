"""A limit on the load's jerk counts what a bend does to it; then an eased bend may be worth it."""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.load_cases import bend_loads
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import BEND_CHECKS
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.options import list_options
from recommender.filling.assumptions import method_assumptions
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.jerk import bend_jerk

CHECK = "limit.jerk_bend"


def case_of(**limits: str) -> Case:
    """Jars that stand out beside a quick line."""
    data: dict[str, Any] = {
        "load": {
            "mass": "10 kg",
            "length": "200 mm",
            "width": "200 mm",
            "reach": "200 mm",
            "cg_height": "60 mm",
            "held": "clamped",
        },
        "rate": {"items": "50/min"},
        "station": [
            {"name": name, "dwell": "100 ms", "settling": "100 ms"} for name in ("in", "out")
        ],
        "limits": limits,
    }
    return make_case(data, "test")


def with_window(catalogue: Catalogue, window: float) -> Catalogue:
    rules = catalogue.rules.model_copy(update={"jerk_window": window})
    return Catalogue.model_construct(**{**dict(catalogue), "rules": rules})


def chosen(case: Case, catalogue: Catalogue) -> Configuration:
    decision = decide(case, catalogue)
    assert decision.chosen is not None
    return decision.chosen.configuration


def test_an_eased_bend_earns_its_price(catalogue: Catalogue) -> None:
    """It is dearer, and not worth it unless the jerk of the load in the bends is limited."""
    prices = {bend.id: bend.price for bend in catalogue.bend}
    assert prices["eased-420"] == max(prices.values())
    free = chosen(case_of(), catalogue)
    assert free.option.bend.transition == 0.0
    limited = case_of(jerk="15 m/s^3")
    # The same limit on the straights alone, as if bends did nothing to the load.
    on_straights = chosen(limited, with_window(catalogue, 10.0))
    assert on_straights.option.bend.transition == 0.0
    best = chosen(limited, catalogue)
    assert best.option.bend.id == "eased-420"
    assert not audit(best, limited, catalogue).failures
    # What the jerk does in the plain arc, at the speed that was chosen without looking at it.
    arc, load = on_straights.option.bend, limited.load
    jerk = bend_jerk(
        on_straights.motion.bend_speed, arc.radius, 0.0, on_straights.option.base, 0.2, 0.0, 0.05
    )
    assert load.reach == 0.2
    assert jerk > 1.5 * 15.0
    (finding,) = [
        found for found in audit(on_straights, limited, catalogue).failures if found.check == CHECK
    ]
    assert finding.demand == pytest.approx(float(jerk))


def test_it_looks_at_the_bend_alone_and_rises_with_its_speed(catalogue: Catalogue) -> None:
    case = case_of(jerk="30 m/s^3")
    (check,) = (entry for entry in BEND_CHECKS if entry.about.id == CHECK)
    for option in list_options(case, catalogue):
        speeds = np.linspace(0.1, 3.0, 20)[None]
        loads = bend_loads(OptionContext(option, case, catalogue).alone, speeds)
        outcome = check.evaluate(loads)
        assert outcome is not None
        assert (np.diff(outcome.utilisation()[0]) > 0.0).all()
        assert (
            check.evaluate(bend_loads(OptionContext(option, case_of(), catalogue).alone, speeds))
            is None
        )


def test_the_window_is_said(catalogue: Catalogue) -> None:
    lines = {line.key: line for line in method_assumptions(case_of(jerk="30 m/s^3"), catalogue)}
    assert lines["rules.jerk_window"].value == "0.05 s"
    assert "rules.jerk_window" not in {
        line.key for line in method_assumptions(case_of(), catalogue)
    }
