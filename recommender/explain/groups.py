"""Options that fail, said once: those that fail for the same cause together, near misses apart."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from recommender import units
from recommender.choice.checks.causes import Cause
from recommender.choice.checks.configured import BUDGET
from recommender.choice.decision.option_report import REFUSED, OptionReport, Shortfall
from recommender.choice.parts.options import Option
from recommender.explain.concessions import size, ways_of
from recommender.explain.edges import Relaxed
from recommender.explain.explained import Explained
from recommender.explain.measures import count, listed, measure, of_cents, sentence
from recommender.explain.phrases import TOO_SHORT_A_WAY, clash, moment
from recommender.explain.reasons import Explanation
from recommender.explain.words import causes_of, rejected, short_of_money, way_words
from recommender.inputs.case import Case

Kind: TypeAlias = tuple[str, ...]
"""What options fail alike for: ids of the checks of one cause, and where if it has a name."""

_NO_LOOP: Final = "no loop"
_NOTHING: Final = "nothing"
_LONG: Final = 90
"""Letters from which on options are counted instead of named."""


@dataclass(frozen=True)
class Rejection:
    """Options that are told together; ``near`` if a small concession would make them work."""

    options: tuple[Option, ...]
    who: str
    why: str
    near: bool


def rejections(
    looked: Sequence[OptionReport],
    explained: Explained,
    case: Case,
    currency: str,
    nearest: int | None = None,
) -> list[Rejection]:
    """All options that fail: groups with one cause, largest first, then near misses, nearest first.

    Every option of the decision is to be among those that were ``looked`` at. Where prices are not
    known yet, those of so many groups and of the ``nearest`` misses are asked for.
    """
    teller = _Teller([entry.option for entry in looked], explained, case, currency)
    failing = [entry for entry in looked if entry.decided and not entry.feasible]
    near = [entry for entry in failing if teller.is_near(entry)]
    far = [entry for entry in failing if not teller.is_near(entry)]
    return [*teller.groups(far), *teller.near_misses(near, nearest)]


@dataclass(frozen=True)
class _Teller:
    every: Sequence[Option]
    explained: Explained
    case: Case
    currency: str

    def ways(self, entry: OptionReport) -> list[Relaxed]:
        """Small concessions that would make an option work, the smallest first."""
        found = self._failing(entry)
        return ways_of(found.known, self.case) if found else []

    def is_near(self, entry: OptionReport) -> bool:
        """Whether a number has to give a little, and no other way to do things is needed."""
        ways = self.ways(entry)
        return bool(ways) and any(each.value is not None for each in ways[0].concessions)

    def near_misses(
        self, near: Sequence[OptionReport], priced: int | None = None
    ) -> list[Rejection]:
        """One by one, but one carrier once whose concession is the same on several bends."""
        alike: dict[tuple[str, int, str], list[OptionReport]] = {}
        for entry in sorted(near, key=lambda one: size(self.ways(one)[0])):
            option, way = entry.option, self.ways(entry)[0]
            key = option.carrier.id, option.items, way_words(way, self.currency, priced=False)
            alike.setdefault(key, []).append(entry)
        together = list(alike.values())
        first = len(together) if priced is None else priced
        return [self._near(entries, k < first) for k, entries in enumerate(together)]

    def _near(self, entries: Sequence[OptionReport], priced: bool) -> Rejection:
        options = tuple(entry.option for entry in entries)
        if len(entries) == 1:
            if priced:
                self.explained.ask_prices(entries[0], self.case)
            return Rejection(options, options[0].id, self._alone(entries[0]), near=True)
        text = self._offer([self.ways(entry)[0] for entry in entries], priced)
        why = self._together(_kind(self._causes(entries[0])[0]), entries)
        return Rejection(
            options, who(options, self.every), f"{sentence(why)} {sentence(text)}", near=True
        )

    def _alone(self, entry: OptionReport) -> str:
        id_ = entry.option.id
        scene, found = self.explained.scenes.get(id_), self.explained.failing.get(id_)
        return rejected(entry, scene, found, self.case, self.currency)

    def groups(self, far: Sequence[OptionReport]) -> list[Rejection]:
        """As few groups as the commonest causes make, the largest first."""
        kinds = {entry.option.id: self._kinds(entry) for entry in far}
        left, groups = list(far), []
        while left:
            common = Counter(kind for entry in left for kind in kinds[entry.option.id])
            kind = max(common, key=lambda one: (common[one], -_first(left, kinds, one)))
            members = [entry for entry in left if kind in kinds[entry.option.id]]
            left = [entry for entry in left if kind not in kinds[entry.option.id]]
            options = tuple(entry.option for entry in members)
            why = sentence(self._together(kind, members)) + self._another_way(members)
            groups.append(Rejection(options, who(options, self.every), why, near=False))
        return groups

    def _another_way(self, entries: Sequence[OptionReport]) -> str:
        """What helps all of them, if the same does."""
        told = [
            {way_words(way, self.currency, priced=False): way for way in self.ways(entry)}
            for entry in entries
        ]
        common = [words for words in told[0] if all(words in each for each in told)]
        return " " + sentence(self._offer([each[common[0]] for each in told])) if common else ""

    def _offer(self, ways: Sequence[Relaxed], priced: bool = True) -> str:
        """The same offer of some options, and the least that any of them costs then."""
        text = f"would work with {way_words(ways[0], self.currency, priced=False)}"
        price = self.explained.least_price(ways) if priced else None
        return text if price is None else f"{text}, from {of_cents(price, self.currency)}"

    def _kinds(self, entry: OptionReport) -> list[Kind]:
        if self._lacking(entry) is not None:
            return [(BUDGET,)]
        if entry.audit is None:
            return [(_NO_LOOP, entry.obstacle)]
        return list(dict.fromkeys(map(_kind, self._causes(entry)))) or [(_NOTHING,)]

    def _causes(self, entry: OptionReport) -> tuple[Cause, ...]:
        """Those that are told of an option first, and behind them all others."""
        found = self._failing(entry)
        told = causes_of(entry, hopeless=found is not None and found.hopeless)
        return (*told, *(cause for cause in entry.causes if cause not in told))

    def _together(self, kind: Kind, entries: Sequence[OptionReport]) -> str:
        if kind[0] == _NO_LOOP:
            if kind[1].startswith(REFUSED):
                return f"they fail for {kind[1].removeprefix(REFUSED)}"
            return f"their stations fit on no loop of this catalogue: {kind[1]}"
        if kind[0] == _NOTHING:
            return "no motion on any loop passes every check at once"
        if kind[0] == BUDGET:
            return self._too_dear(entries)
        causes = [
            cause for entry in entries for cause in self._causes(entry) if _kind(cause) == kind
        ]
        return _cause_of_many(causes, self.currency)

    def _failing(self, entry: OptionReport) -> Explanation | None:
        return self.explained.failing.get(entry.option.id)

    def _lacking(self, entry: OptionReport) -> Shortfall | None:
        return short_of_money(entry, self._failing(entry), self.case)

    def _too_dear(self, entries: Sequence[OptionReport]) -> str:
        lacking = [lacks for lacks in map(self._lacking, entries) if lacks]
        over = [(lacks.price - lacks.budget) / 100.0 for lacks in lacking]
        if all(lacks.built for lacks in lacking):
            return f"would cost {span(over, 'money', self.currency)} more than may be spent"
        least = measure(min(over), "money", self.currency)
        return f"would cost at least {least} more than may be spent"


def _kind(cause: Cause) -> Kind:
    where = cause.told.where
    named = where.station or (where.load_case.station if where.load_case else "")
    return (cause.told.check, named, *sorted(finding.check for finding in cause.held))


def _first(left: Sequence[OptionReport], kinds: Mapping[str, Sequence[Kind]], kind: Kind) -> int:
    """How far behind a kind stands among those of the first option that has it."""
    return min(kinds[e.option.id].index(kind) for e in left if kind in kinds[e.option.id])


def _cause_of_many(causes: Sequence[Cause], currency: str) -> str:
    """One cause of several options, figures from the least to the most."""
    told = [cause.told for cause in causes]
    about, where = told[0].about, told[0].where
    same = all(moment(finding.where) == moment(where) for finding in told)
    if about.id == "fleet.lap" and all(math.isinf(finding.demand) for finding in told):
        return TOO_SHORT_A_WAY + clash(told[0], causes[0].held)
    demand = span([finding.demand for finding in told], about.unit, currency)
    limit = span([finding.limit for finding in told], about.unit, currency)
    text = (about.together or about.fails).format(
        demand=f"slightly more than {demand}" if demand == limit else demand,
        limit=limit,
        where=where.station or where.text,
        moment=moment(where) if same else "in the worst load case",
    )
    return text + clash(told[0], causes[0].held)


def span(values: Iterable[float], unit: str, currency: str = "") -> str:
    """One value, or from the least to the most, the unit once.

    Examples
    --------
    >>> span([4.0, 23.0], "mass"), span([4.0, 4.0], "mass"), span([0.9, 2.4], "length")
    ('4 to 23 kg', '4 kg', '0.9 to 2.4 m')
    """
    known = list(values)
    least, most = (measure(value, unit, currency) for value in (min(known), max(known)))
    if least == most:
        return least
    number, _, of_least = least.partition(" ")
    if unit == "length" and of_least != most.partition(" ")[2]:
        # Short lengths and long ones are written differently, but not side by side.
        long = units.shown("m", max(known))
        number = f"{min(known) * (long.per_si if long else 1.0):.2f}".rstrip("0").rstrip(".")
    return f"{number} to {most}"


def who(options: Sequence[Option], every: Sequence[Option]) -> str:
    """What to call some options among all: families and carriers as far as all of theirs are there.

    Parameters
    ----------
    options : sequence of Option
        In the catalogue's order.
    every : sequence of Option
        All options of the case.
    """
    if len(options) == len(every):
        return "All options"
    bends = list(dict.fromkeys(option.bend.id for option in every))
    items = list(dict.fromkeys(option.items for option in every))
    alike: dict[str, list[str]] = {}
    for carrier in dict.fromkeys(option.carrier.id for option in options):
        own = [(o.bend.id, o.items) for o in options if o.carrier.id == carrier]
        alike.setdefault(_ways(own, bends, items), []).append(carrier)
    names = [
        f"{_carriers(carriers, every)} {ways}".rstrip() for ways, carriers in sorted(alike.items())
    ]
    text = "; ".join(names) if any(" and " in name for name in names) else listed(names)
    if len(text) > _LONG:
        return f"{len(options)} options, such as {options[0].id}"
    return text[:1].upper() + text[1:] if text.startswith("all ") else text


def _carriers(carriers: Sequence[str], every: Sequence[Option]) -> str:
    """Some carriers, families that are there as a whole by their name."""
    families: dict[str, set[str]] = {}
    for option in every:
        families.setdefault(option.family.name, set()).add(option.carrier.id)
    full = [name for name, members in families.items() if members <= set(carriers)]
    in_full = {carrier for name in full for carrier in families[name]}
    others = [carrier for carrier in carriers if carrier not in in_full]
    whole = f"all {listed(full)} carriers"
    return listed([whole, *others]) if full else listed(others)


def _items(counts: Sequence[int]) -> str:
    return "item" if list(counts) == [1] else "items"


def _ways(ways: Sequence[tuple[str, int]], bends: Sequence[str], items: Sequence[int]) -> str:
    """Bends and numbers of items, as far as there are others."""
    on = list(dict.fromkeys(bend for bend, _ in ways))
    counts = list(dict.fromkeys(count for _, count in ways))
    if len(on) * len(counts) != len(ways):
        return "on " + listed([f"{bend} with {count(items)}" for bend, items in ways])
    where = "" if len(on) == len(bends) else f"on {listed(on)}"
    many = (
        ""
        if len(counts) == len(items)
        else f"with {listed([count(c) for c in counts])} {_items(counts)} each"
    )
    return " ".join(part for part in (where, many) if part)
