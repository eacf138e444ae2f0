"""When a whole command is to end, and what that leaves unsettled.

Effort is counted in work, so that an answer does not depend on how busy its machine is. The clock
is looked at only where somebody asks for an end, and whatever it cuts off is noted here, so that
the answer can say so: one that notes nothing is the same with a limit as without.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import StrEnum
from math import inf
from time import monotonic


class Unsettled(StrEnum):
    """What may be cut off, in the order in which an answer says it."""

    SEARCH = "other motions, sections and places of the stations, which may cost less"
    OPTIONS = "options that were not looked at"
    REASONS = "what would have to give in options that fail"
    IMPASSE = "which requirements no option meets together"
    HEADROOM = "how much more the choice could take"
    TURNING = "from which values on another option would be recommended"


class TimeUpError(Exception):
    """The time is up: what is under way is left, and what is finished counts."""


class Deadline:
    """An end, and what has been cut off there."""

    def __init__(self, seconds: float = inf) -> None:
        self.ends = inf if seconds == inf else monotonic() + seconds
        self.cut: set[Unsettled] = set()

    @property
    def left(self) -> float:
        """Seconds until the end; infinite, and no look at a clock, if there is none."""
        return inf if self.ends == inf else max(self.ends - monotonic(), 0.0)


# This one has no end, so nothing is ever noted in it.
_UNENDING = Deadline()
_CURRENT: ContextVar[Deadline] = ContextVar("deadline", default=_UNENDING)


@contextmanager
def ending_in(seconds: float | None) -> Iterator[Deadline]:
    """All that is done meanwhile ends after so many seconds; if ``None``, when it is done.

    Examples
    --------
    >>> with ending_in(0.0) as deadline:
    ...     late(Unsettled.SEARCH), deadline.cut == {Unsettled.SEARCH}
    (True, True)
    >>> late(Unsettled.SEARCH)
    False
    """
    deadline = Deadline(inf if seconds is None else seconds)
    token = _CURRENT.set(deadline)
    try:
        yield deadline
    finally:
        _CURRENT.reset(token)


def late(what: Unsettled) -> bool:
    """Whether the time is up, so that something stays unsettled; that is noted."""
    deadline = _CURRENT.get()
    if deadline.left > 0.0:
        return False
    deadline.cut.add(what)
    return True


def check_time(what: Unsettled) -> None:
    """Raise `TimeUpError` if the time is up."""
    if late(what):
        raise TimeUpError


def time_left() -> float:
    """Seconds until the end, infinite if there is none."""
    return _CURRENT.get().left
