"""The gate out: what somebody else wrote, made safe for a terminal, a spreadsheet and a page.

Titles, names, keys, values, ids and paths come from files and command lines. Printed raw, they
could move the cursor, turn the reading direction round, or add lines that look like ours.
"""

import json
import unicodedata
from pathlib import Path
from typing import Any, Final

LONGEST_VALUE: Final = 60
LONGEST_PATH: Final = 240
LONGEST_MESSAGE: Final = 1000

_CUT: Final = " ..."
_BLANK: Final = "Zs"
# Full-width forms are read as the plain ones by some spreadsheets.
_BEGINS_FORMULA: Final = "=+-@\t\r\n＝＋－＠"


def is_plain(text: str) -> bool:
    """Whether text is one line of characters that can be seen.

    Control, C1 and format characters (bidirectional controls among them), line separators and
    lone surrogates are not (Unicode Standard, general categories Cc, Cf, Zl, Zp, Cs, Co, Cn).

    Examples
    --------
    >>> is_plain("Größe [b] 30 kg"), is_plain("\\x1b[2J"), is_plain("a\\nb"), is_plain("a\\u202eb")
    (True, False, False, False)
    """
    return text.isprintable() or all(map(_seen, text))


def _seen(character: str) -> bool:
    return character.isprintable() or unicodedata.category(character) == _BLANK


def escaped(text: str, keep: str = "") -> str:
    """Text with an escape, as TOML writes it, in place of each character that cannot be seen.

    Examples
    --------
    >>> print(escaped("a\\nb\\x1b[2J\\u202e\\U000e0001"))
    a\\nb\\u001B[2J\\u202E\\U000E0001
    """
    if text.isprintable():
        return text
    return "".join(one if one in keep or _seen(one) else _escape(one) for one in text)


def _escape(character: str) -> str:
    short = {"\n": "\\n", "\t": "\\t", "\r": "\\r"}.get(character)
    code = ord(character)
    return short or (f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}")


def shown(value: object, longest: int = LONGEST_VALUE) -> str:
    """A key, an id or a value as a message shows it: one line, escaped, its end cut off.

    Examples
    --------
    >>> print(shown("load\\n"), shown("x" * 99, 12))
    load\\n xxxxxxxx ...
    """
    # Nobody sees more than so much of it, so no more is escaped.
    text = escaped(str(value)[: longest + 1])
    return text if len(text) <= longest else text[: longest - len(_CUT)] + _CUT


def shown_path(path: str | Path) -> str:
    """A path as a message shows it: one line, escaped, its middle cut out, as its end tells most.

    Examples
    --------
    >>> print(shown_path("cases/\\x1b.toml"))
    cases/\\u001B.toml
    >>> len(shown_path("x" * 9999))
    240
    """
    text = escaped(str(path))
    if len(text) <= LONGEST_PATH:
        return text
    half = (LONGEST_PATH - len(_CUT) - 1) // 2
    return f"{text[: LONGEST_PATH - half - len(_CUT) - 1]}{_CUT} {text[-half:]}"


def json_text(value: Any) -> str:
    """One JSON document (RFC 8259) in which no character can disturb a terminal.

    Examples
    --------
    >>> print(json_text(["ß", "\\x9b", "\\u202e"]))
    [
      "ß",
      "\\u009b",
      "\\u202e"
    ]
    """
    text = json.dumps(value, ensure_ascii=False, indent=2)
    if text.replace("\n", "").isprintable():
        return text
    # Outside of its strings JSON is ASCII, so whatever cannot be seen stands in one of them.
    return "".join(one if one == "\n" or _seen(one) else json.dumps(one).strip('"') for one in text)


def spreadsheet_cell(value: object) -> object:
    """A cell that no spreadsheet takes for a formula: text that begins like one gets a quote.

    Numbers stay numbers. The characters are those of the advice on formula injection that the
    trade shares (common practice, no source).

    Examples
    --------
    >>> [spreadsheet_cell(cell) for cell in ("=1+1", " @x", "s-4", -3)]
    ["'=1+1", "' @x", 's-4', -3]
    """
    if not isinstance(value, str):
        return value
    begin = value[:1] if value[:1] in _BEGINS_FORMULA else value.lstrip()[:1]
    return f"'{value}" if begin and begin in _BEGINS_FORMULA else value
