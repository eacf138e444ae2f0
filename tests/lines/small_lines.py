"""Small random lines over a cut-down catalogue with prices of its own, so that sharing decides."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from recommender.inputs.catalogue import Catalogue
from recommender.lines.model import Line
from recommender.lines.reading import make_line
from tests.conftest import shipped_catalogue, without_memory

CARRIERS = ("std-68", "std-92", "std-116", "lm-128", "lm-176")


@dataclass(frozen=True)
class Small:
    """A line and its catalogue."""

    line: Line
    catalogue: Catalogue


def money(value: float) -> Decimal:
    return Decimal(round(value)).quantize(Decimal("0.01"))


def small_catalogue(rng: np.random.Generator) -> Catalogue:
    """Three carriers on one bend, supplies about as strong as a loop draws, small controllers."""
    whole, draw = shipped_catalogue(), rng.integers
    ids = set(rng.choice(CARRIERS, size=3, replace=False).tolist())
    supplies = tuple(
        part.model_copy(
            update={
                "mean_power": float(mean),
                "peak_power": float(mean * draw(13, 20) / 10),
                "max_sections": int(draw(8, 25)),
                "price": money(draw(300, 1_800)),
            }
        )
        for part, mean in zip(whole.supply[:2], draw(50, 160, size=2), strict=True)
    )
    controllers = tuple(
        part.model_copy(
            update={
                "max_carriers": int(carriers),
                "max_sections": 60,
                "price": money(price),
            }
        )
        for part, carriers, price in zip(
            whole.controller, (draw(3, 7), draw(7, 12), 80), (1_500, 3_200, 6_000), strict=True
        )
    )
    lines = tuple(
        line.model_copy(update={"price": money(draw(0, 2_000))})
        if line.id in ("spare-v-22", "spare-v-28")
        else line
        for line in whole.order_line
    )
    return without_memory(
        whole,
        carrier=tuple(part for part in whole.carrier if part.id in ids),
        bend=whole.bend[:1],
        straight=whole.straight[:2],
        supply=supplies,
        controller=controllers,
        order_line=lines,
    )


def small_line(seed: int, loops: int = 2) -> Small:
    rng = np.random.default_rng(seed)
    draw = rng.integers
    entries = []
    for number in range(loops):
        rate = {"items": f"{draw(12, 45)}/min"} if not number else {}
        heavy = number > 0
        entries.append(
            {
                "name": f"loop{number}",
                "load": {
                    "mass": f"{draw(30, 90) / 10 if heavy else draw(5, 25) / 10} kg",
                    "length": f"{draw(8, 30)} cm",
                    "width": f"{draw(8, 25)} cm",
                    "cg_height": "60 mm",
                    "held": "clamped",
                },
                "rate": rate,
                "loop": {"max_length": f"{draw(32, 42) / 10} m"},
                "station": [
                    {"name": "in", "dwell": f"{draw(2, 9) / 10} s"},
                    {"name": "out", "dwell": f"{draw(2, 9) / 10} s"},
                ],
            }
        )
    handovers = [
        {
            "from": f"loop{number}.out",
            "to": f"loop{number + 1}.in",
            "items": int(draw(1, 4)),
            "between": "buffer",
        }
        for number in range(loops - 1)
    ]
    data = {
        "title": "A small line",
        "spares": {"carriers": int(draw(0, 3)), "supplies": int(draw(0, 2))},
        "line": entries,
        "handover": handovers,
    }
    return Small(make_line(data, f"line {seed}"), small_catalogue(rng))
