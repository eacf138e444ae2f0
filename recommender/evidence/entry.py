"""One published value and the function that must reproduce it."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import SupportsFloat


class Mark(StrEnum):
    """How the published value was consulted."""

    TEXT = "read in the text"
    EXCERPT = "read in an excerpt of the text"
    COMPANION = "read in a code companion of the book"
    PRINT = "read in a bearing maker's print of the standard's table"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Published:
    """A value that somebody outside this project printed.

    Parameters
    ----------
    id : str
        Stable and readable, e.g. ``motion.double-s.total-time``.
    covers : tuple of str
        Ids of the checks (``recommender.choice.checks``) that rest on the function compared.
    quantity, inputs : str
        What is compared and for which numbers, as a reader would look it up in the book.
    source : str
        Book or standard, edition, table or example, page.
    mark : Mark
        How the source was consulted.
    unit : str
        Unit of both numbers, ``1`` if they have none.
    published : float
        As printed.
    tolerance : float
        Largest accepted deviation, in the same unit: half a unit of the last printed digit, or
        more where the source itself rounded on the way and ``note`` says so.
    compute : callable
        Calls the function of ours; takes nothing, returns a float.
    note : str
        Why the tolerance is wider than the print, where it is.
    """

    id: str
    covers: tuple[str, ...]
    quantity: str
    inputs: str
    source: str
    mark: Mark
    unit: str
    published: float
    tolerance: float
    compute: Callable[[], float]
    note: str = ""

    def deviation(self) -> float:
        """Computed less published, in the value's unit."""
        return float(self.compute()) - self.published

    def holds(self) -> bool:
        """Whether the computed value lies within the tolerance of the published one."""
        return abs(self.deviation()) <= self.tolerance


def example(
    name: str,
    covers: tuple[str, ...],
    quantity: str,
    inputs: str,
    source: str,
    published: float,
    tolerance: float,
    unit: str,
    compute: Callable[[], SupportsFloat],
    *,
    section: str,
    mark: Mark,
    note: str = "",
) -> Published:
    """A published value whose id is its section and name; for tables of many short entries."""
    return Published(
        id=f"{section}.{name}",
        covers=covers,
        quantity=quantity,
        inputs=inputs,
        source=source,
        mark=mark,
        unit=unit,
        published=published,
        tolerance=tolerance,
        compute=lambda: float(compute()),
        note=note,
    )
