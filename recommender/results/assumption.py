"""What an answer takes for granted, as it holds it; loaded by itself where only a case is read."""

from dataclasses import dataclass


@dataclass(frozen=True)
class AssumptionLine:
    """Something that was taken for granted, and why.

    ``group`` says who answers for it: ``customer``, then with a ``question`` to be sent; ``house``,
    by rules of its catalogue; or ``method``. ``brief`` is how a usual answer to a question reads
    beside others; it is empty for a question that is worth a line of its own.
    """

    key: str
    value: str
    why: str
    group: str = "method"
    question: str = ""
    brief: str = ""
