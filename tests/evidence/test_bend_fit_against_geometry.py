"""Fit of a truck's rollers in a bend against the true angles of the guide at both of its axles.

Axles are put on straight, clothoid (Fresnel integrals of scipy) and arc by root finding; an axle
that stands askew by an angle is shorter across the guide by its cosine. Rails are cut so that at
each place they lie midway between what the front and the rear axle of one wheelbase need there.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import fresnel

from recommender.choice.carrier.bend_fit import case_preload
from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.directions import turning_directions
from recommender.choice.carrier.load_cases import bend_loads
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.ratings import CHECKS
from recommender.choice.parts.options import Option, list_options
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.bend_fit import bend_end_mismatch, bend_gauge_mismatch


def place(along: float, radius: float, transition: float) -> tuple[float, float, float]:
    """Position and heading where a bend begins at length 0."""
    if along <= 0:
        return along, 0.0, 0.0
    spiral = min(along, transition)
    x = y = heading = 0.0
    if transition > 0:
        scale = np.sqrt(np.pi * radius * transition)
        sine, cosine = fresnel(spiral / scale)
        x, y, heading = scale * cosine, scale * sine, spiral**2 / (2 * radius * transition)
    turned = heading + max(along - transition, 0.0) / radius
    x += radius * (np.sin(turned) - np.sin(heading))
    return x, y + radius * (np.cos(heading) - np.cos(turned)), turned


def angle(along: float, base: float, radius: float, transition: float, ahead: bool) -> float:
    """Between truck and guide at an axle, whose fellow stands ahead of it or behind."""
    here = place(along, radius, transition)
    sign = 1.0 if ahead else -1.0

    def too_far(apart: float) -> float:
        other = place(along + sign * apart, radius, transition)
        return np.hypot(other[0] - here[0], other[1] - here[1]) - base

    other = place(along + sign * brentq(too_far, 0.9 * base, 1.3 * base), radius, transition)
    heading = np.arctan2(sign * (other[1] - here[1]), sign * (other[0] - here[0]))
    return abs(float(here[2] - heading))


def needs(along: float, base: float, radius: float, transition: float) -> list[float]:
    """What the front and the rear axle lack of the gauge, as a share of it."""
    both = (angle(along, base, radius, transition, ahead) for ahead in (False, True))
    return [1.0 - float(np.cos(one)) for one in both]


@pytest.mark.parametrize("ratio", [0.0, 0.5, 1.0, 2.0, 3.0])
def test_fit_from_one_end_to_the_other_is_bounded(ratio: float) -> None:
    rng = np.random.default_rng(7)
    used = []
    for _ in range(25):
        radius, gauge = rng.uniform(0.25, 1.0), rng.uniform(0.05, 0.2)
        base, cut = radius * rng.uniform(0.15, 0.45, 2)
        if rng.random() < 0.3:
            base = cut
        transition = ratio * cut
        fit = []
        for along in np.linspace(1e-6, transition + 1.3 * max(base, cut), 50):
            rails = np.mean(needs(along, cut, radius, transition))
            fit += [gauge * (need - rails) for need in needs(along, base, radius, transition)]
        bounds = bend_end_mismatch(base, gauge, radius, cut, transition)
        loosest, tightest = (float(bound) for bound in bounds)
        steady = float(bend_gauge_mismatch(base, gauge, radius, cut))
        some = 0.05 * min(tightest - steady, gauge * (cut / radius) ** 2 / 16) + 0.03 * abs(steady)
        assert min(fit) > loosest - some
        assert max(fit) < tightest + some
        if base == cut:
            used += [min(fit) / loosest, max(fit) / tightest]
        assert fit[-1] == pytest.approx(steady, rel=0.03, abs=1e-7)
    # Not only safe: where both wheelbases are alike it is at most half as much again.
    assert max(used) > (0.95 if ratio == 0 else 0.65)


def test_transitions_leave_less_to_squeeze() -> None:
    """A third of the wheelbase's share once the transition is three times the wheelbase."""
    plain, eased = bend_end_mismatch(0.1, 0.1, 0.4, 0.1, [0.0, 0.3])[1]
    assert eased / plain == pytest.approx(16 / 36)


def carrying(**load: str) -> Case:
    data = {"load": {"mass": "2 kg", "held": "clamped", **load}, "rate": {"items": "10/min"}}
    return make_case(data, "test")


def option_of(id_: str, case: Case, catalogue: Catalogue, **bend: object) -> Option:
    found = next(option for option in list_options(case, catalogue) if option.id == id_)
    changed = found.bend.model_copy(update=bend)
    return Option(
        found.carrier, found.family, found.roller, found.lower_roller, changed, found.items
    )


def fit_used(option: Option, case: Case, catalogue: Catalogue) -> float:
    check = next(check for check in CHECKS if check.about.id == "guide.bend_fit")
    outcome = check.evaluate(OptionContext(option, case, catalogue))
    assert outcome is not None
    return float(outcome.utilisation())


def test_one_bend_does_not_serve_every_wheelbase(catalogue: Catalogue) -> None:
    """6.5 mm at a wheelbase of 204 mm on 280 mm: what no rigid truck runs through."""
    case = carrying()
    rails_as_on_a_straight = option_of("lm-224_arc-280_x1", case, catalogue, cut_for=None)
    carrier = rails_as_on_a_straight.carrier
    squeeze = bend_gauge_mismatch(carrier.wheelbase, carrier.gauge, 0.28)
    assert float(squeeze) == pytest.approx(6.5e-3, abs=0.05e-3)
    check = next(check for check in CHECKS if check.about.id == "guide.bend_fit")
    about = OptionContext(rails_as_on_a_straight, case, catalogue)
    assert check.evaluate(about) is None, "its axles swivel"
    for cut, wheelbase, holds in (
        (0.084, 0.084, True),
        (0.084, 0.062, True),
        (0.120, 0.062, False),  # rattles
        (0.200, 0.084, False),
    ):
        option = option_of("std-92_arc-280_x1", case, catalogue, cut_for=cut)
        option = Option(
            option.carrier.model_copy(update={"wheelbase": wheelbase}),
            option.family,
            option.roller,
            None,
            option.bend,
            1,
        )
        assert (fit_used(option, case, catalogue) <= 1) is holds, (cut, wheelbase)


def test_squeezed_rollers_bear_it_in_every_load_case_of_the_bend(catalogue: Catalogue) -> None:
    """An axle's two rollers are springs in a row: half the squeeze each, on top of the preload."""
    case = carrying(mass="100 g", cg_height="1 mm")
    option = option_of("lm-128_arc-280_x1", case, catalogue)
    batch = Batch((option,), case, catalogue.rules)
    carrier, roller = option.carrier, option.roller
    squeeze = carrier.gauge * (
        np.cos(np.arcsin(0.084 / 2 / 0.28)) - np.cos(np.arcsin(carrier.wheelbase / 2 / 0.28))
    )
    loads = bend_loads(batch, np.array([[0.05]]))
    (steady,) = loads.of_kind("turning")
    expected = carrier.preload + roller.radial_stiffness * squeeze / 2
    assert loads.rollers.radial[0, 0, steady] == pytest.approx(expected, rel=0.02)
    assert expected > 2 * carrier.preload
    preload = case_preload(batch, turning_directions(case))[0, 0]
    assert preload.min() == pytest.approx(expected, rel=0.02)
    assert preload.max() > preload.min()
    # It costs resistance on the whole way round.
    wide = Batch((option_of("lm-128_arc-480_x1", case, catalogue),), case, catalogue.rules)
    eased = bend_loads(wide, np.array([[0.05]]))
    assert loads.resistance[0, 0, steady] > 1.2 * eased.resistance[0, 0, steady]
