"""Answers and parts as text for other programs: CSV and JSON."""

import csv
import io
import json
from collections.abc import Sequence

from recommender.result import PartResult, plain

_COLUMNS = (
    "item",
    "id",
    "description",
    "quantity",
    "unit_price",
    "price",
    "lead_time_weeks",
    "why",
)


def parts_csv(parts: Sequence[PartResult]) -> str:
    """The bill of materials as CSV (RFC 4180), a line for each part under a head."""
    text = io.StringIO()
    writer = csv.DictWriter(text, _COLUMNS)
    writer.writeheader()
    for part in parts:
        writer.writerow(plain(part))
    return text.getvalue()


def parts_json(parts: Sequence[PartResult]) -> str:
    """The bill of materials as a JSON list."""
    return json.dumps(plain(parts), ensure_ascii=False, indent=2)
