"""The cheapest configuration of all, and a price that nothing undercuts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from time import monotonic

from recommender.choice.audit import Audit
from recommender.choice.instance import build_instance
from recommender.choice.model import choose
from recommender.choice.pricing import Cents
from recommender.choice.proof.open_settings import OpenSettings
from recommender.choice.proof.refute import Refutation, refute
from recommender.choice.search import Candidate
from recommender.choice.settle import Settled, settle
from recommender.choice.workshop import Workshop

_LONGEST_MODEL = 5.0


@dataclass(frozen=True)
class Proven:
    """The best configuration that was found, and the price that nothing undercuts."""

    audit: Audit
    price: Cents
    bound: Cents

    @property
    def optimal(self) -> bool:
        """Whether nothing is cheaper."""
        return self.bound >= self.price


def best_settled(
    candidates: Sequence[Candidate], workshop: Workshop, deadline: float
) -> tuple[Settled | None, list[Candidate]]:
    """The cheapest of some candidates that passes its audit, and those that do not pass theirs.

    The model chooses among them in the order of their prices, which it must find as the arrays did.

    Raises
    ------
    RuntimeError
        If arrays and model disagree about the least price: a fault of ours.
    """
    best: Settled | None = None
    left, refused = list(candidates), []
    while left:
        choice = choose(build_instance(left, workshop))
        if choice is None or (best is not None and choice.bound >= best.price):
            break
        least = min(candidate.price for candidate in left)
        if choice.optimal and choice.price != least:
            raise RuntimeError(f"the model finds {choice.price} cents, the arrays {least}")
        candidate = left.pop(choice.candidate)
        settled = settle(candidate, workshop, _seconds(deadline))
        if settled is None:
            refused.append(candidate)
        elif best is None or settled.price < best.price:
            best = settled
    return best, refused


def prove(
    best: Settled, opened: Iterable[OpenSettings], workshop: Workshop, deadline: float
) -> Proven:
    """Prove that nothing is cheaper, or replace the best by what is.

    Parameters
    ----------
    best : Settled
        The best that is known.
    opened : iterable of OpenSettings
        Everything that may be cheaper.
    workshop : Workshop
    deadline : float, s
        Reading of the monotonic clock after which the bound is left where it is.
    """
    entries = list(opened)
    while True:
        ended = _refuted(entries, workshop, best.price, deadline)
        if ended.found is None:
            return Proven(best.audit, best.price, min(ended.bound, best.price))
        best = ended.found
        entries = [entry for entry in entries if entry.least < best.price]


def _refuted(
    entries: Sequence[OpenSettings], workshop: Workshop, price: Cents, deadline: float
) -> Refutation:
    def settled(candidate: Candidate) -> Settled | None:
        return settle(candidate, workshop, _seconds(deadline))

    return refute(entries, workshop, price, settled, deadline)


def _seconds(deadline: float) -> float:
    """Time that one model may take."""
    return min(max(deadline - monotonic(), 0.1), _LONGEST_MODEL)
