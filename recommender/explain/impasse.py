"""Why no option meets a case: what clashes in all of them, and the least that would have to give.

A set of requirements is too much for the whole catalogue if it holds a conflict of each option. Few
options have to be explained to know such sets: the conflicts that some have in common are asked of
the others, and an option that meets one of them after all is explained too. In the same way an
option is explained that works with a smaller concession than the smallest one known, or with a
single requirement given up where no other does.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final, TypeAlias

from recommender.choice.checks.findings import Finding
from recommender.explain.concessions import sensible
from recommender.explain.conflicts import NOTHING, Keys, joint_conflicts, minimal
from recommender.explain.edges import Relaxed
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import MOST_CONFLICTS, Explanation, Failing
from recommender.explain.requirements import Requirement, Situation, situations

_FAR: Final = 100.0
"""Excess of a check beyond which it does not matter how far it fails."""

Way: TypeAlias = tuple[str, Relaxed]
"""An option and concessions with which it works."""


@dataclass(frozen=True)
class Impasse:
    """Why no option meets a case.

    Attributes
    ----------
    conflicts : tuple of set
        Minimal sets of requirements that no option can meet together, smallest first; the empty
        one if nothing works whatever is asked, and none if they were not found in time.
    complete : bool
        Whether there are no others.
    ways : tuple of (str, Relaxed)
        For each requirement that helps alone the smallest concession and the option that costs
        least with it, the smallest first; or else for each pair that helps an option that was
        looked into.
    """

    conflicts: tuple[Keys, ...]
    complete: bool
    ways: tuple[Way, ...]


def find_impasse(
    failing: Failing,
    explained: Callable[[str], Explanation],
    requirements: Sequence[Requirement],
    oracle: Oracle,
) -> Impasse:
    """What keeps every option from meeting a case.

    Parameters
    ----------
    failing : mapping
        All options, none of which works.
    explained : callable
        Why an option fails, by its id; prices are not looked at.
    requirements : sequence of Requirement
    oracle : Oracle

    Raises
    ------
    TimeUpError
        If an end by the clock was set and is there.
    """
    options = _Options(failing, explained, requirements, oracle)
    options.look_at_nearest()
    while True:
        joint, whole = joint_conflicts(found.conflicts.sets for found in options.hopeful.values())
        told = minimal(map(options.shrunk, joint[:MOST_CONFLICTS]))
        ways = _smallest(options.explanations, failing)
        new = options.beyond(told, ways) if options.hopeful else None
        if new is None:
            break
        options.look(new)
    complete = whole and all(found.conflicts.complete for found in options.hopeful.values())
    return Impasse(
        tuple(told) if options.hopeful else (NOTHING,),
        complete and len(joint) <= MOST_CONFLICTS,
        tuple(options.cheapest(*way) for way in ways.values()),
    )


@dataclass
class _Options:
    """All options, those that come nearest first, and what is known of some."""

    failing: Failing
    explained: Callable[[str], Explanation]
    requirements: Sequence[Requirement]
    oracle: Oracle
    explanations: dict[str, Explanation] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.order = sorted(self.failing, key=lambda id_: _distance(self.failing[id_][1]))

    @property
    def hopeful(self) -> dict[str, Explanation]:
        """Options that are explained and that anything helps."""
        return {id_: found for id_, found in self.explanations.items() if not found.hopeless}

    @property
    def unseen(self) -> Iterator[str]:
        """Options that are not explained yet."""
        return (id_ for id_ in self.order if id_ not in self.explanations)

    def look(self, id_: str) -> None:
        """Have an option explained."""
        self.explanations[id_] = self.explained(id_)

    def look_at_nearest(self) -> None:
        """Have the option explained that comes nearest, of those that anything helps."""
        for id_ in self.order:
            self.look(id_)
            if not self.explanations[id_].hopeless:
                return

    def works(self, id_: str, kept: Keys) -> bool:
        """Whether an option works if only some requirements are kept."""
        # With a known conflict in what is kept it cannot.
        known = self.explanations.get(id_)
        if known is not None and any(conflict <= kept for conflict in known.conflicts.sets):
            return False
        return self.oracle.works(*situations(self.failing[id_][0], self.requirements, kept))

    def shrunk(self, conflict: Keys) -> Keys:
        """A minimal part of what no option meets together."""
        order = [*self.hopeful, *self.unseen]
        for key in sorted(conflict):
            if not any(self.works(id_, conflict - {key}) for id_ in order):
                return self.shrunk(conflict - {key})
        return conflict

    def beyond(self, told: Sequence[Keys], ways: Mapping[tuple[str, ...], Way]) -> str | None:
        """An option of which more has to be known for these conflicts and ways to hold for all."""
        asked = self._asked(told, ways)
        return next((id_ for works in asked for id_ in self.unseen if works(id_)), None)

    def _asked(
        self, told: Sequence[Keys], ways: Mapping[tuple[str, ...], Way]
    ) -> Iterator[Callable[[str], bool]]:
        """Questions that no other option may answer with yes."""
        for kept in told:
            yield partial(self.works, kept=kept)
        for _, way in ways.values():
            yield partial(self._works_with_less, way=way)
        everything = frozenset(each.key for each in self.requirements)
        for key in sorted(frozenset.intersection(*told)):
            if (key,) not in ways:
                yield partial(self.works, kept=everything - {key})

    def _works_with_less(self, id_: str, way: Relaxed) -> bool:
        """Whether an option works where the one of a way needs a step more."""
        return any(self.oracle.works(self._instead(id_, short)) for short in way.fails)

    def _instead(self, id_: str, situation: Situation) -> Situation:
        """An option in the situation of another."""
        option = self.failing[id_][0].option
        return replace(situation, option=replace(option, items=situation.option.items))

    def cheapest(self, id_: str, way: Relaxed) -> Way:
        """The same concessions for the option that costs least with them."""
        all_there = {each: self._instead(each, way.works) for each in self.order}
        there = {each: place for each, place in all_there.items() if self.oracle.works(place)}
        found = self.oracle.cheapest(*there.values()) if there else None
        if found is None:
            return id_, replace(way, price=self.oracle.price(way.works))
        if found[0] == way.works:
            return id_, replace(way, price=found[1])
        cheapest = next(each for each, situation in there.items() if situation == found[0])
        if self._works_with_less(cheapest, way):
            # Of two numbers less of one may be more of the other.
            return id_, replace(way, price=self.oracle.price(way.works))
        fails = tuple(self._instead(cheapest, short) for short in way.fails)
        return cheapest, replace(way, works=found[0], fails=fails, price=found[1])


def _distance(findings: Sequence[Finding]) -> float:
    """How far an option fails its checks, to tell which comes nearest; inf if nothing is known."""
    if not findings:
        return float("inf")
    return sum(min(finding.utilisation, _FAR) - 1.0 for finding in findings if not finding.ok)


def _smallest(
    explanations: Mapping[str, Explanation], failing: Failing
) -> dict[tuple[str, ...], Way]:
    """The smallest concession of each kind over some options, the smallest first.

    What nobody would offer is left out, and a load almost gone is no way to carry it.
    """
    best: dict[tuple[str, ...], Way] = {}
    for id_, found in explanations.items():
        for relaxed in found.known:
            if not sensible(relaxed, failing[id_][0].case):
                continue
            keys = tuple(concession.key for concession in relaxed.concessions)
            if keys not in best or _rank(relaxed) < _rank(best[keys][1]):
                best[keys] = id_, relaxed
    if any(len(keys) == 1 for keys in best):
        best = {keys: way for keys, way in best.items() if len(keys) == 1}
    return dict(sorted(best.items(), key=lambda entry: _rank(entry[1][1])))


def _rank(relaxed: Relaxed) -> tuple[float, int]:
    return round(relaxed.effort, 6), relaxed.price or 0
