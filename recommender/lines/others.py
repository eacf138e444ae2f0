"""What a line costs with other options of a loop, and why a loop's cheapest is not chosen."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from recommender.choice.options import Option
from recommender.choice.pricing import Cents
from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit
from recommender.lines.choose import choose
from recommender.lines.decide import Builder, LineDecision
from recommender.lines.frontier import Found
from recommender.lines.result import Instead
from recommender.lines.saving import by_item
from recommender.result import ItemDifference

_CENTS: Final = Decimal(100)
_MOST_BUILT: Final = 4


class Others:
    """Lines with some option of a loop, built of what was found of all."""

    def __init__(self, decision: LineDecision, catalogue: Catalogue) -> None:
        self.decision, self.catalogue = decision, catalogue
        self.builder = Builder(decision.line, catalogue, decision.terms)
        self._built: dict[tuple[int, str], LineAudit | None] = {}

    def options(self, loop: int) -> list[Option]:
        """The options of a loop of which something was found, and is not dominated."""
        found = {f.candidate.on.about.option.id: f for f in self.decision.found[loop]}
        return [entry.candidate.on.about.option for entry in found.values()]

    def with_option(self, loop: int, option: str) -> LineAudit | None:
        """The cheapest line of what was found with an option of a loop; ``None`` without any.

        The budget is no matter.
        """
        key = loop, option
        if key not in self._built:
            self._built[key] = self._cheapest(loop, option)
        return self._built[key]

    def _cheapest(self, loop: int, option: str) -> LineAudit | None:
        chosen = self.decision.cheapest
        if chosen is not None and chosen.loops[loop].configuration.option.id == option:
            return chosen
        loops: list[list[Found]] = [
            [f for f in found if number != loop or f.candidate.on.about.option.id == option]
            for number, found in enumerate(self.decision.found)
        ]
        if not all(loops):
            return None
        asks = [[found.asks for found in entries] for entries in loops]
        refused: list[tuple[int, ...]] = []
        best: LineAudit | None = None
        for _ in range(_MOST_BUILT):
            try:
                picked = choose(asks, self.builder.terms, without=refused, lexicographic=False)
            except Unknown:
                return best
            if picked is None or (best is not None and picked.price >= best.cents):
                return best
            refused.append(picked.candidates)
            entries = tuple(loops[number][k] for number, k in enumerate(picked.candidates))
            built, _ = self.builder.build(entries, picked.price)
            if built is not None and (best is None or built.cents < best.cents):
                best = built
        return best

    def instead(self, loop: int, name: str, option: str, cheaper: Cents) -> Instead:
        """Why a loop's cheapest by itself is not the choice.

        Parameters
        ----------
        loop : int
            Its number.
        name : str
        option : str
            Id of its cheapest option.
        cheaper : int
            By how much that is cheaper than the chosen one, each ordered by itself, cents.
        """
        line, chosen = self.with_option(loop, option), self.decision.cheapest
        assert chosen is not None
        currency, saved = self.catalogue.catalogue.currency, cheaper / _CENTS
        begun = f"{name}: {option} alone would be {saved:,.2f} {currency} cheaper"
        if line is None:
            return Instead(option, saved, None, (), (), f"{begun}, but no line was found with it.")
        items = tuple(
            ItemDifference(item, difference) for item, difference in _differences(line, chosen)
        )
        dearer = line.price - chosen.price
        most = [f"{item.item} {item.difference:,.2f}" for item in items if item.difference > 0][:2]
        return Instead(
            option,
            saved,
            dearer,
            items,
            (),
            f"{begun}, but the line with it costs {dearer:,.2f} {currency} more:"
            f" {' and '.join(most)} {currency} more.",
        )


def _differences(one: LineAudit, other: LineAudit) -> Sequence[tuple[str, Decimal]]:
    ours, theirs = by_item(other.parts), by_item(one.parts)
    nothing = Decimal(0)
    found = [
        (item, theirs.get(item, nothing) - ours.get(item, nothing))
        for item in dict.fromkeys([*theirs, *ours])
    ]
    return sorted((entry for entry in found if entry[1]), key=lambda entry: -entry[1])
