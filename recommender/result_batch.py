"""What became of many cases, a line for each."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Line:
    """What became of one case.

    ``status`` is that of an answer, or ``bad input``, or ``failed`` for a fault of this program.
    """

    name: str
    status: str
    option: str = ""
    carriers: int | None = None
    guide_m: float | None = None
    price: str = ""
    currency: str = ""
    at_least: str = ""
    proven: bool | None = None
    rate_per_min: float | None = None
    seconds: float = 0.0
    message: str = ""
    digest: str = ""
