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
from recommender.inputs.quantities import as_text, kind_of, parse
from recommender.physics.constants import Array
from recommender.shown import shown

MOST_INPUTS: Final = 12

_CUT: Final = 3.0
_TABLES: Final = ("load", "tooling", "rate", "site", "life")
_NEVER: Final = {"reliability", "reserve"}
_SHARE = re.compile(r"(normal )?\s*(?:±|\+-)?\s*([0-9.]+)\s*%", re.ASCII)


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


def with_values(case: Case, values: Mapping[str, float]) -> Case:
    """The case with some of its numbers changed, SI."""
    changed: dict[str, dict[str, float]] = {}
    for key, value in values.items():
        table, _, name = key.rpartition(".")
        changed.setdefault(table, {})[name] = value
    update: dict[str, Any] = {
        table: getattr(case, table).model_copy(update=own)
        for table, own in changed.items()
        if table in _TABLES
    }
    update["station"] = tuple(
        station.model_copy(update=changed.get(f"station.{station.name}", {}))
        for station in case.station
    )
    return case.model_copy(update=update)


def read_unsure(texts: Sequence[str], case: Case) -> tuple[Unsure, ...]:
    """Inputs as they are said: "load.mass 10 %", "load.friction 0.3 to 0.5", "dwell normal 5 %".

    Without any the mass by 10 %, what friction there is by 20 % and each dwell by 20 %, each within
    its range as likely.

    Raises
    ------
    InputError
        With what was read and what would do.
    """
    known = {key: (value, field) for key, value, field in _entries(case)}
    usual = ["load.mass 10 %", "dwell 20 %"]
    if case.load.held == "friction":
        usual.insert(1, "load.friction 20 %")
    found: dict[str, Unsure] = {}
    for text in texts or usual:
        for key, what in _split(text, known):
            found[key] = _unsure(key, what, text, *known[key])
    if len(found) > MOST_INPUTS:
        raise InputError(f"--input: {len(found)} inputs are unsure; {MOST_INPUTS} at most")
    return tuple(found.values())


def _split(text: str, known: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Keys that a text is about, and what it says of them."""
    text = text.strip()
    if text.startswith("dwell "):
        dwells = [key for key in known if key.endswith(".dwell") and key.startswith("station.")]
        return [(key, text.removeprefix("dwell ").strip()) for key in dwells]
    for key in sorted(known, key=len, reverse=True):
        if text.startswith(f"{key} ") or text.startswith(f"{key}="):
            return [(key, text[len(key) + 1 :].strip())]
    unknown = text.split(" ", 1)[0]
    raise InputError(
        f"--input: '{shown(unknown)}' is no number of this case; {nearest_ids(unknown, list(known))}"
    )


def _unsure(key: str, what: str, text: str, value: float, field: Any) -> Unsure:
    kind = kind_of(field)
    spread = _SHARE.fullmatch(what)
    if spread:
        normal, share = bool(spread[1]), float(spread[2]) / 100.0
        half = abs(value) * share * (_CUT if normal else 1.0)
        if not 0.0 < share <= 1.0 or value == 0.0 or half >= abs(value) * (1.0 + 1e-12):
            raise InputError(
                f'--input: a share must be above 0 and leave {key} its sign (read: "{shown(text)}")'
            )
        taken = f"{as_text(value, kind)} ± {100.0 * share:g} %"
        if normal:
            taken = f"normal, {as_text(value, kind)}, deviation {100.0 * share:g} %"
        return Unsure(key, value - half, value + half, normal, taken)
    try:
        ends = [
            float(part) if kind is None else parse(part.strip(), kind) for part in what.split(" to ")
        ]
        low, high = ends
    except ValueError:
        low = high = 0.0
    if not low < high:
        raise InputError(
            '--input must be a key and its share or range, such as "load.mass 10 %",'
            ' "load.mass normal 3 %" or "load.friction 0.3 to 0.5"'
            f' (read: "{shown(text)}")'
        )
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
            "draws need scipy, which is not installed; install the package with [trials], as in:"
            " pip install '.[trials]'"
        ) from None
    drawn = qmc.LatinHypercube(inputs, rng=np.random.default_rng(seed)).random(count)
    return np.asarray(drawn, dtype=np.float64)
