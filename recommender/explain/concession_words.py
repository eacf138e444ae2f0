"""What would have to give, in words: ``the load at 22.8 kg or lighter``."""

import re

from recommender.explain.measures import count, measure, thousands
from recommender.explain.scale import Concession

_NUMBERS = {
    "load.mass": ("mass", "the load at {to} or lighter"),
    "load.reach": ("length", "the load reaching out {to} or less"),
    "load.offset": ("length", "the load {to} or less off the middle of the carrier"),
    "load.cg_height": ("length", "the load's centre of gravity {to} high or lower"),
    "load.friction": ("plain", "a friction of {to} or more"),
    "load.pocket": ("length", "a nest {to} deep or more"),
    "load.clamping_force": ("force", "a clamp that presses with {to} or more"),
    "load.liquid.freeboard": ("length", "a freeboard of {to} or more"),
    "tooling.mass": ("mass", "the fixture at {to} or lighter"),
    "rate.items": ("rate", "{to} or fewer"),
    "loop.max_length": ("length", "{to} of guide or more"),
    "loop.max_width": ("length", "{to} of free width or more"),
    "loop.max_height": ("length", "{to} of free height or more"),
    "loop.max_extent": ("length", "{to} of free floor along the straights or more"),
    "limits.acceleration": ("acceleration", "{to} of acceleration allowed or more"),
    "limits.jerk": ("jerk", "{to} of jerk allowed or more"),
    "limits.speed": ("speed", "{to} of speed allowed or more"),
    "site.ambient": ("plain", "surroundings of {to} or less"),
    "life.hours": ("h", "a life of {to} or less"),
    "life.reliability": ("plain", "a reliability of {to} % or less"),
    "commercial.budget": ("money", "a budget of {to} or more"),
    "commercial.latest_delivery": ("lead time", "{to} to deliver or more"),
}

_STATION_NUMBERS = {
    "dwell": ("duration", "a dwell of {to} or less at {station}"),
    "dwell_variation": ("plain", "dwells at {station} that vary by {to} or less"),
    "after": ("length", "station {station} {to} or less behind the one before it"),
    "tolerance": ("length", "a tolerance of {to} or more at {station}"),
    "length": ("length", "station {station} {to} long or shorter"),
    "force": ("force", "a process force of {to} or less at {station}"),
}

_CHOICES = {
    ("load.held", "nested"): "the load in a nest",
    ("load.held", "clamped"): "the load clamped",
    ("loop.plane", "flat"): "the loop lying flat",
    ("loop.restart", "staggered"): "the carriers restarted one after another",
}

_STATION_CHOICES = {
    "side": "station {station} on either side",
    "clear_of_joints": "station {station} over a joint",
}


def concession(entry: Concession, currency: str = "") -> str:
    """One concession as a noun with what it has to be.

    Examples
    --------
    >>> concession(Concession("rate.items", "18/min", "14.6/min", 0.3, 14.6 / 60, 0.245))
    '14.6 items/min or fewer'
    >>> concession(Concession("rate.per_carrier", "[1]", "[1, 2]"))
    'two items on a carrier'
    """
    key = entry.key
    if key == "rate.per_carrier":
        return f"{count(int(re.findall(r'[0-9]+', entry.to)[-1]))} items on a carrier"
    station, _, field = key.removeprefix("station.").rpartition(".")
    if not key.startswith("station."):
        station, field = "", key
    if field == "positions":
        taken = "one carrier" if entry.to == "1" else f"{count(int(entry.to))} carriers"
        return f"{taken} at a time at {station}"
    if field == "side" and entry.to in ("upper", "lower"):
        return f"station {station} on the {entry.to} run"
    if entry.value is None:
        return _CHOICES.get((key, entry.to)) or _STATION_CHOICES[field].format(station=station)
    kind, text = (_STATION_NUMBERS if station else _NUMBERS)[field]
    return text.format(to=_amount(entry, kind, currency), station=station)


def _amount(entry: Concession, kind: str, currency: str) -> str:
    """The value as it stands in the case, which is rounded to the safe side already."""
    assert entry.value is not None
    if kind in ("money", "h", "force"):
        return measure(abs(entry.value), kind, currency)
    text = thousands(entry.to.removeprefix("-"))
    if kind == "rate":
        return text.replace("/min", " items/min")
    return text.replace("^2", "²").replace("^3", "³")
