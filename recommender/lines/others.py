"""What a line costs with other options of a loop, and why a loop's cheapest is not chosen."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final

from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.pricing import Cents
from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit
from recommender.lines.build import Builder
from recommender.lines.candidates import LeastWith, Vectors, rests, undominated
from recommender.lines.choose import choose
from recommender.lines.decide import LineDecision
from recommender.lines.found import Found
from recommender.lines.result import Instead
from recommender.lines.saving import Alone, by_item, ordered_alone
from recommender.results.answer import ItemDifference

_CENTS: Final = Decimal(100)
_MOST_BUILT: Final = 4
_MOST_TOLD: Final = 3


class Others:
    """Lines with some option of a loop, of all that was found."""

    def __init__(self, decision: LineDecision, catalogue: Catalogue) -> None:
        self.decision, self.catalogue = decision, catalogue
        # The budget is no matter: what exceeds it is told as well.
        self.terms = replace(decision.terms, budget=None)
        self.builder = Builder(decision.line, catalogue, self.terms)
        self.currency = catalogue.catalogue.currency

    def prices(self, loop: int) -> dict[str, Decimal]:
        """Price of the cheapest line with each option of a loop of which something was found.

        Supplies are looked at as if they were joined, so that it may cost more to build, never
        less; where that would be less than the choice, or the option does not work alone, such a
        line was built. That of the chosen option is the choice's. The budget is no matter.
        """
        least = self._least(loop)
        chosen = self.decision.cheapest
        prices = {id_: price / _CENTS for id_, price in least.items()}
        if chosen is None:
            return prices
        works = {
            looked.option.id
            for alone in self.decision.alone[loop]
            for looked in alone.decision.looked
            if looked.feasible
        }
        for id_, price in least.items():
            if id_ == chosen.loops[loop].configuration.option.id:
                prices[id_] = chosen.price
            elif price < chosen.cents or id_ not in works:
                built = self._built(loop, id_)
                if built is None:
                    del prices[id_]
                else:
                    prices[id_] = built.price
        return prices

    def _least(self, loop: int) -> dict[str, Cents]:
        decision = self.decision
        others = [
            [found.asks for found in entries]
            for number, entries in enumerate(decision.found)
            if number != loop
        ]
        bound = LeastWith(len(decision.found), rests(others, self.terms), self.terms)
        least: dict[str, Cents] = {}
        for found in self._known(loop):
            price = int(bound(Vectors.of(found.asks))[0])
            if price < NEVER:
                id_ = option_id(found)
                least[id_] = min(price, least.get(id_, NEVER))
        return least

    def _known(self, loop: int) -> list[Found]:
        """What was found of a loop and is short enough for the floor."""
        most = self.terms.length
        known = self.decision.known[loop]
        return [found for found in known if most is None or found.asks.along <= most]

    def _built(self, loop: int, option: str) -> LineAudit | None:
        """The cheapest line that was built with an option; ``None`` if none could be."""
        terms = self.terms
        mine = [found for found in self._known(loop) if option_id(found) == option]
        mine = [mine[k] for k in undominated([found.asks for found in mine], terms)]
        loops: list[Sequence[Found]] = list(self.decision.found)
        loops[loop] = mine
        asks = [[found.asks for found in entries] for entries in loops]
        without: list[tuple[int, ...]] = []
        best: LineAudit | None = None
        for _ in range(_MOST_BUILT):
            try:
                picked = choose(asks, terms, without=without)
            except Unknown:
                return best
            if picked is None or (best is not None and picked.price >= best.cents):
                return best
            without.append(picked.candidates)
            entries = tuple(loops[number][k] for number, k in enumerate(picked.candidates))
            built, _ = self.builder.build(entries, picked.price)
            if built is not None and (best is None or built.cents < best.cents):
                best = built
        return best

    def instead(self, loop: int, alone: Alone) -> Instead | None:
        """Why a loop is not as it would be by itself; ``None`` if it is.

        Parameters
        ----------
        loop : int
            Its number.
        alone : Alone
            The loop ordered by itself.
        """
        decision, chosen = self.decision, self.decision.cheapest
        if chosen is None or alone.option == option_id(decision.picked[loop]):
            return None
        mine = ordered_alone(decision.line, loop, [decision.picked[loop]], self.catalogue)
        if mine is None:
            return None
        cheaper = mine.audit.price - alone.audit.price
        picked = (*decision.picked[:loop], alone.found, *decision.picked[loop + 1 :])
        built, _ = self.builder.build(picked)
        begun = f"{alone.name}: {alone.option} alone would be {self._money(cheaper)} cheaper"
        if not cheaper:
            begun = f"{alone.name}: {alone.option} alone would cost as much"
        if built is None:
            fails = self.builder.failed
            lacks = f" ({', '.join(fails)})" if fails else ""
            return Instead(
                alone.option,
                cheaper,
                None,
                (),
                fails,
                f"{begun}, but beside the other loops it cannot be built{lacks}.",
            )
        items = differences(by_item(chosen.parts), by_item(built.parts))
        dearer = built.price - chosen.price
        told = f"{begun}, but the line with it costs {self._money(dearer)} more"
        return Instead(alone.option, cheaper, dearer, items, (), f"{told}: {_told(items)}.")

    def _money(self, amount: Decimal) -> str:
        return f"{amount:,.2f} {self.currency}"


def option_id(found: Found) -> str:
    """Id of a configuration's option."""
    return found.candidate.on.about.option.id


def differences(
    before: dict[str, Decimal], after: dict[str, Decimal]
) -> tuple[ItemDifference, ...]:
    """By how much each group of a bill is dearer than that of another, the most first."""
    nothing = Decimal(0)
    found = (
        ItemDifference(item, after.get(item, nothing) - before.get(item, nothing))
        for item in dict.fromkeys([*before, *after])
    )
    return tuple(sorted((e for e in found if e.difference), key=lambda e: -abs(e.difference)))


def _told(items: Sequence[ItemDifference]) -> str:
    """The largest differences in words; what is left together, so that they add up."""
    told = list(items[:_MOST_TOLD])
    rest = sum((item.difference for item in items[_MOST_TOLD:]), start=Decimal(0))
    if rest:
        told.append(ItemDifference("the rest", rest))
    return ", ".join(
        f"{item.item} {abs(item.difference):,.2f} {'more' if item.difference > 0 else 'less'}"
        for item in told
    )
