"""What a check is, and what it finds."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.where import Where
from recommender.physics.constants import Array

Context = TypeVar("Context")

HOLDS = 1.0 + 1e-9
"""Utilisation up to which a check holds: sums of floating-point terms differ in the last digits."""


@dataclass(frozen=True)
class Outcome:
    """What a check asks for and what is allowed, in SI.

    ``demand`` has the rows of the context and, last, one column for each of ``labels`` (load cases,
    rollers, stations, whatever may govern; plain text is words and no more); ``limit`` broadcasts
    with it.
    """

    demand: Array
    limit: Array
    labels: tuple[Where | str, ...]

    def utilisation(self) -> Array:
        """Demand over limit, worst column; 0 where nothing is asked, inf where nothing is allowed.

        Examples
        --------
        >>> Outcome(np.array([[1.0, 3.0]]), np.array([[4.0, 4.0]]), ("a", "b")).utilisation()
        array([0.75])
        """
        ratios = self._ratios()
        return ratios[..., 0] if ratios.shape[-1] == 1 else np.asarray(ratios.max(axis=-1))

    def _ratios(self) -> Array:
        if self.demand.size == self.limit.size == 1:
            # Plain numbers are compared in a tenth of the time that arrays of one take.
            shape = self.demand.shape if self.demand.ndim >= self.limit.ndim else self.limit.shape
            return np.full(shape, _ratio(self.demand.item(), self.limit.item()))
        # A limit of zero allows only a demand of zero, and an infinite one allows everything
        # but an infinite demand.
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(self.demand > 0, self.demand / self.limit, 0.0)
        return np.where(np.isnan(ratio), np.inf, ratio)

    def always_failing(self) -> NDArray[np.bool_]:
        """Columns that fail in every row, (columns,)."""
        ratios = self._ratios()
        return np.asarray((ratios.reshape(-1, ratios.shape[-1]) > HOLDS).all(axis=0))

    def governing(
        self, *row: int, among: NDArray[np.bool_] | None = None
    ) -> tuple[float, float, Where]:
        """Demand, limit and what governs in the worst column of one row, of some if there are."""
        ratios = self._ratios()[row]
        if among is not None and among.any():
            ratios = np.where(among, ratios, -1.0)
        column = int(np.argmax(ratios))
        demand, limit = np.broadcast_arrays(self.demand, self.limit)
        where = Where.of(self.labels[column])
        return float(demand[(*row, column)]), float(limit[(*row, column)]), where


def _ratio(demand: float, limit: float) -> float:
    """Demand over limit, inf where it is not a number."""
    if not demand > 0.0:
        return 0.0
    ratio = demand / limit if limit else np.inf
    return np.inf if math.isnan(ratio) else ratio


def single(demand: float | Array, limit: float | Array, label: Where | str = "") -> Outcome:
    """An outcome with one column only."""
    return Outcome(
        np.asarray(demand, dtype=np.float64)[..., None],
        np.asarray(limit, dtype=np.float64)[..., None],
        (label,),
    )


@dataclass(frozen=True)
class CheckText:
    """What a check is called and how it speaks.

    Parameters
    ----------
    id, title : str
        Stable id, and the name in tables.
    unit : str
        A kind of `recommender.inputs.quantities`, or a plain unit such as ``h`` or ``1``.
    source : str
        Where the limit or the formula comes from.
    requirements : tuple of str
        Keys of the case that the demand or the limit comes from; a conflict is made of these.
    evidence : tuple of str
        What the check rests on: sections of published values and comparisons, by the ids of
        `recommender.evidence.registry`.
    fails : str
        Why it fails, for a sentence about one option: ``{demand}``, ``{limit}``, ``{where}`` and
        what else `recommender.explain.phrases.ASKED` knows is filled in.
    together : str
        The same of several options; ``{demand}``, ``{limit}``, ``{where}`` and ``{moment}`` are
        filled in. As of one if there is none.
    quicker, slower : str
        What would happen if the motion were quicker or slower, of a check that it bears on.
    """

    id: str
    title: str
    unit: str
    source: str
    requirements: tuple[str, ...]
    evidence: tuple[str, ...]
    fails: str
    together: str = ""
    quicker: str = ""
    slower: str = ""


@dataclass(frozen=True)
class Check(Generic[Context]):
    """One thing that a configuration must satisfy.

    ``evaluate`` gives the outcome in a context, ``None`` if the check does not apply to the case.
    """

    about: CheckText
    evaluate: Callable[[Context], Outcome | None]
