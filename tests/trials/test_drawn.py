"""Arrays over draws against audits of each draw, check by check, on the worked cases."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks.findings import TAKT
from recommender.choice.decision.audit import audit
from recommender.inputs.given import with_values
from recommender.trials.drawn import along, utilisations
from recommender.trials.unsure import keys_of

DRAWS = 16
OUTWARD = ("load.reach", "load.offset", "tooling.reach")
"""Where carriers stand apart, and how far they sweep, hangs on these too."""
OF_LOADS = (
    *("rating.roll_moment", "rating.pitch_moment", "rating.yaw_moment"),
    *("roller.static", "roller.working_load", "roller.life"),
    *("drive.peak_straight", "drive.peak_bend", "rating.payload", "load.tip"),
)
IN_ARRAYS = 20


@pytest.fixture(scope="module", params=["crate", "two-up", "assembly", "upright"])
def tried(request: pytest.FixtureRequest, worked_case: Callable[[str], Any]) -> Any:
    """One truck, two items, a pair of trucks, and a loop on its edge."""
    return worked_case(request.param)


@pytest.mark.parametrize("spread", [0.03, 0.25])
def test_arrays_come_to_what_audits_come_to(tried: Any, spread: float) -> None:
    """With every input unsure that arrays take, little or much; of the takt the verdict."""
    chosen, case, catalogue = tried.decision.chosen, tried.case, tried.catalogue
    random = np.random.default_rng(3)
    values = {}
    for key, value in keys_of(case).items():
        if along(key, case) and key not in OUTWARD:
            part = 0.02 if key == "site.ambient" else spread
            values[key] = value * (1.0 + part * random.uniform(-1.0, 1.0, DRAWS))
    found = utilisations(chosen.configuration, case, catalogue, values)
    seen = set()
    for k in range(DRAWS):
        drawn = with_values(case, {key: float(value[k]) for key, value in values.items()})
        for finding in audit(chosen.configuration, drawn, catalogue).findings:
            if finding.check == TAKT.id:
                assert (found[finding.check][k] <= 1.0) == finding.ok
            elif finding.check in found:
                assert found[finding.check][k] == pytest.approx(finding.utilisation, rel=1e-11)
            else:
                continue
            seen.add(finding.check)
    # All that arrays know is known to audits, and that is most of what there is.
    assert seen == found.keys()
    assert len(seen) >= IN_ARRAYS


def test_loads_that_reach_out_more_or_less_are_those_of_audits(tried: Any) -> None:
    chosen, case, catalogue = tried.decision.chosen, tried.case, tried.catalogue
    random = np.random.default_rng(4)
    values = {
        key: getattr(case.load, key.removeprefix("load.")) + random.uniform(-0.04, 0.04, DRAWS)
        for key in ("load.reach", "load.offset")
    }
    found = utilisations(chosen.configuration, case, catalogue, values)
    for k in range(DRAWS):
        drawn = with_values(case, {key: float(value[k]) for key, value in values.items()})
        known = {f.check: f for f in audit(chosen.configuration, drawn, catalogue).findings}
        for check in known.keys() & set(OF_LOADS):
            assert found[check][k] == pytest.approx(known[check].utilisation, rel=1e-11)


def test_the_takt_is_judged_to_the_last_digit(tried: Any) -> None:
    """Rates on either side of the takt that the loop keeps, far closer than any table tells."""
    chosen, case = tried.decision.chosen, tried.case
    kept = case.rate.items * chosen.findings[-1].limit / chosen.takt
    near = kept * (1.0 + np.array([-1e-3, -1e-7, 1e-7, 1e-3]))
    found = utilisations(chosen.configuration, case, tried.catalogue, {"rate.items": near})
    assert chosen.findings[-1].check == TAKT.id
    assert found[TAKT.id].tolist() == [0.0, 0.0, 2.0, 2.0]
