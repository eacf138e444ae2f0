"""The sentences: what fails, where, by how much, and what makes an option dearer."""

from decimal import Decimal

from recommender.choice.audit import Audit
from recommender.choice.findings import Finding
from recommender.explain.differences import cause, item_differences
from recommender.inputs.quantities import KINDS, write

_MOST_FAILURES = 2


def measure(value: float, unit: str, currency: str = "") -> str:
    """A number with its unit as people write it.

    Examples
    --------
    >>> measure(0.118, "length"), measure(13412.0, "h"), measure(12.0, "1")
    ('118 mm', '13,412 h', '12')
    """
    if value == float("inf"):
        return "more than any number"
    if unit == "1":
        return f"{value:.1f}".removesuffix(".0")
    if unit == "h":
        return f"{value:,.0f} h"
    if unit == "money":
        return money(Decimal(value), currency)
    return write(value, KINDS[unit], _places(value, unit))


def money(amount: Decimal, currency: str) -> str:
    """A sum of money.

    Examples
    --------
    >>> money(Decimal("35105"), "EUR")
    '35,105.00 EUR'
    """
    return f"{amount:,.2f} {currency}"


def _places(value: float, unit: str) -> int:
    """Decimals that leave three digits or so."""
    shown = abs(value * KINDS[unit].per_si)
    return 0 if shown >= 100 else 1 if shown >= 10 else 2


def failure(finding: Finding, currency: str = "") -> str:
    """What a failing check found, without a capital or a stop."""
    unit = finding.about.unit
    demand, limit = measure(finding.demand, unit, currency), measure(finding.limit, unit, currency)
    if demand == limit:
        demand = f"slightly more than {limit}"
    text = finding.about.fails.format(demand=demand, limit=limit, where=finding.governed_by)
    return " ".join(text.split())


def rejected(audit: Audit | None, currency: str) -> str:
    """Why an option cannot be had."""
    if audit is None:
        return "Its stations fit on no loop of this catalogue."
    failures = [finding for finding in audit.failures if finding.check != "fleet.takt"]
    failures = failures or list(audit.failures)
    if not failures:
        return "No setting that was looked at passes every check at once."
    said = [failure(finding, currency) for finding in failures[:_MOST_FAILURES]]
    text = sentence(said[0])
    if len(said) > 1:
        text += " " + sentence("besides, " + said[1])
    rest = len(failures) - len(said)
    if rest > 0:
        text += f" {_number(rest)} more {'check fails' if rest == 1 else 'checks fail'}."
    return text


def dearer(option: Audit, choice: Audit, currency: str) -> str:
    """Why an option that works is not the choice."""
    differences = item_differences(option, choice)
    whole = option.price - choice.price
    if not differences or whole == 0:
        return "It works at the same price, with less headroom."
    item, most = differences[0]
    text = sentence(
        f"it works and costs {money(whole, currency)} more, {money(most, currency)} of it for "
        f"{item}: {cause(item, option, choice)}"
    )
    saved = [entry for entry in differences if entry[1] < 0]
    if saved:
        least, amount = saved[-1]
        text += f" It saves {money(-amount, currency)} on {least}."
    return text


def recommended(choice: Audit, currency: str) -> str:
    """Why the choice is enough."""
    tightest = max(
        (finding for finding in choice.findings if finding.check != "supply.sections"),
        key=lambda finding: finding.utilisation,
    )
    carriers = choice.configuration.carriers
    return (
        f"The cheapest that passes every check: {_number(carriers).lower()} "
        f"{'carrier' if carriers == 1 else 'carriers'} for {money(choice.price, currency)}. "
        f"{tightest.about.title} is used most, {tightest.utilisation:.0%} of what is allowed."
    )


def sentence(text: str) -> str:
    """A capital first and a stop last."""
    return text[:1].upper() + text[1:].rstrip(".") + "."


_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def _number(count: int) -> str:
    return (_WORDS[count] if count < len(_WORDS) else str(count)).capitalize()
