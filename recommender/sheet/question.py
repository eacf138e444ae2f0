"""The question as it was understood, in the customer's words and units."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from recommender.results.answer import Answer
from recommender.views.numbers import money, quantity, raised, three_digits

_HELD: Final = {
    "friction": "by friction alone",
    "nested": "in a nest",
    "clamped": "by a clamp",
}
_KELVIN: Final = 273.15
Row = tuple[str, str]


def understood(answer: Answer) -> list[Row]:
    """What was asked, as names and values; what was not asked is among the open questions."""
    case = answer.case
    return [
        ("Load", _load(case["load"])),
        ("Held", _held(case["load"])),
        *_fixture(case["tooling"]),
        ("Rate", _rate(answer, case["rate"])),
        ("Stations", "; ".join(_station(entry) for entry in case["station"])),
        *_limits(case["limits"]),
        *_room(case["loop"]),
        ("Running", _running(case["life"], case["site"])),
        *_commercial(case["commercial"]),
    ]


def said(value: float, unit: str) -> str:
    """A quantity as somebody says it, without noughts behind that mean nothing.

    Examples
    --------
    >>> said(30.0, "kg"), said(1.2, "s"), said(0.4, "m"), said(0.0, "N"), said(-40.0, "N")
    ('30 kg', '1.2 s', '400 mm', '0 N', '−40 N')
    """
    number, _, written = quantity(value, unit).partition(" ")
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number.replace('-', '−')} {written}"


def _load(load: Mapping[str, Any]) -> str:
    size = f"{said(load['length'], 'm')} along the travel, {said(load['width'], 'm')} across"
    where = f"{said(abs(load['reach']), 'm')} {'out' if load['reach'] >= 0 else 'in'}ward"
    where = "over the guide" if not load["reach"] else f"{where} of the guide"
    ahead = ""
    if load["offset"]:
        way = "ahead of" if load["offset"] > 0 else "behind"
        ahead = f", {said(abs(load['offset']), 'm')} {way} the middle"
    text = (
        f"{said(load['mass'], 'kg')} an item, {size}; its centre of gravity {where}{ahead},"
        f" {said(load['cg_height'], 'm')} high"
    )
    if load.get("liquid"):
        text += f"; with liquid, {said(load['liquid']['freeboard'], 'm')} below the rim"
    return text


def _held(load: Mapping[str, Any]) -> str:
    text = _HELD[load["held"]]
    if load["held"] == "nested":
        return f"{text} {said(load['pocket'], 'm')} deep" if load["pocket"] else text
    if load["held"] == "clamped" and load["clamping_force"]:
        text += f" of {said(load['clamping_force'], 'N')}"
    return f"{text}, coefficient of friction {load['friction']:g}"


def _fixture(tooling: Mapping[str, Any]) -> Iterator[Row]:
    if tooling["mass"]:
        yield "Fixture", f"{said(tooling['mass'], 'kg')} for each {tooling['per']}"


def _rate(answer: Answer, rate: Mapping[str, Any]) -> str:
    text = f"{three_digits(60.0 * rate['items']).removesuffix('.0')} items a minute"
    if answer.rate is not None and answer.rate.reserve:
        text += f", and {100 * answer.rate.reserve:g} % of reserve"
    counts = [str(count) for count in rate["per_carrier"]]
    return text if counts == ["1"] else f"{text}; {' or '.join(counts)} items on a carrier"


def _station(station: Mapping[str, Any]) -> str:
    notes = [f"{said(station['dwell'], 's')} of work for each {station['dwell_for']}"]
    if station["positions"] > 1:
        notes.append(f"{station['positions']} carriers at once")
    if station["length"]:
        notes.append(f"{said(station['length'], 'm')} long")
    if station["at"] is not None:
        notes.append(f"at {said(station['at'], 'm')}")
    if station["side"] != "any":
        run = station["side"] in ("upper", "lower")
        notes.append(f"on the {station['side']} {'run' if run else 'straight'}")
    if station["after"]:
        notes.append(f"at least {said(station['after'], 'm')} from the one before")
    if any(station["force"]):
        forces = ", ".join(said(force, "N") for force in station["force"])
        notes.append(f"presses with {forces} along, outward, up")
    return f"{station['name']} ({', '.join(notes)})"


def _limits(limits: Mapping[str, Any]) -> Iterator[Row]:
    given = [
        f"{name} up to {raised(said(limits[name], unit))}"
        for name, unit in (("acceleration", "m/s^2"), ("jerk", "m/s^3"), ("speed", "m/s"))
        if limits[name] is not None
    ]
    if given:
        yield "Limits", ", ".join(given)


def _room(loop: Mapping[str, Any]) -> Iterator[Row]:
    across = "width" if loop["plane"] == "flat" else "depth"
    given = [
        f"{words} up to {said(loop[key], 'm')}"
        for key, words in (
            ("max_length", "guide"),
            ("max_width", f"{across} with loads"),
            ("max_height", "height with loads"),
            ("max_extent", "extent along the straights with loads"),
        )
        if loop[key] is not None
    ]
    how = "lies flat" if loop["plane"] == "flat" else "stands upright"
    yield "Room", "; ".join([f"the loop {how}", *given])


def _running(life: Mapping[str, Any], site: Mapping[str, Any]) -> str:
    return (
        f"{life['hours']:,.0f} hours in {life['years']:g} years, rollers with"
        f" {life['reliability']:g} % reliability, up to {site['ambient'] - _KELVIN:.0f} °C around"
    )


def _commercial(commercial: Mapping[str, Any]) -> Iterator[Row]:
    if commercial["budget"]:
        amount, currency = commercial["budget"].split()
        yield "Budget", money(Decimal(amount), currency)
    if commercial["latest_delivery"]:
        yield "Delivery", f"within {commercial['latest_delivery']:g} weeks"
    if commercial["without"]:
        yield "Left out", ", ".join(commercial["without"])
