"""TOML text as plain data: measured before it is parsed, and its faults said with a remedy.

The parser recurses as deep as the text nests, works through dotted keys part by part and turns
digits into numbers of any size. What no case or catalogue needs is refused by one look over the
text, whose time grows with its length alone.
"""

import re
import tomllib
from typing import Any, Final

from recommender.faults import InputError
from recommender.shown import shown

DEEPEST: Final = 16
"""Tables and lists in each other, and parts of a dotted key."""

LONGEST_WORD: Final = 100
"""Characters of a bare key or a number."""

MOST_VALUES: Final = 100_000
"""Keys, entries of lists and tables of a file, each of which may have a fault to be told."""

_TOKEN: Final = re.compile(
    r"""
      (?P<text>  \"\"\"(?:[^"\\]|\\.|"(?!""))*+(?:\"{3,5}|\Z)
              |  '''(?:[^']|'(?!''))*+(?:'{3,5}|\Z)
              |  "(?:[^"\\\n]|\\[^\n])*+"?
              |  '[^'\n]*+'?
              |  \#[^\n]*+ )
    | (?P<open>  [\[{] )
    | (?P<close> [\]}] )
    | (?P<dot>   \. )
    | (?P<value> [=,] )
    | (?P<line>  \n )
    | (?P<word>  [^\s"'\#\[\]{}.=,]++ )
    """,
    re.VERBOSE | re.DOTALL,
)


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """TOML text as plain data.

    Parameters
    ----------
    text : str
    where : str
        The file, as messages show it.

    Raises
    ------
    InputError
        If it is no TOML, or deeper or with longer numbers than anything here needs.
    """
    _measure(text, where)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{where}: is not valid TOML: {_said(str(error), text)}") from None
    except (RecursionError, ValueError, OverflowError) as error:
        # Dates that no calendar has, for one.
        raise InputError(f"{where}: is not valid TOML: {shown(error)}") from None


def _measure(text: str, where: str) -> None:
    """Refuse what would take the parser too deep or too long."""
    depth = parts = values = 0
    for token in _TOKEN.finditer(text):
        kind = token.lastgroup
        if kind == "dot":
            parts += 1
        elif kind == "word":
            if token.end() - token.start() > LONGEST_WORD:
                raise _refusal(text, token, where, f"{shown(token[0], 24)} {_TOO_LONG}")
        elif kind != "text":
            parts = 0
            values += kind in _COUNTED
            depth = max(depth + _STEPS.get(kind or "", 0), 0)
        if max(depth, parts) > DEEPEST:
            raise _refusal(text, token, where, _TOO_DEEP)
        if values > MOST_VALUES:
            raise _refusal(text, token, where, _TOO_MANY)


_COUNTED: Final = frozenset({"open", "value"})
_STEPS: Final = {"open": 1, "close": -1}
_TOO_LONG: Final = (
    f"is longer than the {LONGEST_WORD} characters that a key or a number may have; shorten it"
)
_TOO_DEEP: Final = (
    f"tables or lists stand more than {DEEPEST} deep in each other;"
    " take out what does not belong there"
)
_TOO_MANY: Final = (
    f"more than {MOST_VALUES} values stand up to here; take out what does not belong there, or"
    " part a catalogue into several files"
)


def _refusal(text: str, token: re.Match[str], where: str, what: str) -> InputError:
    return InputError(f"{where}: line {_line(text, token.start())}: {what}")


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1


_AT: Final = re.compile(r"(?P<what>.*) \(at (?:line (?P<line>\d+), column \d+|end of document)\)")

# What the parser says, and what is said instead with what would do.
_REMEDIES: Final = (
    ("Cannot overwrite a value", "{key} is there already; keep one of the two"),
    ("Duplicate inline table key", "{key} is there already; keep one of the two"),
    ("Cannot declare", "{key} is there already; put its keys below the first one"),
    ("Cannot mutate immutable", "{key} adds to a table in braces; write its keys inside them"),
    ("Cannot redefine", "{key} is there already in another form; keep one of the two"),
    ("Invalid value", '{key} has no value that can be read; put text into quotes, as in "30 kg"'),
    ("Expected '=' after a key", '{key} has no value; write it as in mass = "30 kg"'),
    (
        "Expected newline or end of document",
        "something stands behind {key} and its value; begin a new line for it, or put text"
        ' into quotes, as in "30 kg"',
    ),
    ("Invalid statement", '{key} is no key; write a line as in mass = "30 kg"'),
    ("Invalid initial character", '{key} is no key; write a line as in mass = "30 kg"'),
    ("Unterminated string", "the text of {key} has no end; close its quotes"),
    ("Expected \"'", "the text of {key} has no end; close its quotes"),
    ("Illegal character '\\n'", "{key} has a text without an end in its line; close its quotes"),
    (
        "Illegal character",
        "{key} has a character in it that cannot be seen; delete it",
    ),
    ("Found invalid character", "{key} has a character in it that cannot be seen; delete it"),
    ("Unescaped", r"{key} has a single \ in its text; write \\, or put the text into '...'"),
    ("Escaped character", r"{key} has an escape that is no character; write \\ for a single \ "),
    ("Invalid hex value", r"{key} has an escape that is no character; write \\ for a single \ "),
    ("Unclosed array", "the list of {key} has no end; close it with ]"),
    ("Unclosed inline table", "the table of {key} has no end; close it with }}"),
    ("Expected ']", "{key} has no end; write a table as in [load], an entry as in [[station]]"),
    ("Invalid date", '{key} is no date that there is; write text in quotes, as in "10 weeks"'),
)


def _said(fault: str, text: str) -> str:
    """The parser's fault with the line, the key that stands there, and what would do."""
    found = _AT.fullmatch(fault)
    lines = text.replace("\r\n", "\n").split("\n")
    number = int(found["line"]) if found and found["line"] else _last(lines)
    what = found["what"] if found else fault
    key = _key_at(lines, number)
    for begin, remedy in _REMEDIES:
        if what.startswith(begin):
            return f"line {number}: {remedy.format(key=key).strip()}"
    return f"line {number}: {key}: {shown(what)}"


_KEY: Final = re.compile(r"\s*([^=\[\]{}#]{1,80}?)\s*=")
_HEAD: Final = re.compile(r"\s*(\[\[?[^\[\]=#]{1,80}\]\]?)")


def _last(lines: list[str]) -> int:
    """The last line with a key or a head: what never ends began there."""
    begun = (n for n, line in enumerate(lines, start=1) if _KEY.match(line) or _HEAD.match(line))
    return max(begun, default=1)


def _key_at(lines: list[str], number: int) -> str:
    """What stands in a line: its key with the table that it is in, or its beginning."""
    line = lines[min(number, len(lines)) - 1]
    head = _HEAD.match(line)
    if head:
        return shown(head[1])
    key = _KEY.match(line)
    if not key:
        return f"'{shown(line.strip(), 32)}'" if line.strip() else "the line"
    for above in reversed(lines[: number - 1]):
        table = _HEAD.match(above)
        if table:
            return shown(f"{table[1].strip('[] ')}.{key[1]}")
    return shown(key[1])
