"""Voltage at the farthest section against the bus solved as a network of resistors.

Sections are loads of constant power at their middles, feeds hold their nodes at the voltage of the
supply, and supplies are not joined. Voltages are found by Newton's method on Kirchhoff's law.
"""

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import root

from recommender.choice.checks.configured import CHECKS
from recommender.choice.decision.audit import audit
from recommender.choice.loop.branches import feed_branches, peaks_beyond
from recommender.choice.loop.ring import Section
from recommender.choice.parts.configuration import Group
from recommender.physics.constants import Array
from recommender.physics.thermal import feeder_drop
from recommender.recommend import recommend


@dataclass(frozen=True)
class Given:
    """Sections that draw known powers, for a demand that adds up."""

    sections: tuple[Section, ...]
    powers: Array

    def peaks_of_runs(self, first: Array, count: Array) -> Array:
        number = len(self.powers)
        sums = [
            sum(self.powers[(f + k) % number] for k in range(c))
            for f, c in zip(first, count, strict=True)
        ]
        return np.array(sums)


def random_ring(rng: np.random.Generator) -> tuple[Given, tuple[Group, ...], tuple[int, ...]]:
    number = int(rng.integers(6, 16))
    lengths = rng.choice([0.3, 0.4, 1.0], number)
    ends = np.cumsum(lengths)
    sections = tuple(
        Section("s", float(end - length), float(end), True)
        for length, end in zip(lengths, ends, strict=True)
    )
    given = Given(sections, rng.uniform(0.0, 120.0, number))
    cut = int(rng.integers(3, number - 2))
    groups = (
        (Group("dc", 0, number),)
        if rng.random() < 0.5
        else (Group("dc", 1, cut), Group("dc", 1 + cut, number - cut))
    )
    feeds = set()
    for group in groups:
        some = rng.choice(
            group.count, size=min(group.count, int(rng.integers(1, 3))), replace=False
        )
        feeds |= {(group.first + int(k)) % number for k in some}
    return given, groups, tuple(sorted(feeds))


def configuration_of(groups: tuple[Group, ...], feeds: tuple[int, ...]) -> Any:
    return SimpleNamespace(electrics=SimpleNamespace(groups=groups, feed_sections=feeds))


def lowest_voltage(
    given: Given,
    groups: tuple[Group, ...],
    feeds: tuple[int, ...],
    per_metre: float,
    voltage: float,
) -> float:
    number = len(given.sections)
    half = np.array([0.5 * (s.end - s.start) for s in given.sections])
    conductance = np.zeros((number, number))
    for group in groups:
        run = [(group.first + k) % number for k in range(group.count)]
        joints = zip(run, run[1:] + (run[:1] if group.count == number else []), strict=False)
        for a, b in joints:
            one = 1.0 / (per_metre * (half[a] + half[b]))
            conductance[[a, b], [a, b]] += one
            conductance[[a, b], [b, a]] -= one
    free = np.array([k for k in range(number) if k not in feeds])

    def balance(found: Array) -> Array:
        volts = np.full(number, voltage)
        volts[free] = found
        return (conductance @ volts + given.powers / volts)[free]

    solved = root(balance, np.full(len(free), voltage), tol=1e-10)
    assert solved.success
    return float(solved.x.min())


def test_no_section_has_less_voltage_than_is_counted() -> None:
    rng = np.random.default_rng(4)
    ratios = []
    for _ in range(200):
        given, groups, feeds = random_ring(rng)
        per_metre, voltage = rng.uniform(2e-3, 9e-3), 72.0
        branches = list(feed_branches(configuration_of(groups, feeds), given.sections))
        fed = {k for branch in branches for k in branch.order} | set(feeds)
        assert fed == set(range(len(given.sections)))
        assert sum(len(branch.order) for branch in branches) == len(given.sections) - len(feeds)
        lost = max(
            float(
                feeder_drop(
                    peaks_beyond([branch], given)[0] / (0.95 * voltage), branch.lengths * per_metre
                )
            )
            for branch in branches
        )
        true = voltage - lowest_voltage(given, groups, feeds, per_metre, voltage)
        if lost <= 0.05 * voltage:
            assert true <= lost
            ratios.append(true / lost)
    assert len(ratios) > 150
    assert np.median(ratios) > 0.8


def test_a_thin_bus_fails(worked_case: Any) -> None:
    """Three hundred times the resistance: a few sections of it take more than a twentieth."""
    worked = worked_case("crate")
    configuration = worked.decision.chosen.configuration
    used = {}
    for resistance in (6e-3, 1.8):
        header = worked.catalogue.catalogue.model_copy(update={"bus_resistance": resistance})
        catalogue = worked.catalogue.model_copy(update={"catalogue": header})
        findings = audit(configuration, worked.case, catalogue).findings
        found = next(finding for finding in findings if finding.check == "supply.voltage")
        used[resistance] = found.utilisation
        assert found.governed_by.startswith("from the feed in section ")
    assert used[1.8] == pytest.approx(300 * used[6e-3])
    assert used[6e-3] < 1 < used[1.8]
    assert any(check.about.id == "supply.voltage" for check in CHECKS)


def test_a_thin_bus_is_named_and_no_concession_is_promised(worked_case: Any, altered: Any) -> None:
    """What the explanations ask does not look at the bus, so that they offer nothing against it."""
    worked = worked_case("crate")
    option = worked.decision.chosen.configuration.option
    header = worked.catalogue.catalogue.model_copy(update={"bus_resistance": 0.9})
    one = altered(worked.catalogue, carrier=(option.carrier,), bend=(option.bend,))
    thin = one.model_copy(update={"catalogue": header})
    answer = recommend(worked.case, thin)
    (found,) = answer.options
    assert answer.status == "none"
    assert [check.id for check in found.checks if not check.ok] == ["supply.voltage"]
    assert "lost on the way" in found.reason
    assert not found.relaxations and not found.conflict
