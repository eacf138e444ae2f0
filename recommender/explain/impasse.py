"""A case that no option meets: which requirements clash whatever is chosen, and what would help."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from recommender.explain.asking import Question
from recommender.explain.concessions import sensible
from recommender.explain.conflicts import NOTHING, Keys, joint_conflicts, minimal
from recommender.explain.edges import Relaxed
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import Explanation
from recommender.explain.requirements import Requirement, Situation, situations

_MOST: Final = 4


@dataclass(frozen=True)
class Impasse:
    """Why no option meets a case.

    Attributes
    ----------
    conflicts : tuple of set
        Minimal sets of requirements that no option can meet together, smallest first; the empty
        one if nothing works whatever is asked.
    complete : bool
        Whether there are no others.
    ways : tuple of (str, Relaxed)
        For each requirement that helps alone, or else each pair, the option with the smallest
        concession.
    """

    conflicts: tuple[Keys, ...]
    complete: bool
    ways: tuple[tuple[str, Relaxed], ...]


def find_impasse(
    explanations: Mapping[str, Explanation],
    failing: Mapping[str, Situation],
    requirements: Sequence[Requirement],
    oracle: Oracle,
) -> Impasse:
    """What keeps every option from meeting a case.

    A set of requirements is too much for the whole catalogue if it holds a conflict of each option.

    Parameters
    ----------
    explanations : mapping
        Why each option fails, by its id.
    failing : mapping
        The situation of each option.
    requirements : sequence of Requirement
    oracle : Oracle
    """
    hopeful = {id_: found for id_, found in explanations.items() if not found.hopeless}
    joint, whole = joint_conflicts(found.conflicts.sets for found in hopeful.values())
    known_all = whole and all(found.conflicts.complete for found in hopeful.values())
    confirmed = [
        _shrunk(conflict, hopeful, failing, requirements, oracle) for conflict in joint[:_MOST]
    ]
    return Impasse(
        tuple(minimal(confirmed)) if hopeful else (NOTHING,),
        known_all and len(joint) <= _MOST,
        _ways(explanations, failing),
    )


def _shrunk(
    conflict: Keys,
    hopeful: Mapping[str, Explanation],
    failing: Mapping[str, Situation],
    requirements: Sequence[Requirement],
    oracle: Oracle,
) -> Keys:
    """The conflict after asking, for each key, whether some option works without it."""
    for key in sorted(conflict):
        part = conflict - {key}
        # An option with a known conflict in what is left cannot work.
        open_ = [
            id_
            for id_, found in hopeful.items()
            if not any(known <= part for known in found.conflicts.sets)
        ]
        questions = (Question(situations(failing[id_], requirements, part)) for id_ in open_)
        if not any(oracle.answer([question])[0].works for question in questions):
            return _shrunk(part, hopeful, failing, requirements, oracle)
    return conflict


def _ways(
    explanations: Mapping[str, Explanation], failing: Mapping[str, Situation]
) -> tuple[tuple[str, Relaxed], ...]:
    """The smallest concession of each kind over all options, the smallest first.

    What nobody would offer is left out, and a load almost gone is no way to carry it.
    """
    best: dict[tuple[str, ...], tuple[str, Relaxed]] = {}
    for id_, found in explanations.items():
        for relaxed in found.alone or ((found.pair,) if found.pair else ()):
            if not sensible(relaxed, failing[id_].case):
                continue
            keys = tuple(concession.key for concession in relaxed.concessions)
            if keys not in best or _rank(relaxed) < _rank(best[keys][1]):
                best[keys] = id_, relaxed
    if any(len(keys) == 1 for keys in best):
        best = {keys: way for keys, way in best.items() if len(keys) == 1}
    return tuple(sorted(best.values(), key=lambda way: _rank(way[1])))


def _rank(relaxed: Relaxed) -> tuple[float, int]:
    return round(relaxed.effort, 6), relaxed.price or 0
