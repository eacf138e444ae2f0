"""Computes every published value afresh and lays it beside the print."""

from recommender.evidence.entry import Published
from recommender.evidence.registry import COMPARISONS, PUBLISHED
from recommender.results.answer import ComparisonLine, EvidenceLine, EvidenceReport


def evidence_report() -> EvidenceReport:
    """All published values with what is computed now, and the comparisons that the tests make."""
    return EvidenceReport(
        published=tuple(
            _line(section, entry) for section, entries in PUBLISHED.items() for entry in entries
        ),
        comparisons=tuple(
            ComparisonLine(entry.id, entry.against, entry.what, entry.test)
            for entry in COMPARISONS.values()
        ),
    )


def _line(section: str, entry: Published) -> EvidenceLine:
    computed = float(entry.compute())
    deviation = computed - entry.published
    return EvidenceLine(
        id=entry.id,
        section=section,
        covers=entry.covers,
        quantity=entry.quantity,
        inputs=entry.inputs,
        source=entry.source,
        consulted=entry.mark.value,
        unit=entry.unit,
        published=entry.published,
        computed=computed,
        deviation=deviation,
        tolerance=entry.tolerance,
        holds=abs(deviation) <= entry.tolerance,
        note=entry.note,
    )
