"""What varies in a rehearsal: dwells by a spread or a measured list, stops now and then."""

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.random import Generator, SeedSequence, default_rng

from recommender.faults import InputError, nearest_ids
from recommender.inputs.files import read_text
from recommender.inputs.quantities import KINDS, parse, write
from recommender.shown import shown, shown_path

_AT_A_TIME: Final = 512


@dataclass(frozen=True)
class Spread:
    """How the dwell of a station varies.

    Lognormal with the dwell as its mean and ``share`` of it as its standard deviation: dwells are
    never negative and more often much longer than much shorter; common practice, no source. Or the
    ``measured`` dwells, s, each as likely as the others and drawn with replacement.
    """

    share: float = 0.0
    measured: tuple[float, ...] = ()

    @property
    def varies(self) -> bool:
        """Whether it makes a difference."""
        return self.share > 0.0 or len(set(self.measured)) > 1

    def draw(self, random: Generator, dwell: float, count: int) -> list[float]:
        """Some dwells, s.

        Examples
        --------
        >>> drawn = np.array(Spread(0.25).draw(default_rng(1), 2.0, 100_000))
        >>> round(float(drawn.mean()), 2), round(float(drawn.std()), 2)
        (2.0, 0.5)
        """
        if self.measured:
            return [float(value) for value in random.choice(self.measured, count)]
        if self.share <= 0.0 or dwell <= 0.0:
            return [dwell] * count
        variance = np.log1p(self.share**2)
        drawn = random.lognormal(-0.5 * variance, np.sqrt(variance), count)
        return [float(value) for value in dwell * drawn]


@dataclass(frozen=True)
class Stops:
    """A station that stops now and then: mean time between two stops, and to clear one, s.

    Both are exponential, from the end of one stop to the next by the clock, whether the station
    works or not.
    """

    between: float
    clearing: float


@dataclass(frozen=True)
class Chance:
    """What varies at each station, by its name."""

    spreads: Mapping[str, Spread] = field(default_factory=dict)
    stops: Mapping[str, Stops] = field(default_factory=dict)

    @property
    def varies(self) -> bool:
        """Whether anything does."""
        return bool(self.stops) or any(spread.varies for spread in self.spreads.values())

    def work(self, name: str, dwell: float, seed: SeedSequence) -> Callable[[float], float]:
        """When a dwell ends that begins at some instant; begins must not go back in time."""
        dwells, stopping = (default_rng(one) for one in seed.spawn(2))
        spread, stops = self.spreads.get(name, Spread()), self.stops.get(name)
        if not spread.varies and stops is None:
            fixed = spread.measured[0] if spread.measured else dwell
            return lambda begun: begun + fixed
        ready: list[float] = []
        outage = [_next_stop(stopping, stops, 0.0)] if stops else []

        def work(begun: float) -> float:
            if not ready:
                ready.extend(spread.draw(dwells, dwell, _AT_A_TIME))
            end = begun + ready.pop()
            while outage and stops and outage[0][0] < end:
                stopped, cleared = outage[0]
                end += max(cleared - max(stopped, begun), 0.0)
                outage[0] = _next_stop(stopping, stops, cleared)
            return end

        return work


def _next_stop(random: Generator, stops: Stops, since: float) -> tuple[float, float]:
    begin = since + float(random.exponential(stops.between))
    return begin, begin + float(random.exponential(stops.clearing))


def read_spreads(texts: Sequence[str], stations: Sequence[str]) -> dict[str, Spread]:
    """Spreads as they are said: "20 %" for all stations, "unload 20 %" for one, or a csv file.

    Raises
    ------
    InputError
        With what was read and what would do.

    Examples
    --------
    >>> read_spreads(["10 %", "unload 30 %"], ["load", "unload"])
    {'load': Spread(share=0.1, measured=()), 'unload': Spread(share=0.3, measured=())}
    """
    found: dict[str, Spread] = {}
    for text in texts:
        if text.lower().endswith(".csv"):
            found |= _measured(Path(text), stations)
            continue
        names, value = _for_whom(text, "--vary", stations)
        found |= dict.fromkeys(names, Spread(_share(value, text)))
    return found


def _share(value: str, text: str) -> float:
    number = value.removesuffix("%").strip()
    try:
        share = float(number) / (100.0 if value.endswith("%") else 1.0)
    except ValueError:
        share = float("nan")
    if not 0.0 <= share <= 2.0:
        raise InputError(
            '--vary must be a share of the dwell from 0 to 200 %, such as "20 %" or'
            f' "unload 20 %", or a csv file of measured dwells (read: "{shown(text)}")'
        )
    return share


def read_stops(texts: Sequence[str], stations: Sequence[str]) -> dict[str, Stops]:
    """Stops as they are said: "2 h, 3 min" for all stations, "unload 2 h, 3 min" for one.

    Raises
    ------
    InputError
        With what was read and what would do.

    Examples
    --------
    >>> read_stops(["unload 2 h, 3 min"], ["load", "unload"])
    {'unload': Stops(between=7200.0, clearing=180.0)}
    """
    found: dict[str, Stops] = {}
    for text in texts:
        names, value = _for_whom(text, "--stops", stations)
        parts = value.split(",")
        try:
            between, clearing = (parse(part.strip(), KINDS["duration"]) for part in parts)
        except ValueError:
            between = clearing = -1.0
        if between <= 0.0 or clearing < 0.0:
            raise InputError(
                "--stops must be the mean time between stops and the mean time to clear one, such"
                f' as "2 h, 3 min" or "unload 2 h, 3 min" (read: "{shown(text)}")'
            )
        found |= dict.fromkeys(names, Stops(between, clearing))
    return found


def _for_whom(text: str, flag: str, stations: Sequence[str]) -> tuple[Sequence[str], str]:
    """Stations that a text is about, and what it says of them."""
    text = text.strip()
    if text[:1].isdigit() and not any(text.startswith(f"{name} ") for name in stations):
        return stations, text
    # The longest name that fits, as one may begin like another.
    for name in sorted(stations, key=len, reverse=True):
        if text.startswith(f"{name} ") or text.startswith(f"{name}="):
            return [name], text[len(name) + 1 :].strip()
    unknown = text.rsplit(" ", 2)[0] if " " in text else text
    raise InputError(
        f"{flag}: there is no station '{shown(unknown)}'; {nearest_ids(unknown, list(stations))}"
    )


def _measured(path: Path, stations: Sequence[str]) -> dict[str, Spread]:
    """Dwells of a csv file: a head with names of stations, and under each its dwells."""
    where = shown_path(path)
    lines = list(csv.reader(read_text(path).splitlines()))
    names = [cell.strip() for cell in lines[0]] if lines else []
    unknown = [name for name in names if name not in stations]
    if not names or unknown:
        read = shown(unknown[0]) if unknown else ""
        raise InputError(
            f"{where}:1: the first line must hold names of stations, of {', '.join(stations)}"
            f' (read: "{read}")'
        )
    found: dict[str, list[float]] = {name: [] for name in names}
    for number, cells in enumerate(lines[1:], start=2):
        for name, cell in zip(names, cells, strict=False):
            text = cell.strip()
            if text:
                found[name].append(_dwell(text, f"{where}:{number}: {shown(name)}"))
    empty = [name for name, values in found.items() if not values]
    if empty:
        raise InputError(f"{where}: there is no dwell under {shown(empty[0])}; give one or more")
    return {name: Spread(measured=tuple(values)) for name, values in found.items()}


def _dwell(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        try:
            value = parse(text, KINDS["duration"])
        except ValueError as error:
            raise InputError(f"{where} {error}") from None
    if not 0.0 <= value <= 86400.0:
        raise InputError(f'{where} must be a dwell in s, or with its unit (read: "{shown(text)}")')
    return value


def told(chance: Chance) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What varies and what stops, a line for each station."""
    duration = KINDS["duration"]
    varied = [
        f"{name}: {len(spread.measured)} measured dwells, drawn with replacement"
        if spread.measured
        else f"{name}: lognormal, standard deviation {100.0 * spread.share:g} % of the dwell"
        for name, spread in chance.spreads.items()
        if spread.varies or spread.measured
    ]
    stopped = [
        f"{name}: after {write(stops.between, duration)} on average, for"
        f" {write(stops.clearing, duration)}, both exponential"
        for name, stops in chance.stops.items()
    ]
    return tuple(varied), tuple(stopped)
