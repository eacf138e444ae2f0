"""Orders of the sections of one straight, as ways through the counts of pieces laid so far.

A node is how many pieces of each length have been laid, and its place is where the next joint
lies. An order is a way from no piece to all of them; there are far fewer nodes than orders.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

Node = tuple[int, ...]


@dataclass(frozen=True)
class Orders:
    """Pieces of one straight: so many of each length, m, the longest first.

    ``ids`` names the pieces of each length in the order in which they are laid.

    Examples
    --------
    A long and two short pieces can be laid in three orders; if no joint may lie at 0.8 m, the two
    short ones cannot come first:

    >>> two = Orders((1.0, 0.4), (("long",), ("short", "short")))
    >>> sorted(round(two.place(node), 1) for node in two.joints)
    [0.4, 0.8, 1.0, 1.4]
    >>> two.longest_first(lambda place: True)
    ('long', 'short', 'short')
    >>> two.longest_first(lambda place: abs(place - 1.0) > 0.1)
    ('short', 'long', 'short')
    """

    lengths: tuple[float, ...]
    ids: tuple[tuple[str, ...], ...]

    @staticmethod
    def of(ids: Sequence[str], lengths: Sequence[float], counts: Sequence[int]) -> "Orders":
        """The orders of some pieces, given in the order of a catalogue."""
        grouped: dict[int, list[str]] = {}
        size: dict[int, float] = {}
        for name, length, count in zip(ids, lengths, counts, strict=True):
            if count:
                key = round(length * 1e6)
                grouped.setdefault(key, []).extend([name] * count)
                size.setdefault(key, length)
        keys = sorted(grouped, reverse=True)
        return Orders(tuple(size[key] for key in keys), tuple(tuple(grouped[key]) for key in keys))

    @property
    def counts(self) -> Node:
        """Pieces of each length."""
        return tuple(len(names) for names in self.ids)

    @property
    def joints(self) -> list[Node]:
        """Every node at which a joint may lie."""
        return [node for node in self._nodes if 0 < sum(node) < sum(self.counts)]

    @property
    def settled(self) -> bool:
        """Whether there is one order only, but for pieces that are alike."""
        return len(self.lengths) < 2

    @cached_property
    def _nodes(self) -> list[Node]:
        return list(product(*(range(count + 1) for count in self.counts)))

    @property
    def start(self) -> Node:
        """The node of no piece."""
        return (0,) * len(self.lengths)

    def place(self, node: Node) -> float:
        """Where the pieces laid so far end, from the start of the straight, m."""
        return sum(count * length for count, length in zip(node, self.lengths, strict=True))

    def onward(self, node: Node) -> Iterator[Node]:
        """Nodes after one more piece, the longest first."""
        for kind, count in enumerate(self.counts):
            if node[kind] < count:
                yield (*node[:kind], node[kind] + 1, *node[kind + 1 :])

    def longest_first(self, free: Callable[[float], bool]) -> tuple[str, ...] | None:
        """The first order, longer pieces before shorter ones, with free places for all joints.

        Returns
        -------
        tuple of str or None
            Ids along the travel; ``None`` if there is no such order.
        """
        open_nodes = {self.counts}
        for node in reversed(self._nodes):
            inner = sum(node) > 0
            if (not inner or free(self.place(node))) and any(
                behind in open_nodes for behind in self.onward(node)
            ):
                open_nodes.add(node)
        if self.start not in open_nodes:
            return None
        node, order = self.start, []
        while node != self.counts:
            behind = next(node for node in self.onward(node) if node in open_nodes)
            kind = next(k for k, count in enumerate(behind) if count > node[k])
            order.append(self.ids[kind][node[kind]])
            node = behind
        return tuple(order)
