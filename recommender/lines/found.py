"""Configurations that were found of a loop, and rows of vectors: parts, corners, dominance."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.loop.layout import LayoutContext
from recommender.choice.search.candidates import Candidate
from recommender.inputs.case import Case
from recommender.lines.candidates import Vectors
from recommender.lines.shared import Asks, Terms


@dataclass(frozen=True)
class Version:
    """One case of a loop, and the bits of the ways to settle the handovers in which it is asked."""

    case: Case
    ways: int = 1


@dataclass(frozen=True)
class Found:
    """A configuration that holds where its stations were tried, and what it asks for."""

    asks: Asks
    candidate: Candidate
    version: int
    case: Case


def take(vectors: Vectors, rows: NDArray[np.intp]) -> Vectors:
    """Some rows of vectors."""
    own, carriers, sections = vectors.own, vectors.carriers, vectors.sections
    return Vectors(
        own[rows],
        carriers[rows],
        sections[rows],
        vectors.mean[rows],
        vectors.peak[rows],
        vectors.about,
    )


def corners(vectors: Vectors) -> list[int]:
    """Rows of which no other asks for less of everything."""
    table = np.stack([vectors.own, vectors.carriers, vectors.mean, vectors.peak], axis=1)
    kept: list[int] = []
    for row in np.lexsort(table.T[::-1]):
        if not (table[kept] <= table[row]).all(axis=1).any():
            kept.append(int(row))
    return kept


def all_dominated(asks: Asks, vectors: Vectors, terms: Terms) -> NDArray[np.bool_]:
    """Whether one that was found dominates all that the rows may stand for."""
    about = vectors.about
    if about.ways & ~asks.ways:
        return np.zeros(len(vectors.own), dtype=bool)
    if terms.width is not None and asks.across > about.across:
        return np.zeros(len(vectors.own), dtype=bool)
    another = terms.kinds[asks.kind] if asks.kind != about.kind else 0
    feeds = max(about.feeds - asks.feeds, 0) * terms.feed
    dominated = asks.own + another + feeds <= vectors.own
    dominated &= (asks.carriers <= vectors.carriers) & (asks.sections <= vectors.sections)
    dominated &= (asks.mean <= vectors.mean) & (asks.peak <= vectors.peak)
    return np.asarray(dominated)


def which(layout: LayoutContext, held: LayoutContext) -> NDArray[np.intp]:
    """Which rows of a layout are left in another, both in the same order."""
    whole, left = (
        np.stack([s.acceleration, s.jerk, s.speed, s.bend_speed], axis=1)
        for s in (layout.setting.settings, held.setting.settings)
    )
    found, at = [], 0
    for row in left:
        while not np.array_equal(whole[at], row):
            at += 1
        found.append(at)
        at += 1
    return np.array(found, dtype=np.intp)
