"""Answers and parts as text for other programs: CSV and JSON."""

import csv
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import fields
from typing import Any

from recommender.result import PartResult, plain
from recommender.result_batch import Line
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
    return _as_csv(_COLUMNS, map(plain, parts))


def lines_csv(lines: Sequence[Line]) -> str:
    """Lines of many cases as CSV, as the parts are."""
    return _as_csv([field.name for field in fields(Line)], map(plain, lines))


def lines_jsonl(lines: Sequence[Line]) -> str:
    """Lines of many cases as JSON, one document on each line."""
    return "".join(json.dumps(plain(line), ensure_ascii=False) + "\n" for line in lines)


def _as_csv(columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> str:
    text = io.StringIO()
    plainly = csv.DictWriter(text, columns)
    quoted = csv.DictWriter(text, columns, quoting=csv.QUOTE_NONNUMERIC)
    plainly.writeheader()
    for entry in rows:
        row = {name: spreadsheet_cell(value) for name, value in entry.items()}
        # A spreadsheet that takes semicolons for commas would begin a cell behind each of them.
        parted = any(isinstance(value, str) and ";" in value for value in row.values())
        (quoted if parted else plainly).writerow(row)
    return text.getvalue()


def parts_json(parts: Sequence[PartResult]) -> str:
    """The bill of materials as a JSON list."""
    return json_text(plain(parts))
