"""A line of loops in sentences, for the terminal and for sheets."""

from math import ceil

from recommender.lines.result import HandoverResult, LineAnswer
from recommender.results.answer import Proof
from recommender.views.numbers import listed, money, share, three_digits


def line_headline(answer: LineAnswer) -> str:
    """What is recommended, at what price, and how sure that is."""
    chosen = [f"{loop.name} {loop.chosen.id}" for loop in answer.loops if loop.chosen is not None]
    if answer.status != "recommended" or answer.price is None:
        return f"{answer.title}: no line of loops meets this enquiry"
    text = f"{answer.title}: {listed(chosen)} for {money(answer.price, answer.currency)}"
    return f"{text}{_proven(answer.proof)}"


def _proven(proof: Proof | None) -> str:
    if proof is None:
        return ""
    if proof.best_bound >= proof.price:
        return ", proven cheapest"
    per_mille = ceil(1000 * (proof.price - proof.best_bound) / proof.best_bound)
    if proof.optimal:
        return f", proven within {per_mille / 10:.1f} % of the cheapest"
    return f", best found, at most {per_mille / 10:.1f} % from the cheapest"


def handover_text(handover: HandoverResult) -> str:
    """A handover in a sentence.

    Examples
    --------
    >>> handover_text(HandoverResult("pack", "units.pack", "boxes.fill", 12, "buffer", 1.0, 120.0,
    ...     10.0))
    'units.pack to boxes.fill, 12 to 1 through a buffer: 120 a minute become 10.0.'
    """
    how = "through a buffer" if handover.between == "buffer" else "direct"
    part = f" ({share(handover.share)} of them)" if handover.share < 1.0 else ""
    text = (
        f"{handover.giver} to {handover.taker}, {handover.items} to 1 {how}:"
        f" {three_digits(handover.giver_per_min)} a minute{part} become"
        f" {three_digits(handover.taker_per_min)}."
    )
    if handover.between == "buffer" or handover.rhythm_s is None:
        return text
    return f"{text} {_turns(handover)}"


def _turns(handover: HandoverResult) -> str:
    places = handover.places or 1
    stands = [f"{seconds:.2f} s" for seconds in dict.fromkeys(handover.standing_s)]
    left = [f"{seconds:.2f} s" for seconds in dict.fromkeys(handover.left_s)]
    takes = [f"{seconds:.2f} s" for seconds in dict.fromkeys(handover.exchange_s)]
    needed = f"; that takes {listed(takes)}" if takes else ""
    where = "at its place" if places == 1 else f"at each of {places} places that fill in turn"
    return (
        f"Of a rhythm of {handover.rhythm_s:.2f} s a carrier stands {listed(stands)} {where},"
        f" which leaves {listed(left)} for the exchange{needed}."
    )
