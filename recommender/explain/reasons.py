"""Why an option fails: which requirements clash, and what would have to give."""

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Final, TypeAlias

from recommender.choice.deadline import Unsettled, check_time
from recommender.choice.decide import price_at_a_glance
from recommender.choice.findings import Finding
from recommender.choice.pricing import Cents
from recommender.explain.asking import Asking, Question, ask_together
from recommender.explain.concessions import MOST_WAYS, offers, ways_of
from recommender.explain.conflicts import (
    NOTHING,
    Conflicts,
    Keys,
    find_conflicts,
    minimal_hitting_sets,
)
from recommender.explain.edge_search import Passes
from recommender.explain.edges import Relaxed, ease, ease_both
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Requirement, Situation, situations
from recommender.explain.scale import Concession
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

_MOST_CONFLICTS: Final = 4
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
        Its minimal conflicts; the empty one if no requirement matters.
    alone : tuple of Relaxed
        Edges of the requirements that help alone, the smallest concession first.
    pair : Relaxed or None
        The cheapest pair of concessions, if none helps alone and a pair does.
    """

    conflicts: Conflicts
    alone: tuple[Relaxed, ...]
    pair: Relaxed | None

    @property
    def conflict(self) -> Keys:
        """The smallest conflict."""
        return self.conflicts.sets[0]

    @property
    def hopeless(self) -> bool:
        """Whether the option fails whatever is asked."""
        return not self.conflict


Failing: TypeAlias = Mapping[str, tuple[Situation, Sequence[Finding]]]
"""By an option's id the situation in which it fails, and what every check finds there."""


def worth_explaining(
    failing: Failing, requirements: Sequence[Requirement], oracle: Oracle
) -> list[str]:
    """Options that work with all offers at once, or that nothing helps.

    What is asked less never makes an option fail, so where no number a fifth gentler and no other
    way to do things helps even together, no offer among them does alone.

    Parameters
    ----------
    failing : mapping
    requirements : sequence of Requirement
    oracle : Oracle

    Returns
    -------
    list of str
        Their ids.
    """
    situations_of = {id_: situation for id_, (situation, _) in failing.items()}
    near = _that_work(
        {id_: offers(situation, requirements) for id_, situation in situations_of.items()}, oracle
    )
    others = {
        id_: situations(situation, requirements, NOTHING)
        for id_, situation in situations_of.items()
        if id_ not in near
    }
    hopeful = _that_work(others, oracle)
    return [id_ for id_ in failing if id_ in near or id_ not in hopeful]


def _that_work(asked: Mapping[str, tuple[Situation, ...]], oracle: Oracle) -> set[str]:
    replies = oracle.answer([Question(each) for each in asked.values()])
    return {id_ for id_, reply in zip(asked, replies, strict=True) if reply.works}


def explain_failing(
    failing: Failing,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    progress: Callable[[int], None] | None = None,
) -> dict[str, Explanation]:
    """Why some options fail, looked into side by side.

    Parameters
    ----------
    failing : mapping
        By the option's id the situation in which it fails, and what every check finds where it
        comes nearest to passing.
    requirements : sequence of Requirement
    oracle : Oracle
    progress : callable, optional
        Called with the number of options that are explained.

    Returns
    -------
    dict
        Explanations by id; if the time is up before all are explained, of those that are.
    """
    explained: dict[str, Explanation] = {}
    # Options that share a carrier fail alike, so one of each goes ahead and the others guess.
    ahead: dict[tuple[str, int], Explanation] = {}
    left = list(failing)
    while left:
        wave: dict[tuple[str, int], str] = {}
        for id_ in left:
            wave.setdefault(_kin(failing[id_][0]), id_)
        if all(kin in ahead for kin in wave):
            wave = {(id_, 0): id_ for id_ in left}
        asking = {
            id_: explain(
                failing[id_][0],
                requirements,
                _hints(failing[id_][1], requirements),
                oracle.passes_alone,
                ahead.get(_kin(failing[id_][0])),
            )
            for id_ in wave.values()
        }
        found = ask_together(asking, oracle.answer, _counted(progress, len(explained)))
        explained.update(found)
        if len(found) < len(asking):
            break
        ahead.update({_kin(failing[id_][0]): explained[id_] for id_ in wave.values()})
        left = [id_ for id_ in left if id_ not in explained]
    return {id_: explained[id_] for id_ in failing if id_ in explained}


def _counted(progress: Callable[[int], None] | None, before: int) -> Callable[[int], None] | None:
    """Progress of one wave as that of all options."""
    return None if progress is None else lambda done: progress(before + done)


def _kin(situation: Situation) -> tuple[str, int]:
    """What options have in common that fail alike."""
    return situation.option.carrier.id, situation.option.items


def explain(
    situation: Situation,
    requirements: Sequence[Requirement],
    hints: Sequence[Keys],
    passes: Passes,
    ahead: Explanation | None = None,
) -> Asking[Explanation]:
    """Why one option fails.

    Parameters
    ----------
    situation : Situation
    requirements : sequence of Requirement
    hints : sequence of set
        Requirements that may well conflict.
    passes : callable
        Whether the checks of the option alone hold.
    ahead : Explanation, optional
        That of a similar option, as a guess.
    """
    expected = ahead.conflicts.sets if ahead is not None else ()
    found = yield from _conflicts(situation, requirements, hints, expected)
    asker = _Concessions(situation, {entry.key: entry for entry in requirements}, passes, ahead)
    alone: list[Relaxed] = []
    for key in (yield from asker.helping(found, 1)):
        alone += yield from asker.ease(*key)
    pair = None
    if not alone and found.sets[0]:
        pair = yield from asker.cheapest_pair((yield from asker.helping(found, 2)))
    alone.sort(key=lambda relaxed: relaxed.effort)
    return Explanation(found, tuple(alone), pair)


def priced(found: Explanation, case: Case, catalogue: Catalogue) -> Explanation:
    """The explanation with the price of each offer that is told, as its own decision has it.

    Edges are found on a grid of motions, on which a configuration may be dearer than it has to be.

    Parameters
    ----------
    found : Explanation
    case : Case
        The enquiry as it is asked.
    catalogue : Catalogue

    Raises
    ------
    TimeUpError
        If an end by the clock was set and is there.
    """
    told = [id(way) for way in ways_of(found.alone, found.pair, case)[:MOST_WAYS]]

    def decided(way: Relaxed) -> Relaxed:
        if id(way) not in told or way.price is None:
            return way
        price = price_at_a_glance(way.works.option, way.works.case, catalogue)
        # One that the end of the time has cut short would be another price.
        check_time(Unsettled.REASONS)
        return way if price is None else replace(way, price=price)

    pair = None if found.pair is None else decided(found.pair)
    return replace(found, alone=tuple(map(decided, found.alone)), pair=pair)


def _conflicts(
    situation: Situation,
    requirements: Sequence[Requirement],
    hints: Sequence[Keys],
    expected: Sequence[Keys],
) -> Asking[Conflicts]:
    keys = [requirement.key for requirement in requirements]
    asking = find_conflicts(keys, hints, expected, _MOST_CONFLICTS, _EFFORT)
    return (yield from _of_situation(asking, situation, requirements))


def _of_situation(
    asking: Generator[Keys, bool, Conflicts],
    situation: Situation,
    requirements: Sequence[Requirement],
) -> Generator[Question, Any, Conflicts]:
    """Questions about sets of requirements as questions about situations."""
    try:
        kept = next(asking)
        while True:
            reply = yield Question(situations(situation, requirements, kept))
            kept = asking.send(reply.works)
    except StopIteration as stop:
        found: Conflicts = stop.value
        return found


@dataclass(frozen=True)
class _Concessions:
    """Concessions that make one option work, and their edges."""

    situation: Situation
    named: Mapping[str, Requirement]
    passes: Passes
    ahead: Explanation | None

    def helping(self, found: Conflicts, count: int) -> Asking[list[tuple[str, ...]]]:
        """Sets of so many requirements that help if given up, in the order of the case.

        Only a set that shares a key with every conflict can help.
        """
        order = list(self.named).index
        helping = []
        for keys in minimal_hitting_sets(found.sets):
            if len(keys) != count:
                continue
            if keys in found.concessions or (
                not found.complete and (yield Question(self.without(keys))).works
            ):
                helping.append(tuple(sorted(keys, key=order)))
        return sorted(helping, key=lambda keys: [order(key) for key in keys])

    def without(self, keys: Keys) -> tuple[Situation, ...]:
        """Situations with some requirements given up."""
        requirements = list(self.named.values())
        return situations(self.situation, requirements, frozenset(self.named) - keys)

    def ease(self, key: str) -> Asking[list[Relaxed]]:
        """Edges of one requirement, one for each way to relax it that helps."""
        edges = []
        for move in self.named[key].moves:
            guess = self._guess(move.key)
            relaxed = yield from ease(move, self.situation, self.passes, guess)
            if relaxed is not None:
                edges.append(relaxed)
        return edges

    def _guess(self, key: str) -> Concession | None:
        if self.ahead is None:
            return None
        known = (relaxed.concessions[0] for relaxed in self.ahead.alone)
        return next((concession for concession in known if concession.key == key), None)

    def _guessed_pair(self) -> Sequence[Concession]:
        known = self.ahead.pair if self.ahead is not None else None
        return () if known is None else known.concessions

    def cheapest_pair(self, pairs: Sequence[tuple[str, ...]]) -> Asking[Relaxed | None]:
        """The cheapest edge of two requirements.

        What a pair costs with both given up is a bound for its edge, so pairs are looked at in that
        order and only while they can still be cheaper.
        """
        bounds = []
        for number, keys in enumerate(pairs):
            reply = yield Question(self.without(frozenset(keys)), priced=True)
            if reply.price is not None:
                bounds.append((reply.price, number, keys))
        best: Relaxed | None = None
        for bound, _, (one, other) in sorted(bounds)[:_MOST_PAIRS]:
            if best is not None and _price(best) <= bound:
                break
            for moves in product(self.named[one].moves, self.named[other].moves):
                relaxed = yield from ease_both(
                    *moves, self.situation, self.passes, self._guessed_pair()
                )
                if relaxed is not None and (best is None or _price(relaxed) < _price(best)):
                    best = relaxed
        return best


def _price(relaxed: Relaxed) -> Cents:
    return relaxed.price or 0


def _hints(findings: Sequence[Finding], requirements: Sequence[Requirement]) -> list[Keys]:
    """Requirements that failing checks speak of: each check's, all of theirs, and those of checks
    that are used up besides."""
    keys = [requirement.key for requirement in requirements]

    def spoken_of(finding: Finding) -> Keys:
        said = finding.about.requirements
        return frozenset(key for key in keys if any(_same(key, each) for each in said))

    failing = [spoken_of(finding) for finding in findings if not finding.ok]
    binding = [spoken_of(finding) for finding in findings if finding.utilisation >= _NEARLY]
    together = frozenset[str]().union(*failing)
    # How a load is held and how many share a carrier stand behind many checks.
    usual = frozenset(keys) & {"load.held", "rate.per_carrier"}
    return [*failing, together, together.union(*binding) | usual]


def _same(key: str, said: str) -> bool:
    """Whether a requirement is the one that a check speaks of; stations have their own each."""
    if said == "load.friction":
        return key == "load.held"
    table, _, field = said.partition(".")
    return key == said or (table, field) == (key.partition(".")[0], key.rpartition(".")[2])
