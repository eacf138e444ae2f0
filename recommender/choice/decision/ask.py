"""Whether anything is cheaper than a price, with all that is known of each option already.

The same search as for the choice, cut off at a price. Load cases are kept while only what they do
not look at changes, the rate above all.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from recommender.choice.carrier.bodies import batches, loaded_by
from recommender.choice.carrier.rest import Settling
from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.audit import Audit, report_if_it_holds
from recommender.choice.decision.explore import everything, explore, explore_further
from recommender.choice.decision.explored import GLANCE, Effort, Explored
from recommender.choice.decision.finish import finish
from recommender.choice.decision.option_report import reports_on
from recommender.choice.loop.assemble import with_resistors
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.takt import takt_used
from recommender.choice.parts.configuration import Configuration, Motion
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import as_good_from
from recommender.choice.parts.options import Option, list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, budget_of, cents
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.candidates import Candidate, passes_alone
from recommender.choice.search.price_bound import BuildPrices
from recommender.choice.search.screen import acceleration_ceiling, speed_ceiling
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

Bounds = dict[str, Cents]

_CLOSER: Final = Effort(boxes=6_000, seatings=20)
"""A third of what a choice spends: of twelve such cells none came out otherwise."""
_FAIR: Final = replace(GLANCE, boxes=500)
"""Where a price need not be known so closely; it may come out a per cent or two too high."""
_AT_ONCE: Final = 10
"""Options whose load cases are worked out together: some take hardly longer than one."""


@dataclass(frozen=True)
class Priced:
    """A configuration that passed its audit, with its price and the takt that it keeps, s.

    ``origin`` names it: the digest of the case for which it was found.
    """

    configuration: Configuration
    price: Cents
    takt: float
    origin: str = ""


@dataclass(frozen=True)
class Body:
    """What does not depend on the rate: options with their axes, and settings that were audited."""

    able: dict[str, OptionContext]
    ceilings: dict[str, tuple[float, float]]
    axes: dict[str, Axes]
    settings: dict[tuple[str, Motion], SettingContext]


class Asker:
    """Asks about cases that differ in a few inputs, from one catalogue.

    Parameters
    ----------
    catalogue : Catalogue
    bodies : int
        For how many loads and limits what they come to is kept.
    """

    def __init__(self, catalogue: Catalogue, bodies: int = 1) -> None:
        self.catalogue, self.bodies = catalogue, bodies
        self._shared: PriceBook | None = None
        self.settling = Settling(catalogue.rules)
        self._kept: dict[Any, Body] = {}
        self.asked = 0

    def cheaper(
        self,
        case: Case,
        known: Mapping[str, Cents],
        below: Cents = NEVER,
        *,
        anything: bool = False,
        closely: bool = True,
        options: Sequence[Option] | None = None,
    ) -> tuple[Priced | None, Bounds]:
        """The cheapest configuration below a price, and what no option undercuts.

        Parameters
        ----------
        case : Case
        known : mapping of str to int
            By the ids of options prices that they do not undercut, as far as that is known.
        below : int
            Cents. Nothing dearer is looked for, and what is not is no bound.
        anything : bool
            Whether the first that is found is enough, which is then no cheapest, nor are there
            bounds.
        closely : bool
            Whether it is looked on where more is open than what is called proven.
        options : sequence of Option, optional
            All of the case unless given.

        Returns
        -------
        tuple
            ``None`` if nothing is found.
        """
        self.asked += 1
        budget = budget_of(case)
        below = below if budget is None else min(below, budget + 1)
        price_book, body = self.price_book(case), self._body_of(case)
        best, effort = below, GLANCE if closely else _FAIR
        found: Priced | None = None
        bounds: Bounds = {}
        left: list[Explored] = []
        some = list_options(case, self.catalogue) if options is None else options
        queue = list(self._queue(some, case, body, price_book, known, below, bounds))
        queue.sort(key=lambda entry: entry[0])
        for number, (bound, option) in enumerate(queue):
            if bound >= best:
                bounds |= {later.id: least for least, later in queue[number:]}
                break
            axes = self._axes(option, [later for _, later in queue[number:]], case, body)
            if self._too_slow(axes):
                bounds[option.id] = NEVER
                continue
            entry = explore(axes, price_book, effort, below=best, beyond=False)
            built = _built(entry.candidates, price_book, best)
            bounds[option.id] = max(bound, min(entry.bound, best))
            if built is not None:
                best, found = built.price, built
                if anything:
                    return found, {}
            if entry.left:
                left.append(entry)
        if closely and case.load.liquid is None:  # of waves looking closely refutes nothing
            found = _closely(left, price_book, found, below, bounds)
        if budget is not None:
            bounds = {id_: NEVER if least > budget else least for id_, least in bounds.items()}
        return found, bounds

    def holds(self, configuration: Configuration, case: Case) -> Priced | None:
        """A configuration with its price in another case; ``None`` if it fails there.

        Heavier loads may ask for brake resistors that it has not.
        """
        about, body = OptionContext(configuration.option, case, self.catalogue), self._body_of(case)
        if not passes_alone(about):
            return None
        key = configuration.option.id, configuration.motion
        known = body.settings.get(key)
        setting = known.under(about) if known else setting_of(about, configuration.motion)
        body.settings[key] = setting
        configuration = with_resistors(configuration, case, self.catalogue)
        found, budget = report_if_it_holds(configuration, setting, self.catalogue), budget_of(case)
        if found is None or (budget is not None and cents(found.price) > budget):
            return None
        return _priced(found)

    def _queue(
        self,
        options: Sequence[Option],
        case: Case,
        body: Body,
        price_book: PriceBook,
        known: Mapping[str, Cents],
        below: Cents,
        bounds: Bounds,
    ) -> Iterator[tuple[Cents, Option]]:
        """Options that may be cheaper than a price; what the others do not undercut is noted."""
        for option in options:
            least = known.get(option.id, 0)
            if least < below:
                least = max(least, self._roughly(option, case, body, price_book))
            if least < below:
                yield least, option
            else:
                bounds[option.id] = least

    def _roughly(self, option: Option, case: Case, body: Body, price_book: PriceBook) -> Cents:
        """A price that an option does not undercut, seen without a load case."""
        about = self._about(option, case, body)
        if about is None:
            return NEVER
        a, v = body.ceilings[option.id]
        if _too_slow_at(about, a, v):
            return NEVER
        return int(BuildPrices.of(about, price_book).rough_bound(a, v, v).min(initial=NEVER))

    def _about(self, option: Option, case: Case, body: Body) -> OptionContext | None:
        about = OptionContext(option, self.settling.settled(option, case), self.catalogue)
        body.able[option.id] = about
        if not passes_alone(about):
            return None
        if option.id not in body.ceilings:
            (batch,) = batches([option], case, self.catalogue.rules)
            a, v = acceleration_ceiling(batch)[0, 0], speed_ceiling(batch)[0, 0]
            body.ceilings[option.id] = float(a), float(v)
        return about

    def _too_slow(self, axes: Axes) -> bool:
        """Whether the quickest of all that an option may do does not keep the takt anywhere."""
        whole = everything(axes) if axes.hold else None
        return not whole or float(takt_used(axes.about, whole.quickest)[0]) > HOLDS

    def _axes(self, option: Option, others: Sequence[Option], case: Case, body: Body) -> Axes:
        if option.id not in body.axes:
            some = [each for each in others if each.id not in body.axes][:_AT_ONCE]
            for axes in axes_of(some, case, self.catalogue):
                body.axes[axes.about.option.id] = axes
        return replace(body.axes[option.id], about=body.able[option.id])

    def _body_of(self, case: Case) -> Body:
        key = loaded_by(case), case.site
        body = self._kept.pop(key, None) or Body({}, {}, {}, {})
        while len(self._kept) >= self.bodies:
            del self._kept[next(iter(self._kept))]
        self._kept[key] = body
        return body

    def price_book(self, case: Case) -> PriceBook:
        """What all options of a case share; what does not depend on the case is kept."""
        longest = case.loop.max_length or self.catalogue.rules.longest_loop
        if self._shared is None:
            self._shared = PriceBook(case, self.catalogue, longest)
        return replace(self._shared, case=case, longest=longest)


def _closely(
    left: Sequence[Explored],
    price_book: PriceBook,
    found: Priced | None,
    below: Cents,
    bounds: Bounds,
) -> Priced | None:
    """Look at options more closely where more is open than what is called proven.

    Bounds are changed in place.
    """
    for entry in left:
        id_, best = entry.axes.about.option.id, below if found is None else found.price
        if bounds[id_] < as_good_from(best):
            further = explore_further(entry, price_book, _CLOSER, best)
            bounds[id_] = max(bounds[id_], min(further.bound, best))
            wanted = best if found is None else as_good_from(best)
            found = _built(further.candidates, price_book, wanted) or found
    return found


def _too_slow_at(about: OptionContext, acceleration: float, speed: float) -> bool:
    """Whether the takt cannot be kept with the most that drive, house and enquiry allow."""
    jerk = acceleration / about.rules.ramp_time
    quickest = Settings.single(acceleration, jerk, speed, speed)
    return float(takt_used(about, quickest)[0]) > HOLDS


def _built(found: Sequence[Candidate], price_book: PriceBook, below: Cents) -> Priced | None:
    """The cheapest of some candidates of an option that passes its audit below a price.

    Or one as good as it: of candidates alike dozens come to the same price when they are built.
    """
    best: Priced | None = None
    for candidate in sorted(found, key=lambda entry: (entry.rank, entry.used)):
        if candidate.rank >= (below if best is None else as_good_from(below)):
            break
        built = _as_tried(candidate, price_book)
        if built is None or built.price >= below:
            finished = finish(candidate, price_book)
            built = None if finished is None else _priced(finished.audit)
        if built is not None and built.price < below:
            best, below = built, built.price
    return best


def _as_tried(candidate: Candidate, price_book: PriceBook) -> Priced | None:
    """A candidate where its stations were tried, if that is as good as what it may come to."""
    for found in reports_on(candidate, price_book):
        if not found.failures and as_good_from(cents(found.price)) <= candidate.rank:
            return _priced(found)
    return None


def _priced(found: Audit) -> Priced:
    return Priced(found.configuration, cents(found.price), found.takt)
