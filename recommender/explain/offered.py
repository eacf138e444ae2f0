"""What would be offered of options that fail: small concessions, and nothing else about them.

Of the conflicts of an option and of what nobody would offer nothing is looked for; what is offered
is the same as `recommender.explain.reasons.explain` finds.
"""

from collections.abc import Sequence
from typing import TypeAlias

from recommender.choice.checks import FIXED
from recommender.choice.checks.findings import Finding
from recommender.explain.concessions import most_offered, offered, offers
from recommender.explain.conflicts import NOTHING, Conflicts, Keys, helping_alone
from recommender.explain.edges import Relaxed, ease, helps
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import Explanation, explain, likely_conflicts
from recommender.explain.requirements import Number, Requirement, Situation, situations

Kin: TypeAlias = tuple[str, int]
"""A carrier and its items: options that share them fail alike, on other bends."""


class Offers:
    """Finds what is offered, for one option after the other.

    Parameters
    ----------
    requirements : sequence of Requirement
    oracle : Oracle
    """

    def __init__(self, requirements: Sequence[Requirement], oracle: Oracle) -> None:
        self.requirements, self.oracle = requirements, oracle
        self._keys = [requirement.key for requirement in requirements]
        self._clashes: dict[Kin, Keys] = {}
        self._values: dict[Kin, dict[str, float]] = {}
        self._helped: dict[Kin, str] = {}

    def of(self, situation: Situation, findings: Sequence[Finding] = ()) -> Explanation | None:
        """The ways that are offered of one option, without prices.

        Parameters
        ----------
        situation : Situation
            One that does not work.
        findings : sequence of Finding, optional
            What its checks find; requirements that they speak of may well conflict.

        Returns
        -------
        Explanation or None
            ``None`` if it does not work even with all offers at once, unless that is because of
            a check that looks at nothing of the case, so that nothing helps.
        """
        if any(not finding.ok and finding.check in FIXED for finding in findings):
            return Explanation(Conflicts((NOTHING,), (), complete=True), (), None)
        if not self.oracle.works(*offers(situation, self.requirements)):
            return None
        ways = self._alone(situation, findings)
        if not ways and not self._helps_alone(situation):
            return explain(situation, self.requirements, self.oracle, findings)
        unknown = Conflicts((), (), complete=False)
        return Explanation(unknown, tuple(sorted(ways, key=lambda way: way.effort)), None)

    def _alone(self, situation: Situation, findings: Sequence[Finding]) -> list[Relaxed]:
        """What is offered and helps alone."""

        def works(kept: Keys) -> bool:
            given = [each for each in self.requirements if each.key not in kept]
            return self.oracle.works(*offers(situation, given))

        kin = _kin(situation)
        known = [self._clashes[kin]] if kin in self._clashes else []
        likely = [*known, *likely_conflicts(findings, self._keys)]
        self._clashes[kin], alone = helping_alone(self._keys, works, likely)
        near = self._values.setdefault(kin, {})
        ways = []
        for requirement in self.requirements:
            for move in requirement.moves if requirement.key in alone else ():
                most = most_offered(move) if isinstance(move, Number) else None
                way = ease(move, situation, self.oracle, near, most)
                if way is not None and offered(way, situation.case):
                    ways.append(way)
                    near |= {e.key: e.value for e in way.concessions if e.value is not None}
        return ways

    def _helps_alone(self, situation: Situation) -> bool:
        """Whether any requirement helps alone, if it gives far enough."""
        kin, everything = _kin(situation), frozenset(self._keys)
        first = self._helped.get(kin)
        for each in sorted(self.requirements, key=lambda one: one.key != first):
            kept = everything - {each.key}
            if self.oracle.works(*situations(situation, self.requirements, kept)) and any(
                helps(move, situation, self.oracle) for move in each.moves
            ):
                self._helped[kin] = each.key
                return True
        return False


def _kin(situation: Situation) -> Kin:
    return situation.option.carrier.id, situation.option.items
