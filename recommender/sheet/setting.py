"""What all sheets are set with: their templates, and the words that these may use."""

from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from recommender.sheet import content
from recommender.shown import escaped
from recommender.views.numbers import amount, lowered, place, raised, what_stops


def template(name: str) -> str:
    """A file beside this module that pages are made of."""
    return (files("recommender.sheet") / "templates" / name).read_text(encoding="utf-8")


def environment() -> Environment:
    """Everything that is filled in is escaped, whoever wrote it; what is missing is a fault."""
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_seen,
    )
    environment.globals.update(
        amount=amount,
        clash=content.clash,
        dearer=content.dearer,
        key_words=content.key_words,
        lowered=lowered,
        what_stops=what_stops,
        more_of=content.more_of,
        place=place,
        price_of=content.price_of,
        raised=raised,
        way_words=content.way_words,
    )
    return environment


def _seen(value: Any) -> Any:
    """Text of others with what cannot be seen written out; markup of ours as it is."""
    return escaped(value) if isinstance(value, str) and not isinstance(value, Markup) else value
