"""Small damage to text, as slips, editors, transfers and ill will do it."""

import random
from collections.abc import Callable, Sequence

NASTY = (
    "nan",
    "inf",
    "-0",
    "1e400",
    "9" * 5000,
    "0x" + "f" * 5000,
    "1_000",
    "1979-05-27T07:32:00.9999999999Z",
    "2023-02-30",
    "[" * 3000,
    "{a=" * 3000,
    "x." * 3000,
    '"""',
    "'''",
    "\\",
    "\\u202e",
    "\\U0010ffff",
    "\\ud800",
    "\x1b[2J",
    "\x9b31m",
    "\u202e",
    "\u2028",
    "\x00",
    "\ufeff",
    "[/x]",
    "[b]",
    "=1+1",
    "٣ kg",
    "m**9.99",
    "kg^-9.99",
    "1/1/1",
    "delta_degC",
    "dBm",
    "°",
    "µ" * 99,
    "true",
    "{}",
    "[]",
    "[[load]]",
    "[load]",
    "load.mass",
    "#",
    "\r",
    "\t",
    "🚚" * 30,
    "e\u0301" * 40,
)


def mutated(text: str, others: Sequence[str], dice: random.Random) -> str:
    """A text with one to four damages in it, sometimes spliced with another one."""
    for _ in range(dice.choice((1, 1, 1, 2, 3, 4))):
        text = dice.choice(_DAMAGES)(text, others, dice)
    return text


def _span(text: str, dice: random.Random, longest: int = 40) -> tuple[int, int]:
    start = dice.randint(0, len(text))
    return start, min(len(text), start + dice.randint(0, longest))


def _deleted(text: str, _: Sequence[str], dice: random.Random) -> str:
    start, end = _span(text, dice)
    return text[:start] + text[end:]


def _cut_off(text: str, _: Sequence[str], dice: random.Random) -> str:
    return text[: dice.randint(0, len(text))]


def _repeated(text: str, _: Sequence[str], dice: random.Random) -> str:
    start, end = _span(text, dice, 12)
    times = dice.choice((2, 3, 20, 300))
    return text[:start] + text[start:end] * times + text[end:]


def _inserted(text: str, _: Sequence[str], dice: random.Random) -> str:
    place = dice.randint(0, len(text))
    return text[:place] + dice.choice(NASTY) + text[place:]


def _replaced(text: str, _: Sequence[str], dice: random.Random) -> str:
    """A word, number or text in place of another one."""
    start = dice.randint(0, len(text))
    while start > 0 and text[start - 1] not in ' \n"=.,[]':
        start -= 1
    end = start
    while end < len(text) and text[end] not in ' \n"=.,[]':
        end += 1
    return text[:start] + dice.choice(NASTY) + text[end:]


def _another_character(text: str, _: Sequence[str], dice: random.Random) -> str:
    place, most = dice.randint(0, len(text)), dice.choice((0x7F, 0xFF, 0xFFFF, 0x10FFFF))
    return text[:place] + chr(dice.randint(0, most)) + text[place + 1 :]


def _lines_swapped(text: str, _: Sequence[str], dice: random.Random) -> str:
    lines = text.split("\n")
    a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def _line_doubled(text: str, _: Sequence[str], dice: random.Random) -> str:
    lines = text.split("\n")
    lines.insert(dice.randrange(len(lines) + 1), dice.choice(lines))
    return "\n".join(lines)


def _spliced(text: str, others: Sequence[str], dice: random.Random) -> str:
    other = dice.choice(others)
    return text[: dice.randint(0, len(text))] + other[dice.randint(0, len(other)) :]


def _another_number(text: str, _: Sequence[str], dice: random.Random) -> str:
    places = [place for place, letter in enumerate(text) if letter.isdigit()]
    if not places:
        return text
    place = dice.choice(places)
    number = dice.choice(("0", "1", "-1", "1e9", "1e-9", "999999999", ".5", str(dice.random())))
    return text[:place] + number + text[place + 1 :]


_DAMAGES: tuple[Callable[[str, Sequence[str], random.Random], str], ...] = (
    _deleted,
    _cut_off,
    _repeated,
    _inserted,
    _replaced,
    _another_character,
    _lines_swapped,
    _line_doubled,
    _spliced,
    _another_number,
)
