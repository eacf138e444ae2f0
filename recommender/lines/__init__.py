"""Lines of loops: several loops tied by handovers, under one control."""

# As `typing` has it; what is needed is imported when it is used, as in the package's own door.
TYPE_CHECKING = False

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from recommender.inputs.catalogue import Catalogue
    from recommender.lines.model import Line
    from recommender.lines.result import LineAnswer

__all__ = ["answer_line", "is_line"]


def is_line(data: "Mapping[str, Any]") -> bool:
    """Whether a file's data is a line of loops and no single case."""
    return "line" in data or "handover" in data


def answer_line(line: "Line", catalogue: "Catalogue", **options: "Any") -> "LineAnswer":
    """Answer a line of loops from a catalogue.

    Parameters
    ----------
    line : Line
        As `recommender.lines.reading.read_line` gives it.
    catalogue : Catalogue
    **options
        As for `recommender.lines.recommend.recommend_line`.

    Returns
    -------
    LineAnswer
        Its status is ``recommended``, or ``none`` if there is no line.
    """
    from recommender.lines.recommend import recommend_line

    return recommend_line(line, catalogue, **options)
