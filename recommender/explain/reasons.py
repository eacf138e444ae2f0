"""Why options fail: which requirements clash, and what would have to give."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final, TypeAlias

from recommender.choice.checks.findings import Finding
from recommender.choice.parts.pricing import Cents
from recommender.explain.concessions import MOST_WAYS, offers, ways_of
from recommender.explain.conflicts import (
    NOTHING,
    Conflicts,
    Keys,
    find_conflicts,
    minimal_hitting_sets,
)
from recommender.explain.edges import Near, Relaxed, ease, ease_both
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Requirement, Situation, situations, table_key
from recommender.inputs.case import Case

MOST_CONFLICTS: Final = 4
"""Conflicts that are looked for."""

_EFFORT: Final = 60
_NEARLY: Final = 0.95
"""Utilisation from which a check is taken to hold an option back."""

_MOST_PAIRS: Final = 3


@dataclass(frozen=True)
class Explanation:
    """Why an option fails.

    Attributes
    ----------
    conflicts : Conflicts
        Its minimal conflicts; the empty one if no requirement matters, none if they were not
        looked for.
    alone : tuple of Relaxed
        Edges of the requirements that help alone, the smallest concession first.
    pair : Relaxed or None
        The cheapest pair of concessions, if none helps alone and a pair does.
    beyond : bool or None
        Whether there are concessions that help and cost more than may be spent, if the budget was
        left out of what was asked.
    """

    conflicts: Conflicts
    alone: tuple[Relaxed, ...]
    pair: Relaxed | None
    beyond: bool | None = None

    @property
    def conflict(self) -> Keys:
        """The smallest conflict."""
        return self.conflicts.sets[0]

    @property
    def hopeless(self) -> bool:
        """Whether the option fails whatever is asked."""
        return self.conflicts.sets == (NOTHING,)

    @property
    def known(self) -> tuple[Relaxed, ...]:
        """All concessions that are known to make it work."""
        return (*self.alone, *((self.pair,) if self.pair else ()))


Failing: TypeAlias = Mapping[str, tuple[Situation, Sequence[Finding]]]
"""By an option's id the situation in which it fails, and what every check finds there."""


def worth_explaining(
    failing: Failing, requirements: Sequence[Requirement], oracle: Oracle
) -> list[str]:
    """Options that work with all offers at once, or that nothing helps.

    What is asked less never makes an option fail, so where no number a fifth gentler and no other
    way to do things helps even together, no offer among them does alone.
    """
    return [
        id_
        for id_, (situation, _) in failing.items()
        if oracle.works(*offers(situation, requirements))
        or not oracle.works(*situations(situation, requirements, NOTHING))
    ]


def explain(
    situation: Situation,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    findings: Sequence[Finding] = (),
    like: Explanation | None = None,
) -> Explanation:
    """Why one option fails.

    Parameters
    ----------
    situation : Situation
    requirements : sequence of Requirement
    oracle : Oracle
    findings : sequence of Finding, optional
        What its checks find; requirements that they speak of may well conflict.
    like : Explanation, optional
        That of a similar option, near to which this one may be found.
    """
    keys = [requirement.key for requirement in requirements]

    def works(kept: Keys) -> bool:
        return oracle.works(*situations(situation, requirements, kept))

    likely, alone, near = likely_conflicts(findings, keys), NOTHING, dict[str, float]()
    if like is None:
        alone = NOTHING.union(*likely)
    else:
        likely = [*like.conflicts.sets, *likely]
        alone = NOTHING.union(*(each for each in like.conflicts.concessions if len(each) == 1))
        told = (entry for way in like.known for entry in way.concessions)
        near = {entry.key: entry.value for entry in told if entry.value is not None}
    found = find_conflicts(keys, works, likely, alone, MOST_CONFLICTS, _EFFORT)
    # Only a set that shares a key with every conflict can help.
    few = (each for each in minimal_hitting_sets(found.sets) if 0 < len(each) <= 2)
    helping = sorted(
        sorted(map(keys.index, each))
        for each in few
        if each in found.concessions or (not found.complete and works(frozenset(keys) - each))
    )
    ways = [
        way
        for one, *others in helping
        if not others
        for move in requirements[one].moves
        if (way := ease(move, situation, oracle, near)) is not None
    ]
    pairs = [(one, *others) for one, *others in helping if others and not ways]
    return Explanation(
        found,
        tuple(sorted(ways, key=lambda way: way.effort)),
        _cheapest_pair(pairs, situation, requirements, oracle, near),
    )


def _cheapest_pair(
    pairs: Iterable[Sequence[int]],
    situation: Situation,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    near: Near,
) -> Relaxed | None:
    """The cheapest edge of two requirements that help together.

    What a pair costs with both given up is a bound for its edge, so pairs are looked at in that
    order and only while they can still be cheaper.
    """
    bounds: list[tuple[Cents, Sequence[int]]] = []
    for pair in pairs:
        kept = frozenset(each.key for k, each in enumerate(requirements) if k not in pair)
        bound = oracle.rough_price(*situations(situation, requirements, kept))
        if bound is not None:
            bounds.append((bound, pair))
    best: Relaxed | None = None
    for bound, (one, other) in sorted(bounds)[:_MOST_PAIRS]:
        if best is not None and (best.price or 0) <= bound:
            break
        for moves in product(requirements[one].moves, requirements[other].moves):
            relaxed = ease_both(*moves, situation, oracle, near)
            if relaxed is None:
                continue
            relaxed = replace(relaxed, price=oracle.rough_price(relaxed.works))
            if best is None or (relaxed.price or 0) < (best.price or 0):
                best = relaxed
    return best


def priced(found: Explanation, case: Case, oracle: Oracle, first: int | None = None) -> Explanation:
    """The explanation with prices; that of each offer that is told is one that is built.

    With the prices of the ``first`` offers alone, if that is said. Those that had to be within a
    budget are known already.
    """
    told = ways_of(found.known, case)[: MOST_WAYS if first is None else first]

    def with_price(way: Relaxed) -> Relaxed:
        if (way not in told and first is not None) or found.beyond is not None:
            return way
        return replace(way, price=oracle.price(way.works))

    pair = None if found.pair is None else with_price(found.pair)
    return replace(found, alone=tuple(map(with_price, found.alone)), pair=pair)


def likely_conflicts(findings: Sequence[Finding], keys: Sequence[str]) -> list[Keys]:
    """Requirements that failing checks speak of: each check's, then those of all together."""

    def said(findings: Iterable[Finding]) -> Keys:
        spoken = {each for finding in findings for each in finding.about.requirements}
        if "load.friction" in spoken:
            spoken.add("load.held")
        return frozenset(key for key in keys if key in spoken or table_key(key) in spoken)

    failing = [finding for finding in findings if not finding.ok]
    # How a load is held and how many share a carrier stand behind many checks.
    usual = frozenset(keys) & {"load.held", "rate.per_carrier"}
    binding = said(finding for finding in findings if finding.utilisation >= _NEARLY) | usual
    sets = dict.fromkeys([*(said([finding]) for finding in failing), said(failing), binding])
    return sorted(sets, key=len)
