"""Answers and parts as text for other programs: CSV and JSON."""

import csv
import io
from collections.abc import Sequence

from recommender.result import PartResult, plain
from recommender.shown import json_text, spreadsheet_cell

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
    """The bill of materials as CSV (RFC 4180), a line for each part under a head.

    Spreadsheets may read it, so no cell begins a formula.
    """
    text = io.StringIO()
    plainly = csv.DictWriter(text, _COLUMNS)
    quoted = csv.DictWriter(text, _COLUMNS, quoting=csv.QUOTE_NONNUMERIC)
    plainly.writeheader()
    for part in parts:
        row = {name: spreadsheet_cell(value) for name, value in plain(part).items()}
        # A spreadsheet that takes semicolons for commas would begin a cell behind each of them.
        parted = any(isinstance(value, str) and ";" in value for value in row.values())
        (quoted if parted else plainly).writerow(row)
    return text.getvalue()


def parts_json(parts: Sequence[PartResult]) -> str:
    """The bill of materials as a JSON list."""
    return json_text(plain(parts))
