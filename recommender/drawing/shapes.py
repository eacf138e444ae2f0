"""What a drawing is made of, in metres; x to the right, y upward. Writers turn it into files."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import cos, radians, sin
from typing import Literal, TypeAlias

Place: TypeAlias = tuple[float, float]
Anchor: TypeAlias = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Stroke:
    """A line through places, or the closed outline of a filled area."""

    layer: str
    places: tuple[Place, ...]
    closed: bool = False


@dataclass(frozen=True)
class Bow:
    """An arc round a centre, anticlockwise from one angle to another, degrees."""

    layer: str
    centre: Place
    radius: float
    start: float
    end: float

    def place(self, angle: Literal["start", "end"]) -> Place:
        """Where it begins or ends."""
        turned = radians(self.start if angle == "start" else self.end)
        x, y = self.centre
        return x + self.radius * cos(turned), y + self.radius * sin(turned)


@dataclass(frozen=True)
class Label:
    """A line of text, ``place`` at the middle of its height."""

    layer: str
    place: Place
    text: str
    size: float
    anchor: Anchor = "middle"


@dataclass(frozen=True)
class Dimension:
    """A distance between two places, measured ``along`` x or y, its line ``at`` the other one."""

    layer: str
    first: Place
    second: Place
    along: Literal["x", "y"]
    at: float
    text: str
    size: float

    @property
    def ends(self) -> tuple[Place, Place]:
        """The two ends of its line."""
        if self.along == "x":
            return (self.first[0], self.at), (self.second[0], self.at)
        return (self.at, self.first[1]), (self.at, self.second[1])


Shape: TypeAlias = Stroke | Bow | Label | Dimension


@dataclass(frozen=True)
class Drawing:
    """Shapes, what they show in a line and in a sentence or two, and the room that they take."""

    title: str
    description: str
    shapes: tuple[Shape, ...]
    least: Place
    most: Place
    layers: tuple[str, ...] = field(default=())

    def on(self, layer: str) -> Iterator[Shape]:
        """The shapes of one layer."""
        return (shape for shape in self.shapes if shape.layer == layer)
