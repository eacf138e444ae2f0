"""The loop as a plan in characters: sections and joints, stations, feeds, carriers, to scale."""

from collections.abc import Iterable
from math import ceil, cos, pi, sqrt

from recommender.results.loop import LoopPlan

_COLUMNS = 80
_MARGIN = 6
_LONGEST_NAME = 24
_MOST_ROWS = 12
_ASPECT = 2.0
"""A character is about twice as high as it is wide."""


def loop_drawing(
    loop: LoopPlan, carriers: int, rows: int = _MOST_ROWS, columns: int = _COLUMNS
) -> str:
    """A plan of the loop, the front straight travelled from left to right.

    It is drawn below, as one stands before a loop that lies flat; of an upright loop it is the
    upper run.

    Parameters
    ----------
    loop : LoopPlan
    carriers : int
        Drawn evenly along the guide, as they are while the loop runs, one of them at the first
        station.
    rows : int
        Height of the loop at most; its width is to scale up to there.
    columns : int
        Width of the whole plan.

    Returns
    -------
    str
        Lines of at most so many columns, stations by their numbers in the order of the case; the
        last ones say what the signs mean and what the stations are called.
    """
    picture = _Picture(loop, rows, min(columns, _COLUMNS))
    picture.guide()
    spread = loop.length_m / carriers
    picture.carriers(loop.stations[0].at_m + number * spread for number in range(carriers))
    picture.joints()
    picture.supplies()
    picture.feeds()
    picture.direction()
    for number, place in enumerate(loop.stations, start=1):
        picture.station(place.at_m, str(number))
    legend = [*_legend(picture.signs), *_stations(loop)]
    lines = wrapped(legend, min(columns, _COLUMNS) - 2)
    return "\n".join([picture.text(), "", *(f"  {line}" for line in lines)])


_JOINT, _BORDER, _FEED, _CARRIER = "┼", "╋", "◆", "■"

_TURNED_OVER = str.maketrans("╭╮╰╯△▽", "╰╯╭╮▽△")

_MEANINGS = {
    _CARRIER: "carrier",
    _JOINT: "joint",
    _BORDER: "between two supplies",
    _FEED: "feed",
    "△": "station",
}


def _legend(signs: set[str]) -> list[str]:
    return [f"{sign} {meaning}" for sign, meaning in _MEANINGS.items() if sign in signs]


def _stations(loop: LoopPlan) -> list[str]:
    return [f"{k} {shortened(place.name)}" for k, place in enumerate(loop.stations, start=1)]


def shortened(name: str, longest: int = _LONGEST_NAME) -> str:
    """A name, cut with an ellipsis if it is too long for a plan.

    Examples
    --------
    >>> shortened("unload"), shortened("press the bearings into the housing", 12)
    ('unload', 'press the b…')
    """
    return name if len(name) <= longest else f"{name[: longest - 1]}…"


def wrapped(entries: Iterable[str], width: int) -> list[str]:
    """Entries in rows, none of them broken.

    Examples
    --------
    >>> wrapped(["1 load", "2 unload", "3 press"], 18)
    ['1 load   2 unload', '3 press']
    """
    rows: list[str] = []
    for entry in entries:
        if rows and len(rows[-1]) + 3 + len(entry) <= width:
            rows[-1] += f"   {entry}"
        else:
            rows.append(entry)
    return rows


class _Picture:
    """A sheet of characters with the loop on it.

    The straights are drawn to the scale of their length, the bends as half circles beside them.
    """

    def __init__(self, loop: LoopPlan, most_rows: int, width: int) -> None:
        self.loop = loop
        self.bend = 0.5 * loop.length_m - loop.straight_m
        self.width, drawn = width, width - _MARGIN
        scale = drawn / (loop.straight_m + loop.width_m)
        rows = round(loop.width_m * scale / _ASPECT)
        self.rows = max(2, min(rows, most_rows))
        self.radius = max(2, round(0.5 * loop.width_m * scale))
        self.columns = max(8, drawn - 2 * self.radius)
        labels = 2
        self.top, self.bottom = labels, labels + self.rows
        self.sheet = [[" "] * width for _ in range(self.rows + 2 * labels + 1)]
        self.signs: set[str] = set()

    def at(self, along: float) -> tuple[int, int]:
        """Row and column of a place along the guide, from the start of the front straight."""
        straight, along = self.loop.straight_m, along % self.loop.length_m
        if along <= straight:
            return self.bottom, self.radius + self._column(along)
        if along < straight + self.bend:
            return self._round((along - straight) / self.bend, right=True)
        if along <= 2.0 * straight + self.bend:
            left = 2.0 * straight + self.bend - along
            return self.top, self.radius + self._column(left)
        return self._round((along - 2.0 * straight - self.bend) / self.bend, right=False)

    def _column(self, along: float) -> int:
        return round(along / self.loop.straight_m * (self.columns - 1))

    def _round(self, share: float, *, right: bool) -> tuple[int, int]:
        """A place in a bend; the share of it counts from where the carriers enter."""
        level = 0.5 * (1.0 - cos(pi * (share if right else 1.0 - share)))
        row = self.bottom - round(level * self.rows)
        row = min(max(row, self.top + 1), self.bottom - 1)
        return row, self._edge(row, right=right)

    def _edge(self, row: int, *, right: bool) -> int:
        """Column of a bend on one row."""
        level = (self.bottom - row) / self.rows
        out = round(sqrt(max(0.0, 1.0 - (2.0 * level - 1.0) ** 2)) * (self.radius - 1))
        return self.radius + self.columns - 1 + out if right else self.radius - out

    def guide(self) -> None:
        """The guide centre line."""
        for column in range(self.columns):
            self.sheet[self.top][self.radius + column] = "─"
            self.sheet[self.bottom][self.radius + column] = "─"
        for right in (True, False):
            self._bend(right=right)

    def direction(self) -> None:
        """Inside each straight an arrow along the travel, beside the feeds."""
        for row, arrow in ((self.bottom - 1, "→"), (self.top + 1, "←")):
            middle = self.radius + self.columns // 2
            while self.sheet[row][middle] != " ":
                middle += 2
            self.sheet[row][middle] = arrow

    def _bend(self, *, right: bool) -> None:
        """A half circle: a line on each row between, and corners where it leaves the straights."""
        sides = {row: self._edge(row, right=right) for row in range(self.top + 1, self.bottom)}
        for row, column in sides.items():
            self.sheet[row][column] = "│"
        end = self.radius + self.columns if right else self.radius - 1
        for row, next_row, corner in (
            (self.top, self.top + 1, "╮" if right else "╭"),
            (self.bottom, self.bottom - 1, "╯" if right else "╰"),
        ):
            column = sides.get(next_row, end)
            for between in range(min(column, end), max(column, end) + 1):
                self.sheet[row][between] = "─"
            self.sheet[row][column] = corner

    def joints(self) -> None:
        """Joints between sections and at the ends of the bends."""
        for joint in self.loop.joints_m:
            self._draw(_JOINT, *self.at(joint))

    def supplies(self) -> None:
        """Where the sections of one supply end and those of the next begin."""
        if len(self.loop.supplies) > 1:
            for run in self.loop.supplies:
                self._draw(_BORDER, *self.at(run.from_m))

    def feeds(self) -> None:
        """Feeds inside the guide, beside the middle of the sections that carry them."""
        for feed in self.loop.feeds:
            row, column = self.at(feed.at_m)
            inward = 0 if self.top < row < self.bottom else 1 if row == self.top else -1
            if not inward:
                column += 2 if column < self.radius else -2
            self._draw(_FEED, row + inward, column)

    def carriers(self, places: Iterable[float]) -> None:
        """Carriers on the guide, as long as they are."""
        length = self.loop.carrier_m
        pieces = max(1, ceil(4.0 * length / self.loop.straight_m * self.columns))
        for place in places:
            for piece in range(pieces):
                along = place + ((piece + 0.5) / pieces - 0.5) * length
                self._draw(_CARRIER, *self.at(along))

    def _draw(self, sign: str, row: int, column: int) -> None:
        self.signs.add(sign)
        self.sheet[row][column] = sign

    def station(self, along: float, name: str) -> None:
        """A station outside the guide, its number on the row beyond."""
        row, column = self.at(along)
        outside = row + 1 if row == self.bottom else row - 1
        beyond = outside + 1 if row == self.bottom else outside - 1
        self._draw("△" if row == self.bottom else "▽", outside, column)
        self.signs.add("△")
        start = min(max(column - len(name) // 2, 0), max(self.width - len(name), 0))
        for offset, letter in enumerate(name):
            if self.sheet[beyond][start + offset] == " ":
                self.sheet[beyond][start + offset] = letter

    def text(self) -> str:
        """The sheet without what trails; the front straight of an upright loop is above."""
        lines = ["".join(row).rstrip() for row in self.sheet]
        if self.loop.plane == "upright":
            lines = [line.translate(_TURNED_OVER) for line in reversed(lines)]
        return "\n".join(lines).strip("\n")
