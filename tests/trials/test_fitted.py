"""Verdicts over draws: when arrays are believed, what fits are worth, shares and bounds."""

import numpy as np
import pytest
from scipy import stats

from recommender.choice.checks.findings import TAKT
from recommender.trials.fitted import first_order_shares, judge, wilson
from recommender.trials.unsure import quantiles

LIMIT = 1.0


def test_bounds_are_those_of_wilson() -> None:
    """Against the interval of scipy's binomial test."""
    for held, count in ((0, 50), (3, 50), (20, 100), (9_900, 10_000), (50, 50)):
        expected = stats.binomtest(held, count).proportion_ci(0.95, method="wilson")
        assert wilson(held / count, count) == pytest.approx((expected.low, expected.high), abs=1e-6)


def test_shares_are_those_of_ishigami() -> None:
    """T. Ishigami and T. Homma, An importance quantification technique in uncertainty analysis for
    computer models, ISUMA 1990, 398-403: y = sin x1 + 7 sin² x2 + 0.1 x3⁴ sin x1, x from −π to π.

    Var = 7²/8 + 0.1·π⁴/5 + 0.1²·π⁸/18 + 1/2, and of it x1 has 0.5·(1 + 0.1·π⁴/5)², x2 7²/8, x3
    nothing alone.
    """
    drawn = quantiles(20_000, 3, seed=1)
    x = np.pi * (2.0 * drawn - 1.0)
    y = np.sin(x[:, 0]) * (1.0 + 0.1 * x[:, 2] ** 4) + 7.0 * np.sin(x[:, 1]) ** 2
    whole = 49.0 / 8.0 + 0.1 * np.pi**4 / 5.0 + 0.01 * np.pi**8 / 18.0 + 0.5
    first = 0.5 * (1.0 + 0.1 * np.pi**4 / 5.0) ** 2 / whole
    assert first_order_shares(drawn, y) == pytest.approx([first, 49.0 / 8.0 / whole, 0.0], abs=0.02)
    assert first_order_shares(drawn, np.ones(len(drawn))).tolist() == [0.0, 0.0, 0.0]


def smooth(drawn: np.ndarray) -> np.ndarray:
    return np.asarray(0.7 + 0.4 * drawn[:, 0] + 0.3 * drawn[:, 1] ** 2)


def kinked(drawn: np.ndarray) -> np.ndarray:
    return np.asarray(0.8 + 0.5 * np.abs(drawn[:, 2] - 0.5))


CHECKS = ("smooth", "kinked", "always")


def holds(used: np.ndarray) -> np.ndarray:
    return np.asarray((used <= LIMIT).all(axis=1))


def exact(drawn: np.ndarray) -> np.ndarray:
    return np.stack([smooth(drawn), kinked(drawn), np.full(len(drawn), 0.4)], axis=1)


def test_fits_come_to_the_verdicts_of_audits() -> None:
    """Also where a check has a kink, which no polynomial has: near the limit there are audits."""
    drawn = quantiles(4_000, 3, seed=2)
    found = judge(drawn, CHECKS, {}, lambda some: exact(drawn[some]), LIMIT)
    assert (holds(found.utilisation) == holds(exact(drawn))).all()
    assert found.fitted.tolist() == [True, True, False]
    assert 0 < found.audited.sum() < 2_000
    assert not found.open.any()


def test_arrays_are_taken_where_they_agree_with_audits() -> None:
    drawn = quantiles(4_000, 3, seed=2)
    arrays = {"smooth": smooth(drawn), "kinked": kinked(drawn)}
    found = judge(drawn, CHECKS, arrays, lambda some: exact(drawn[some]), LIMIT)
    assert not found.fitted.any()
    assert found.margin == 0.0
    assert found.audited.sum() < 120
    assert (found.utilisation == exact(drawn)).all()


@pytest.mark.parametrize("off", [1e-6, 0.1])
def test_arrays_that_disagree_are_not_believed(off: float) -> None:
    drawn = quantiles(4_000, 3, seed=2)
    arrays = {"smooth": smooth(drawn) - off, "kinked": kinked(drawn)}
    found = judge(drawn, CHECKS, arrays, lambda some: exact(drawn[some]), LIMIT)
    assert found.fitted.tolist() == [True, False, False]
    assert (holds(found.utilisation) == holds(exact(drawn))).all()


def test_of_the_takt_verdicts_are_enough() -> None:
    drawn = quantiles(2_000, 3, seed=2)
    checks = (TAKT.id, "always")
    used = np.stack([smooth(drawn), np.full(len(drawn), 0.4)], axis=1)
    kept = {TAKT.id: np.where(smooth(drawn) > LIMIT, 2.0, 0.0)}
    assert not judge(drawn, checks, kept, lambda some: used[some], LIMIT).fitted.any()
    wrong = {TAKT.id: np.where(smooth(drawn) > 0.98, 2.0, 0.0)}
    assert judge(drawn, checks, wrong, lambda some: used[some], LIMIT).fitted.tolist() == [
        True,
        False,
    ]


def test_what_is_near_a_limit_too_often_is_left_open() -> None:
    """Noise that no input explains: only so many draws are audited, and the others say so."""
    drawn = quantiles(6_000, 2, seed=2)
    used = np.random.default_rng(1).uniform(0.9, 1.1, (6_000, 1))
    found = judge(drawn, ("noisy",), {}, lambda some: used[some], LIMIT)
    assert found.audited.sum() < 1_200
    assert found.open.sum() > 4_000
    assert not (found.open & found.audited).any()
