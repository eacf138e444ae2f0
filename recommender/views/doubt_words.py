"""How sure a choice is, in words."""

from typing import Final

from recommender.results.doubt import Chance, Doubt, InputShare, SetToSuit, Sturdier
from recommender.views.numbers import listed, lowered, money, place

HEADS: Final = ("input", "taken as", "explains", "holds if low", "holds if high")
ONE_VALUE: Final = (
    "The choice is tried as it stands, with its own motion, the gentlest that meets its case. Each"
    " input has one value for as long as the loop stands, which nobody knows yet; what differs from"
    " carrier to carrier is a matter for rehearse."
)


def title(found: Doubt) -> str:
    """What was tried."""
    return (
        f"Doubt about {found.option} with {found.carriers} carriers,"
        f" {money(found.price, found.currency)}: {found.draws:,} draws, seed {found.seed}"
    )


def per_cent(value: float) -> str:
    """A share, with a decimal where that says more.

    Examples
    --------
    >>> per_cent(0.2544), per_cent(1.0), per_cent(0.0004)
    ('25.4 %', '100 %', '0.04 %')
    """
    places = 2 if 0.0 < value < 0.001 or 0.999 < value < 1.0 else 1
    return f"{100.0 * value:.{places}f}".removesuffix(".0") + " %"


def interval(chance: Chance) -> str:
    """A chance with its bounds."""
    return (
        f"{per_cent(chance.held)} of the draws, {per_cent(chance.low)} to {per_cent(chance.high)}"
        " with 95 % confidence"
    )


def rows(found: Doubt) -> list[tuple[str, str]]:
    """Names and values of what was found."""
    told = [("Holds", f"in {interval(found.chance)}")]
    if found.set_to_suit:
        told.append(("Set to suit", _suited(found.set_to_suit)))
    if found.checks:
        told.append(("Fails by", _failing(found)))
    told += [("Most by", _most(found)), ("Known", _known(found))]
    told.append(("Rate", _rate(found)))
    if found.chance.held >= found.asked:
        told.append(("Enough", f"{per_cent(found.asked)} is asked"))
    elif found.looked_for:
        told.append(("Would hold", "\n".join(_sturdier(found))))
    if found.assumed:
        told.append(
            (
                "Assumed",
                "how unsure the inputs are: common practice, no source; say what is known with"
                " --vary",
            )
        )
    return told


def _rate(found: Doubt) -> str:
    if found.reserve > 0.0:
        reserve = per_cent(found.reserve)
        return f"asked with its reserve of {reserve} in every draw; --no-reserve leaves that out"
    return "asked without a reserve"


def _suited(found: SetToSuit) -> str:
    return (
        f"in at least {per_cent(found.held)} of {found.draws:,} draws, if the motion of the same"
        f" parts is set anew once the inputs are known ({found.motions} motions tried)"
    )


def _failing(found: Doubt) -> str:
    named = [f"{lowered(check.title)} in {per_cent(check.share)}" for check in found.checks[:4]]
    more = len(found.checks) - len(named)
    return listed(named) + (f"; {more} more checks fail now and then" if more else "")


def _most(found: Doubt) -> str:
    first = found.inputs[0]
    if first.share <= 0.0:
        return "no input makes a difference"
    failing = "whether it holds" if found.measured == "holding or not" else "its greatest use"
    told = f"{first.key} ({first.taken}), which alone explains {per_cent(first.share)} of {failing}"
    if found.measured != "holding or not":
        return told
    return (
        f"{told}: it holds in {per_cent(first.held_low)} of the draws of its lowest tenth and in"
        f" {per_cent(first.held_high)} of those of its highest"
    )


def _known(found: Doubt) -> str:
    told = f"each check in each draw exactly; {found.audited:,} draws were audited in full besides"
    if found.fitted:
        told = (
            f"each check in each draw exactly, but {listed(found.fitted)} from a fit to"
            f" {found.audited:,} draws that were audited in full, among them all where its error"
            " may matter"
        )
    if found.open:
        told += (
            f"; {found.open:,} draws near a limit are left open and count as failing for the lower"
            " bound and as holding for the upper one"
        )
    return told


def _sturdier(found: Doubt) -> list[str]:
    best, currency = found.sturdier, found.currency
    suited = found.set_to_suit
    first = []
    if suited is not None and suited.held >= found.asked:
        first = ["the same parts, at no more price, if their motion is set to suit; set once:"]
    return [*first, *_set_once(found, best, currency)]


def _set_once(found: Doubt, best: Sturdier | None, currency: str) -> list[str]:
    least = (
        ""
        if found.at_least is None
        else (
            f"nothing that holds in {per_cent(found.asked)} costs less than"
            f" {money(found.at_least, currency)}, if an input on its worse side makes nothing"
            " better"
        )
    )
    if best is None:
        return [
            f"nothing was found that holds in {per_cent(found.asked)} of the draws",
            *([least] if least else []),
        ]
    lines = [
        f"{what(best)}, {money(best.price, currency)}, {_more(best, currency)}: in"
        f" {interval(best.chance)}"
    ]
    if best.answers:
        values = listed([f"{key} {value}" for key, value in best.answers])
        lines.append(f"it meets the case with {values}")
    if found.at_least is not None and best.price <= found.at_least:
        return [*lines, f"{least}: it is the cheapest"]
    return [*lines, f"it is the cheapest that was found; {least}"] if least else lines


def what(best: Sturdier) -> str:
    """A sturdier configuration in short."""
    if best.same_parts:
        return f"the same parts, set to move otherwise: {best.option} with {best.carriers} carriers"
    return f"{best.option} with {best.carriers} carriers on {place(best.length_m)} of guide"


def _more(best: Sturdier, currency: str) -> str:
    if best.more == 0:
        return "no more"
    how = "more" if best.more > 0 else "less"
    return f"{money(abs(best.more), currency)} {how}"


def input_row(entry: InputShare) -> tuple[str, str, str, str, str]:
    """An input as a row of a table."""
    return (
        entry.key,
        entry.taken,
        per_cent(entry.share),
        per_cent(entry.held_low),
        per_cent(entry.held_high),
    )
