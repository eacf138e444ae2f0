"""Minimal conflicts: requirements that cannot hold together, none of them superfluous.

Everything here sees requirements as names and asks only whether some of them can hold together
while all others are given up. Giving up more never does harm, so what holds for a set of
requirements holds for every part of it.

A *conflict* is a set that cannot hold together although every part of it can. A *concession* is a
set whose giving up makes the rest hold although that of no part of it does. Each is the minimal
hitting sets of the other [1]_, which is how all of them are found, as in MARCO [3]_: whenever
giving up a minimal hitting set of the conflicts known so far does not help, what is left holds
another conflict, which is then shrunk by halves (QuickXplain [2]_); when every one of them helps,
no conflict is missing.

References
----------
.. [1] Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987).
.. [2] Junker, QuickXplain: preferred explanations and relaxations for over-constrained problems,
   AAAI 2004.
.. [3] Liffiton, Previti, Malik, Marques-Silva, Fast, flexible MUS enumeration, Constraints 21
   (2016).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

Keys: TypeAlias = frozenset[str]
Holds: TypeAlias = Callable[[Keys], bool]

NOTHING: Keys = frozenset()


@dataclass(frozen=True)
class Conflicts:
    """Minimal conflicts and the concessions that were tried, both smallest first.

    If nothing helps, not even giving up every requirement, the only conflict is the empty one.
    ``complete`` says that there are no others.
    """

    sets: tuple[Keys, ...]
    concessions: tuple[Keys, ...]
    complete: bool


def find_conflicts(
    keys: Sequence[str],
    holds: Holds,
    likely: Sequence[Keys] = (),
    alone: Keys = NOTHING,
    most: int = 8,
    effort: int = 400,
) -> Conflicts:
    """All minimal conflicts of requirements that cannot all hold together.

    Parameters
    ----------
    keys : sequence of str
        All requirements; that they cannot all hold together is known.
    holds : callable
        Whether a set of them can hold together while all others are given up.
    likely : sequence of set, optional
        Sets that may well hold a conflict; looked into first.
    alone : set, optional
        Keys that may well be concessions alone; asked first, since every conflict holds them then.
    most : int
        Conflicts after which no more are looked for.
    effort : int
        Questions after which it stops as soon as it has one.

    Returns
    -------
    Conflicts

    Examples
    --------
    Three loads of 4, 5 and 6 kg on a table for 9 kg: the first goes with the second only.

    >>> loads = {"a": 4, "b": 5, "c": 6}
    >>> found = find_conflicts("abc", lambda kept: sum(loads[key] for key in kept) <= 9)
    >>> [sorted(conflict) for conflict in found.sets], found.complete
    ([['a', 'c'], ['b', 'c']], True)
    >>> [sorted(concession) for concession in found.concessions]
    [['c'], ['a', 'b']]
    """
    ask, everything = _Asked(holds), frozenset(keys)
    if not ask(NOTHING):
        return Conflicts((NOTHING,), (), complete=True)
    ask.fails.append(everything)
    conflicts: list[Keys] = []
    helping = [frozenset({key}) for key in keys if key in alone and ask(everything - {key})]
    always = NOTHING.union(*helping)
    complete = True
    while new := [each for each in minimal_hitting_sets(conflicts) if each not in helping]:
        rest = everything - new[0]
        tired = bool(conflicts) and ask.count >= effort
        if not tired and new[0] and ask(rest):
            helping.append(new[0])
        elif tired or len(conflicts) >= most:
            complete = False
            break
        else:
            parts = (each & rest for each in likely)
            within = next((part for part in parts if part and not ask(part)), rest)
            others = [key for key in keys if key in within - always]
            conflicts.append(always | _quick(ask, always, always, others))
    # Where giving up more does harm after all, a conflict may hold.
    real = [each for each in conflicts if not ask(each)]
    still = minimal_hitting_sets(real)
    return Conflicts(
        tuple(sorted(real or [everything], key=lambda each: _order(each, keys))),
        tuple(sorted(set(helping) & set(still), key=lambda each: _order(each, keys))),
        complete and real == conflicts,
    )


def helping_alone(
    keys: Sequence[str], holds: Holds, likely: Iterable[Keys] = ()
) -> tuple[Keys, list[str]]:
    """A conflict, and the requirements of which each helps when it alone is given up.

    Parameters
    ----------
    keys, holds
        As for `find_conflicts`; that all given up holds is known too.
    likely : iterable of set, optional
        Sets that may well hold a conflict. One that does is taken as it is.

    Examples
    --------
    >>> loads = {"a": 4, "b": 5, "c": 6}
    >>> clash, alone = helping_alone("abc", lambda kept: sum(loads[key] for key in kept) <= 9)
    >>> sorted(clash), alone
    (['a', 'c'], ['c'])
    """
    ask, everything = _Asked(holds), frozenset(keys)
    clash = next((part for part in likely if part and not ask(part)), None)
    if clash is None:
        clash = _quick(ask, NOTHING, NOTHING, keys)
    # What helps alone is in every conflict.
    return clash, [key for key in keys if key in clash and ask(everything - {key})]


class _Asked:
    """What was asked already; a part of what holds holds, and what contains a conflict does not."""

    def __init__(self, holds: Holds) -> None:
        self.holds, self.count = holds, 0
        self.works: list[Keys] = []
        self.fails: list[Keys] = []

    def __call__(self, kept: Keys) -> bool:
        if any(kept <= each for each in self.works):
            return True
        if any(kept >= each for each in self.fails):
            return False
        self.count += 1
        answer = self.holds(kept)
        (self.works if answer else self.fails).append(kept)
        return answer


def _quick(ask: Holds, fixed: Keys, added: Keys, candidates: Sequence[str]) -> Keys:
    """Those of the candidates that a minimal conflict needs besides what is fixed."""
    if added and not ask(fixed):
        return NOTHING
    if len(candidates) <= 1:
        return frozenset(candidates)
    half = len(candidates) // 2
    first = frozenset(candidates[:half])
    of_second = _quick(ask, fixed | first, first, candidates[half:])
    return of_second | _quick(ask, fixed | of_second, of_second, candidates[:half])


def _order(each: Keys, keys: Sequence[str]) -> tuple[int, list[int]]:
    """Smaller sets first, then in the order of the keys."""
    return len(each), sorted(keys.index(key) for key in each)


def minimal_hitting_sets(sets: Iterable[Keys]) -> list[Keys]:
    """Sets that share a key with each of some sets and are minimal in that, smallest first.

    Examples
    --------
    >>> [sorted(each) for each in minimal_hitting_sets([frozenset("ac"), frozenset("bc")])]
    [['c'], ['a', 'b']]
    >>> minimal_hitting_sets([])
    [frozenset()]
    """
    hitting: set[Keys] = {NOTHING}
    for each in sets:
        hits = {kept for kept in hitting if kept & each}
        grown = {kept | {key} for kept in hitting - hits for key in each}
        hitting = hits | {new for new in grown if not any(old <= new for old in hits)}
    return minimal(hitting)


def minimal(sets: Iterable[Keys]) -> list[Keys]:
    """The sets that contain no other one, smallest first.

    Examples
    --------
    >>> [sorted(each) for each in minimal([frozenset("ab"), frozenset("a"), frozenset("bc")])]
    [['a'], ['b', 'c']]
    """
    kept: list[Keys] = []
    for each in sorted(set(sets), key=lambda keys: (len(keys), sorted(keys))):
        if not any(old <= each for old in kept):
            kept.append(each)
    return kept


def joint_conflicts(families: Iterable[Sequence[Keys]], most: int = 50) -> tuple[list[Keys], bool]:
    """Minimal conflicts of a choice that fails only if each of its options does.

    Parameters
    ----------
    families : iterable of sequence of set
        All minimal conflicts of each option.
    most : int
        Sets that are kept at a time, the smallest ones.

    Returns
    -------
    list of set, bool
        Unions of one conflict of each option, minimal ones, smallest first; and whether none was
        left out.

    Examples
    --------
    >>> one, other = [frozenset("a"), frozenset("bc")], [frozenset("b")]
    >>> found, complete = joint_conflicts([one, other])
    >>> [sorted(each) for each in found], complete
    ([['a', 'b'], ['b', 'c']], True)
    """
    joint: list[Keys] = [NOTHING]
    complete = True
    for family in families:
        joint = minimal(kept | conflict for kept in joint for conflict in family)
        if len(joint) > most:
            joint, complete = joint[:most], False
    return joint, complete
