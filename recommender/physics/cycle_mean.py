"""Largest cycle mean of an event graph, by policy iteration (Howard's algorithm).

An event graph says which event must wait for which: x_target(n) ≥ x_source(n − count) + weight.
Repeating as fast as it can, it settles to a period: the largest, over all its cycles, of the sum
of weights over the sum of counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

_ROUNDING = 1e-12
"""Improvements below this, relative to the largest weight, are taken for rounding."""

_ROUNDS = 1000
"""Rounds of improvement allowed; graphs of a hundred nodes take some ten."""


@dataclass(frozen=True, slots=True)
class Edge:
    """One event waits for another.

    Parameters
    ----------
    source, target : int
        Nodes, numbered from 0; ``target`` is the one that waits.
    weight : float
        Time from the source's event to the target's, at least.
    count : int
        How many repetitions ago the source's event was; may be negative where the numbering of
        two nodes is shifted.
    """

    source: int
    target: int
    weight: float
    count: int


@dataclass(slots=True)
class _Policy:
    """For every node the edge that it waits for, with the mean and the lead that follow."""

    edges: list[Edge]
    means: list[float]
    leads: list[float]


def _cycle_from(start: int, policy: _Policy, seen: list[int]) -> tuple[list[int], int | None]:
    """Follow the policy back from a node; give the way and, if it closes anew, where."""
    way = []
    node = start
    while seen[node] == -1:
        seen[node] = start
        way.append(node)
        node = policy.edges[node].source
    return way, node if seen[node] == start else None


def _evaluate(policy: _Policy) -> bool:
    """Fill in the means and leads of a policy; False if one of its cycles cannot repeat."""
    seen = [-1] * len(policy.edges)
    for start in range(len(seen)):
        if seen[start] != -1:
            continue
        way, root = _cycle_from(start, policy, seen)
        if root is not None:
            cycle = way[way.index(root) :]
            count = sum(policy.edges[node].count for node in cycle)
            if count <= 0:
                return False
            policy.means[root] = sum(policy.edges[node].weight for node in cycle) / count
            # The cycle's first node keeps its lead, so that improvement can only raise the others.
            way.remove(root)
        for node in reversed(way):
            edge = policy.edges[node]
            mean = policy.means[edge.source]
            policy.means[node] = mean
            policy.leads[node] = policy.leads[edge.source] + edge.weight - mean * edge.count
    return True


def _improve(policy: _Policy, incoming: list[list[Edge]], tolerance: float) -> bool:
    """Let every node wait for the edge that holds it up longest; False if none changed."""
    means, leads = policy.means, policy.leads
    changed = False
    for node, edges in enumerate(incoming):
        slowest = max(edges, key=lambda edge: means[edge.source])
        if means[slowest.source] > means[node] + tolerance:
            policy.edges[node] = slowest
            changed = True
    if changed:
        return True
    for node, edges in enumerate(incoming):
        mean = means[node]
        latest, lead = None, leads[node] + tolerance
        for edge in edges:
            if means[edge.source] >= mean - tolerance:
                candidate = leads[edge.source] + edge.weight - mean * edge.count
                if candidate > lead:
                    latest, lead = edge, candidate
        if latest is not None:
            policy.edges[node] = latest
            changed = True
    return changed


def largest_cycle_mean(nodes: int, edges: Sequence[Edge]) -> float:
    """Largest ratio of weight to count over the cycles of an event graph.

    Howard's policy iteration: let every node wait for one edge, find the means of the cycles that
    these edges close, let each node wait for the edge that then holds it up longest, until none
    changes.

    Parameters
    ----------
    nodes : int
        Number of nodes; every one needs an edge that ends in it.
    edges : sequence of Edge
        Weights not negative.

    Returns
    -------
    float
        In the unit of the weights, per repetition; ``inf`` if the counts of some cycle do not add
        up to more than 0: its events wait for themselves.

    Raises
    ------
    ValueError
        If a node has no edge that ends in it, or a weight is negative or not a number.
    ArithmeticError
        If the iteration does not settle, which would be a fault of this function.

    Examples
    --------
    Trains circle in each of two cities, 2 h and 3 h, and run between them, 5 h one way and 3 h the
    other; one train on each of the four tracks, departures wait for each other's passengers. They
    leave every 4 h, held up by the track between the cities, (5 + 3)/2 (the introductory example
    of [2]_, from memory):

    >>> track = [Edge(0, 0, 2.0, 1), Edge(1, 0, 5.0, 1), Edge(0, 1, 3.0, 1), Edge(1, 1, 3.0, 1)]
    >>> largest_cycle_mean(2, track)
    4.0

    References
    ----------
    .. [1] J. Cochet-Terrasson, G. Cohen, S. Gaubert, M. McGettrick and J.-P. Quadrat, Numerical
       computation of spectral elements in max-plus algebra, IFAC Conference on System Structure
       and Control, Nantes, 1998.
    .. [2] B. Heidergott, G. J. Olsder and J. van der Woude, Max Plus at Work, Princeton University
       Press, 2006, chapter 0.
    """
    incoming: list[list[Edge]] = [[] for _ in range(nodes)]
    for edge in edges:
        if not 0.0 <= edge.weight < inf:
            raise ValueError("weights must be zero or more and finite")
        incoming[edge.target].append(edge)
    if not all(incoming):
        raise ValueError("every node needs an edge that ends in it")
    tolerance = _ROUNDING * max(edge.weight for edge in edges)
    policy = _Policy(
        [max(ends, key=lambda edge: edge.weight) for ends in incoming], [0.0] * nodes, [0.0] * nodes
    )
    for _ in range(_ROUNDS):
        if not _evaluate(policy):
            return inf
        if not _improve(policy, incoming, tolerance):
            return max(policy.means)
    raise ArithmeticError("policy iteration did not settle")
