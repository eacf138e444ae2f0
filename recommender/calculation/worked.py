"""What formulas of a configuration are filled in from, and how they are written."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks.configured import ConfiguredContext
from recommender.choice.checks.findings import Finding
from recommender.choice.decision.audit import Audit
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.parts.options import Option
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Rules
from recommender.results.calculation import Formula

NOTHING: Final = Formula("")


@dataclass(frozen=True)
class Worked:
    """A configuration, all that its checks look at, and what they found."""

    built: ConfiguredContext
    audit: Audit

    @property
    def layout(self) -> LayoutContext:
        """The configuration on its loop."""
        return self.built.layout

    @property
    def setting(self) -> SettingContext:
        """Its motion."""
        return self.layout.setting

    @property
    def about(self) -> OptionContext:
        """The option, and the case as it meets it."""
        return self.layout.about

    @property
    def option(self) -> Option:
        """Carrier, bend, and items on a carrier."""
        return self.about.option

    @property
    def case(self) -> Case:
        """The enquiry."""
        return self.about.case

    @property
    def rules(self) -> Rules:
        """Rules of the house."""
        return self.about.rules

    @property
    def acceleration(self) -> float:
        """Of the motion, m/s²."""
        return self.audit.configuration.motion.acceleration

    @cached_property
    def straight(self) -> CaseLoads:
        """Load cases on straights."""
        return self.setting.straight.alone()

    @cached_property
    def bend(self) -> CaseLoads:
        """Load cases in bends."""
        return self.setting.bend.alone()

    def station(self, finding: Finding) -> Station:
        """The station that governs a check."""
        return next(one for one in self.case.station if one.name == finding.where.station)


def written(template: str, **terms: tuple[str, float]) -> Formula:
    """A formula in words and in numbers.

    Parameters
    ----------
    template : str
        With the names of terms in braces; the signs are +, −, ·, /, ², √ and brackets.
    terms : tuple of str and float
        What each is called, and its value in SI units.

    Examples
    --------
    >>> mass = written("{n}·{m} + {f}", n=("items", 1), m=("mass", 30.0), f=("fixture", 1.2))
    >>> mass.words, mass.numbers
    ('items · mass + fixture', '1 · 30 + 1.2')
    """
    spaced = template.replace("·", " · ").replace("/", " / ")
    return Formula(
        words=spaced.format(**{name: words for name, (words, _) in terms.items()}),
        numbers=spaced.format(**{name: number(value) for name, (_, value) in terms.items()}),
    )


def number(value: float) -> str:
    """A number to five digits, without an exponent.

    Examples
    --------
    >>> number(3.0), number(0.00031459265), number(379190.62), number(-2.5)
    ('3', '0.00031459', '379190', '(−2.5)')
    """
    text = f"{float(f'{value:.5g}'):.12f}".rstrip("0").rstrip(".")
    return f"(−{text[1:]})" if text.startswith("-") else text
