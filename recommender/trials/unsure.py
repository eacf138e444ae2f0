"""Inputs that are not sure: ranges and normal distributions of keys of a case, and their draws."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any, Final

import numpy as np
from pydantic import BaseModel

from recommender.faults import InputError, nearest_ids
from recommender.inputs.case import Case
from recommender.inputs.errors import as_written
from recommender.inputs.given import with_values
from recommender.inputs.quantities import KINDS, as_text, kind_of, parse
from recommender.inputs.si_case import case_in_si
from recommender.physics.constants import Array

MOST_INPUTS: Final = 12

_CUT: Final = 3.0
_TABLES: Final = ("load", "tooling", "rate", "site", "life")
_NEVER: Final = {"reliability", "reserve"}
_SHARE = re.compile(r"(normal )?\s*(?:±|\+-|\+/-)?\s*([0-9]{1,3}(?:\.[0-9]{1,6})?)\s*%", re.ASCII)
_WOULD_DO: Final = (
    'a key with its spread or its range, such as load.mass="±10 %", load.mass="normal 3 %",'
    ' load.friction="0.3 to 0.5" or dwell="±20 %"'
)
USUAL: Final = ("load.mass=±10 %", "load.friction=±20 %", "dwell=±20 %")
"""What is taken where nobody says how unsure the inputs are: common practice, no source."""


@dataclass(frozen=True)
class Unsure:
    """An input between two values, each as likely; or normal, cut off at three deviations."""

    key: str
    low: float
    high: float
    normal: bool = False
    taken: str = ""

    def at(self, quantiles: Array) -> Array:
        """Values at some quantiles.

        Examples
        --------
        >>> Unsure("load.mass", 27.0, 33.0).at(np.array([0.0, 0.5, 0.9])).round(9).tolist()
        [27.0, 30.0, 32.4]
        """
        if not self.normal:
            return self.low + quantiles * (self.high - self.low)
        normal = NormalDist(0.5 * (self.low + self.high), (self.high - self.low) / (2.0 * _CUT))
        below = NormalDist().cdf(-_CUT)
        levels = below + np.clip(quantiles, 0.0, 1.0) * (1.0 - 2.0 * below)
        return np.array([normal.inv_cdf(float(level)) for level in levels])


def keys_of(case: Case) -> dict[str, float]:
    """Keys of a case that may be unsure, with their values."""
    return {key: value for key, value, _ in _entries(case)}


def _entries(case: Case) -> Iterator[tuple[str, float, Any]]:
    tables: list[tuple[str, BaseModel]] = [(name, getattr(case, name)) for name in _TABLES]
    tables += [(f"station.{station.name}", station) for station in case.station]
    for prefix, table in tables:
        for name, field in type(table).model_fields.items():
            value = getattr(table, name)
            if isinstance(value, float) and name not in _NEVER:
                yield f"{prefix}.{name}", value, field


def written(key: str, value: float, case: Case) -> str:
    """A value of a key as people read it."""
    field = next(field for known, _, field in _entries(case) if known == key)
    return as_text(value, kind_of(field))


def read_unsure(texts: Sequence[str], case: Case) -> tuple[Unsure, ...]:
    """Inputs as they are said: "load.mass=±10 %", "load.friction=0.3 to 0.5", "dwell=±20 %".

    "normal 5 %" is a normal distribution with that standard deviation; all others are as likely
    anywhere in their range. "dwell" is the dwell of each station, one independent of the other.
    Without any `USUAL` are taken.

    Raises
    ------
    InputError
        With what was read and what would do.
    """
    known = {key: (value, field) for key, value, field in _entries(case)}
    found: dict[str, Unsure] = {}
    for text in texts or _usual(case):
        for key, what in _split(text, known):
            found[key] = _unsure(key, what, text, *known[key])
    if len(found) > MOST_INPUTS:
        raise InputError(f"--vary: {len(found)} inputs are not sure; {MOST_INPUTS} at most")
    for unsure in found.values():
        for end in (unsure.low, unsure.high):
            told = f"--vary {unsure.key}={written(unsure.key, end, case)}"
            case_in_si(with_values(case, {unsure.key: end}).model_dump(mode="json"), told)
    return tuple(found.values())


def _usual(case: Case) -> list[str]:
    slides = case.load.held == "friction" and case.loop.plane == "flat"
    gripped = case.load.held == "clamped" and case.load.clamping_force is not None
    return [text for text in USUAL if slides or gripped or not text.startswith("load.friction")]


def _split(text: str, known: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Keys that a text is about, and what it says of them."""
    key, equals, what = (part.strip() for part in text.rpartition("="))
    if not equals or not key:
        raise InputError(f"--vary must be {_WOULD_DO} (read: {as_written(text)})")
    if key == "dwell":
        dwells = [key for key in known if key.endswith(".dwell") and known[key][0] > 0.0]
        return [(key, what) for key in dwells]
    if key not in known:
        raise InputError(
            f"--vary: {as_written(key)} is no number of this case;"
            f" {nearest_ids(key, [*known, 'dwell'])}"
        )
    return [(key, what)]


def _unsure(key: str, what: str, text: str, value: float, field: Any) -> Unsure:
    kind = kind_of(field)
    spread = _SHARE.fullmatch(what)
    if spread:
        if kind is KINDS["temperature"]:
            raise InputError(
                f"--vary: a temperature has no share; write a range, such as {key}="
                f'"30 °C to 45 °C" (read: {as_written(text)})'
            )
        normal, share = bool(spread[1]), float(spread[2]) / 100.0
        half = abs(value) * share * (_CUT if normal else 1.0)
        if share <= 0.0 or half >= abs(value):
            raise InputError(
                f"--vary: the spread must be above 0 and leave {key} above 0"
                f" (read: {as_written(text)})"
            )
        taken = f"{as_text(value, kind)} ± {100.0 * share:g} %"
        if normal:
            taken = f"{as_text(value, kind)}, normal with {100.0 * share:g} %"
        return Unsure(key, value - half, value + half, normal, taken)
    ends = [part.strip() for part in what.split(" to ")]
    try:
        low, high = (float(end) if kind is None else parse(end, kind) for end in ends)
    except ValueError as error:
        told = f": {error}" if kind is not None and len(ends) == 2 else ""
        raise InputError(f"--vary must be {_WOULD_DO}{told} (read: {as_written(text)})") from None
    if not low < high or not np.isfinite([low, high]).all():
        raise InputError(f"--vary: the first end must be the lower one (read: {as_written(text)})")
    return Unsure(key, low, high, taken=f"{as_text(low, kind)} to {as_text(high, kind)}")


def quantiles(count: int, inputs: int, seed: int) -> Array:
    """A Latin hypercube, (count, inputs): each input once in each of ``count`` equal parts.

    M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21 (1979) 239-245.

    Raises
    ------
    InputError
        If the library is not there, with the remedy.
    """
    try:
        from scipy.stats import qmc  # noqa: PLC0415 - an extra
    except ModuleNotFoundError:
        raise InputError(
            "doubt needs scipy, which is not installed; install the package with [trials], as in:"
            " pip install '.[trials]'"
        ) from None
    drawn = qmc.LatinHypercube(inputs, rng=np.random.default_rng(seed)).random(count)
    return np.asarray(drawn, dtype=np.float64)
