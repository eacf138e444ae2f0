"""Minimal conflicts: requirements that cannot hold together, none of them superfluous.

Everything here sees requirements as names and asks only whether some of them can hold together
while all others are given up. Giving up more never does harm, so what holds for a set of
requirements holds for every part of it.

A *conflict* is a set that cannot hold together although every part of it can. A *concession* is a
set whose giving up makes the rest hold although that of no part of it does. Each is the minimal
hitting sets of the other (Reiter 1987), which is how all of them are found (as in MARCO, Liffiton
et al. 2016): whenever giving up a minimal hitting set of the conflicts known so far does not help,
what is left holds another conflict, which is then shrunk by halves (QuickXplain, Junker 2004); when
every one of them helps, no conflict is missing.

References
----------
.. [1] Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987).
.. [2] Junker, QuickXplain: preferred explanations and relaxations for over-constrained problems,
   AAAI 2004.
.. [3] Liffiton, Previti, Malik, Marques-Silva, Fast, flexible MUS enumeration, Constraints 21
   (2016).
"""

from collections.abc import Generator, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

Keys: TypeAlias = frozenset[str]
Holding: TypeAlias = Generator[Keys, bool, bool]

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
    hints: Sequence[Keys] = (),
    expected: Sequence[Keys] = (),
    most: int = 8,
    effort: int = 400,
) -> Generator[Keys, bool, Conflicts]:
    """All minimal conflicts of requirements that cannot all hold together.

    Yields sets of keys and is sent whether they can hold together while all other keys are given
    up.

    Parameters
    ----------
    keys : sequence of str
        All requirements; that they cannot all hold together is known.
    hints : sequence of set, optional
        Sets that may well hold a conflict; looked into first.
    expected : sequence of set, optional
        Sets that may well be minimal conflicts.
    most : int
        Conflicts after which no more are looked for.
    effort : int
        Questions after which it stops as soon as it may.

    Returns
    -------
    Conflicts

    Examples
    --------
    Three loads of 4, 5 and 6 kg on a table for 9 kg: the first goes with the second only.

    >>> loads = {"a": 4, "b": 5, "c": 6}
    >>> asking = find_conflicts("abc")
    >>> kept = next(asking)
    >>> try:
    ...     while True:
    ...         kept = asking.send(sum(loads[key] for key in kept) <= 9)
    ... except StopIteration as stop:
    ...     found = stop.value
    >>> [sorted(conflict) for conflict in found.sets], found.complete
    ([['a', 'c'], ['b', 'c']], True)
    >>> [sorted(concession) for concession in found.concessions]
    [['c'], ['a', 'b']]
    """
    known = _Known(tuple(keys))
    if not (yield from known.holds(NOTHING)):
        return Conflicts((NOTHING,), (), complete=True)
    known.fails.append(frozenset(keys))
    search = _Search(known, hints, expected, most, effort)
    while (yield from search.widened()):
        pass
    return search.result()


class _Search:
    """Conflicts and concessions found so far, widened by a step at a time."""

    def __init__(
        self,
        known: "_Known",
        hints: Sequence[Keys],
        expected: Sequence[Keys],
        most: int,
        effort: int,
    ) -> None:
        self.known = known
        self.hints = hints
        self.expected = expected
        self.most = most
        self.effort = effort
        self.conflicts: list[Keys] = []
        self.helping: list[Keys] = []
        self.complete = True

    def widened(self) -> Generator[Keys, bool, bool]:
        """One more conflict or concession; false if there is nothing more to find."""
        given_up = next(
            (each for each in minimal_hitting_sets(self.conflicts) if each not in self.helping),
            None,
        )
        tired = bool(self.conflicts) and self.known.asked >= self.effort
        if given_up is None or tired:
            self.complete = self.complete and given_up is None
            return (yield from self._corrected())
        rest = frozenset(self.known.keys) - given_up
        if given_up and (yield from self.known.holds(rest)):
            self.helping.append(given_up)
            return True
        if len(self.conflicts) >= self.most:
            self.complete = False
            return (yield from self._corrected())
        self.conflicts.append((yield from self._conflict_within(rest)))
        return True

    def _conflict_within(self, failing: Keys) -> Generator[Keys, bool, Keys]:
        """A conflict within a set that fails, minimal unless it was expected."""
        known = self.known
        for each in self.expected:
            if each <= failing and not (yield from known.holds(each)):
                return each
        for hint in sorted({each & failing for each in self.hints}, key=known.order):
            if hint and hint != failing and not (yield from known.holds(hint)):
                return (yield from _quick(known, NOTHING, NOTHING, known.sorted(hint)))
        return (yield from _quick(known, NOTHING, NOTHING, known.sorted(failing)))

    def _corrected(self) -> Generator[Keys, bool, bool]:
        """Whether some conflict turned out not to be one and was replaced.

        Every one is to fail, and every part of it to hold: asked, or known from a larger set that
        was asked. Only what was expected can be larger than a conflict, and only where giving up
        more does harm can one hold.
        """
        for conflict in self.conflicts:
            if (yield from self.known.holds(conflict)):
                self.conflicts.remove(conflict)
                self.complete = False
                return False
            for key in self.known.sorted(conflict):
                part = conflict - {key}
                if not (yield from self.known.holds(part)):
                    self.conflicts.remove(conflict)
                    self.conflicts.append(
                        (yield from _quick(self.known, NOTHING, NOTHING, self.known.sorted(part)))
                    )
                    return True
        return False

    def result(self) -> Conflicts:
        """What was found."""
        conflicts = self.conflicts or [frozenset(self.known.keys)]
        still = set(minimal_hitting_sets(conflicts))
        return Conflicts(
            tuple(sorted(conflicts, key=self.known.order)),
            tuple(sorted((each for each in self.helping if each in still), key=self.known.order)),
            self.complete,
        )


class _Known:
    """What was asked already; a part of what holds holds, and what contains a conflict does not."""

    def __init__(self, keys: tuple[str, ...]) -> None:
        self.keys = keys
        self.works: list[Keys] = []
        self.fails: list[Keys] = []
        self.asked = 0

    def order(self, keys: Keys) -> tuple[int, list[int]]:
        """Smaller sets first, then in the order of the requirements."""
        return len(keys), sorted(self.keys.index(key) for key in keys)

    def sorted(self, keys: Keys) -> list[str]:
        """Keys in the order of the requirements."""
        return [key for key in self.keys if key in keys]

    def holds(self, kept: Keys) -> Holding:
        """Whether a set holds together, asked only if that does not follow from what is known."""
        if any(kept <= each for each in self.works):
            return True
        if any(kept >= each for each in self.fails):
            return False
        self.asked += 1
        answer = yield kept
        (self.works if answer else self.fails).append(kept)
        return answer


def _quick(
    known: _Known, fixed: Keys, added: Keys, candidates: Sequence[str]
) -> Generator[Keys, bool, Keys]:
    """Those of the candidates that a minimal conflict needs besides what is fixed."""
    if added and not (yield from known.holds(fixed)):
        return NOTHING
    if len(candidates) == 1:
        return frozenset(candidates)
    half = len(candidates) // 2
    first = frozenset(candidates[:half])
    of_second = yield from _quick(known, fixed | first, first, candidates[half:])
    of_first = yield from _quick(known, fixed | of_second, of_second, candidates[:half])
    return of_first | of_second


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
    return sorted(minimal(hitting), key=lambda keys: (len(keys), sorted(keys)))


def minimal(sets: Iterable[Keys]) -> list[Keys]:
    """The sets that contain no other one.

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
