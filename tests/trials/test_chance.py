"""Spreads, measured dwells and stops."""

from pathlib import Path

import numpy as np
import pytest
from numpy.random import SeedSequence
from scipy import stats

from recommender.faults import InputError
from recommender.trials.chance import Chance, Spread, Stops, read_spreads, read_stops
from recommender.trials.rehearse import _STUDENT, interval

NAMES = ["load", "unload", "load 2"]


def test_dwells_are_lognormal() -> None:
    drawn = Spread(0.3).draw(np.random.default_rng(5), 1.5, 20_000)
    deviation = np.sqrt(np.log1p(0.3**2))
    median = 1.5 / np.sqrt(1.0 + 0.3**2)
    assert stats.kstest(drawn, stats.lognorm(deviation, scale=median).cdf).pvalue > 0.01


def test_stops_take_their_share_of_the_time() -> None:
    """A station that always works is up for MTBF/(MTBF + MTTR): IEC 60050-192, 192-08-07."""
    stops = Stops(between=600.0, clearing=60.0)
    work = Chance(stops={"load": stops}).work("load", 2.0, SeedSequence(4))
    now, count = 0.0, 0
    while now < 2e6:
        now, count = work(now), count + 1
    assert count * 2.0 / now == pytest.approx(600.0 / 660.0, rel=0.01)


def test_measured_dwells_are_drawn_with_replacement(tmp_path: Path) -> None:
    file = tmp_path / "dwells.csv"
    file.write_text('unload,"load"\n1.4,1.0\n1.6 s,\n900 ms,\n', encoding="utf-8")
    spreads = read_spreads([str(file)], NAMES)
    assert spreads["unload"].measured == (1.4, 1.6, 0.9)
    assert spreads["load"].measured == (1.0,)
    drawn = spreads["unload"].draw(np.random.default_rng(1), 9.9, 3000)
    assert set(drawn) == {1.4, 1.6, 0.9}
    assert np.mean(drawn) == pytest.approx(1.3, rel=0.02)


def test_the_longest_name_is_meant() -> None:
    assert set(read_spreads(["load 2 10 %"], NAMES)) == {"load 2"}
    assert set(read_stops(["1 h, 2 min"], NAMES)) == set(NAMES)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (["lod 10 %"], "no station 'lod'"),
        (["load ten"], "must be a share"),
        (["-5 %"], "no station"),
        (["load 300 %"], "must be a share"),
    ],
)
def test_bad_spreads_are_refused(texts: list[str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_spreads(texts, NAMES)


@pytest.mark.parametrize("text", ["2 h", "load 2 h, -1 s", "0 s, 1 s", "load 2, 3"])
def test_bad_stops_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="--stops must be"):
        read_stops([text], NAMES)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "first line must hold names"),
        ("lode\n1\n", "first line must hold names"),
        ("load\n", "no dwell under load"),
        ("load\nquick\n", ":2: load must be a duration|:2: load"),
        ("load\n-1\n", "must be a dwell"),
    ],
)
def test_bad_lists_are_refused(text: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "dwells.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read_spreads([str(file)], NAMES)


def test_quantiles_are_student_s() -> None:
    expected = [stats.t.ppf(0.975, df) for df in range(1, len(_STUDENT) + 1)]
    assert list(_STUDENT) == pytest.approx(expected, abs=5e-4)
    values = [17.9, 18.2, 18.0, 17.7]
    low, high = stats.t.interval(0.95, 3, np.mean(values), stats.sem(values))
    assert interval(values) == pytest.approx((np.mean(values), low, high), rel=1e-4)
