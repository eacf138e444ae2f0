"""What became of many cases, a line for each."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Line:
    """What became of one case, or of one line of loops.

    ``status`` is that of an answer, or ``bad input``, or ``failed`` for a fault of this program. Of
    a line of ``loops`` the option has each loop's behind its name, carriers and guide are those of
    all loops, and the floor is that of all of them side by side; its rates are its loops' and none
    is told here.
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
    floor_m2: float | None = None
    loops: int = 1
    seconds: float = 0.0
    message: str = ""
    digest: str = ""
