"""Time and memory of a proven choice against the size of the catalogue and of the loop.

Run it from a checkout or with the package installed::

    python tests/benchmarks/bench_scale.py [all]

Catalogues and enquiries are drawn at random around the demonstration catalogue, and decided as for
an answer, without its explanations. Times differ from machine to machine, so nothing is asserted:
read the ratios. The larger sizes are measured with `all` only; the goal for the largest is 10 s and
1.5 GB on two cores. The last column is the bound over the price: 100 % is proven to the cent.
"""

import resource
import sys
import time
from decimal import Decimal

import numpy as np

from recommender.choice.decision.decide import decide
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.catalogue_entries import Bend, Carrier, LowerRail, Supply
from recommender.inputs.files import shipped

# Carriers, bends, supplies, longest loop in metres, stations.
SMALL = ((10, 2, 3, 10.0, 3),)
LARGE = (
    (20, 2, 3, 20.0, 4),
    (60, 3, 5, 20.0, 4),
    (200, 6, 5, 20.0, 4),
    (400, 12, 10, 20.0, 4),
    (100, 6, 5, 60.0, 12),
    (400, 12, 10, 60.0, 12),
)


def money(amount: float) -> Decimal:
    return Decimal(round(100 * amount)) / 100


def carriers(catalogue: Catalogue, count: int, rng: np.random.Generator) -> tuple[Carrier, ...]:
    """Carriers of all families, each somewhat larger or smaller than one of the catalogue's."""
    found = []
    for number in range(count):
        model = catalogue.carrier[number % len(catalogue.carrier)]
        size, luck = rng.uniform(0.8, 1.4), rng.uniform(0.9, 1.1)
        coupling = model.coupling_distance and model.coupling_distance * size
        found.append(
            model.model_copy(
                update={
                    "id": f"{model.family}-{number}",
                    "price": money(float(model.price) * size**1.2 * luck),
                    "mass": model.mass * size**1.5,
                    "yaw_inertia": model.yaw_inertia * size**3.5,
                    "plate_length": model.plate_length * size,
                    "wheelbase": model.wheelbase * size,
                    "magnet_length": model.magnet_length * size,
                    "peak_force": model.peak_force * size,
                    "continuous_force": model.continuous_force * size,
                    "motor_constant": model.motor_constant * size**0.5,
                    "rated_payload": model.rated_payload * size,
                    "rated_roll_moment": model.rated_roll_moment * size**2,
                    "rated_pitch_moment": model.rated_pitch_moment * size**2,
                    "rated_yaw_moment": model.rated_yaw_moment * size**2,
                    "stiffness": model.stiffness * size**3,
                    "coupling_distance": coupling,
                }
            )
        )
    return tuple(found)


def bends(catalogue: Catalogue, count: int, rng: np.random.Generator) -> tuple[Bend, ...]:
    """Bends from narrow to wide, with and without transitions."""
    found = []
    for number, radius in enumerate(np.linspace(0.24, 0.62, count)):
        transition = 0.0 if number % 2 else round(float(rng.uniform(0.1, 0.2)), 3)
        length = np.pi * radius + transition
        found.append(
            catalogue.bend[0].model_copy(
                update={
                    "id": f"bend-{number}",
                    "radius": round(float(radius), 3),
                    "transition": transition,
                    "sections": int(np.ceil(length / 0.4)),
                    "price": money(2600.0 + 2700.0 * length + 3000.0 * transition),
                }
            )
        )
    return tuple(found)


def supplies(catalogue: Catalogue, count: int) -> tuple[Supply, ...]:
    """Supplies from small to large, somewhat cheaper by the watt."""
    return tuple(
        catalogue.supply[0].model_copy(
            update={
                "id": f"supply-{number}",
                "mean_power": float(power),
                "peak_power": float(3 * power),
                "max_sections": int(6 + power / 90.0),
                "price": money(40.0 + 12.0 * power**0.62),
            }
        )
        for number, power in enumerate(np.geomspace(300.0, 5000.0, count))
    )


def synthetic(variants: int, bend_kinds: int, supply_kinds: int, longest: float) -> Catalogue:
    """A catalogue of some size for loops up to some length, the same every time."""
    rng, model = np.random.default_rng(variants), read_catalogue(shipped("catalog"))
    drawn = bends(model, bend_kinds, rng)
    rails = tuple(
        LowerRail.model_construct(
            **{
                **dict(model.lower_rail[0]),
                "id": f"rail-{bend.id}",
                "along": bend.id,
                "price": money(300.0 + 350.0 * bend.radius),
            }
        )
        for bend in drawn
    )
    straights = {part.id for part in model.straight}
    return Catalogue.model_construct(
        **{
            **dict(model),
            "carrier": carriers(model, variants, rng),
            "bend": drawn,
            "supply": supplies(model, supply_kinds),
            "lower_rail": (*(r for r in model.lower_rail if r.along in straights), *rails),
            "rules": model.rules.model_copy(update={"longest_loop": longest}),
        }
    )


def long_case(stations: int, length: float, share: float) -> Case:
    """A line of stations whose distances take up a share of a loop of some length."""
    apart = share * length / stations
    return Case.model_validate(
        {
            "title": "Made-up line of many stations",
            "load": {
                "mass": "9 kg",
                "length": "250 mm",
                "width": "200 mm",
                "reach": "90 mm",
                "held": "clamped",
            },
            "rate": {"items": "20/min"},
            "loop": {"max_length": f"{length:.1f} m"},
            "station": [
                {
                    "name": f"step {k}",
                    "dwell": f"{0.8 + 0.1 * (k % 5):.1f} s",
                    "after": f"{apart:.2f} m",
                }
                for k in range(stations)
            ],
        }
    )


def main(sizes: tuple[tuple[int, int, int, float, int], ...]) -> None:
    print("carriers  bends  supplies  loop, m  stations       s     MB  working  proven")
    for apart in (0.6, 0.0):
        print("stations far apart" if apart else "stations as near as may be")
        for variants, bends, supplies, length, stations in sizes:
            catalogue = synthetic(variants, bends, supplies, length)
            case = long_case(stations, length, apart)
            began = time.perf_counter()
            found = decide(case, catalogue)
            took = time.perf_counter() - began
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            proven = f"{found.bound / found.price:.2%}" if found.chosen else "-"
            working = sum(looked.feasible for looked in found.looked)
            print(
                f"{variants:8}  {bends:5}  {supplies:8}  {length:7.0f}  {stations:8}"
                f"  {took:6.2f}  {memory:5.0f}  {working:7}  {proven}",
                flush=True,
            )


if __name__ == "__main__":
    main(SMALL + LARGE if sys.argv[1:] == ["all"] else SMALL)
