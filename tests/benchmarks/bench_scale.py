"""Time and memory of a proven choice against the size of the catalogue and of the loop.

Run it from a checkout or with the package installed::

    python tests/benchmarks/bench_scale.py

Catalogues and enquiries are drawn at random around the demonstration catalogue. Times differ from
machine to machine, so nothing is asserted: read the ratios. The goal for the largest is 10 s and
1.5 GB on two cores.
"""

import resource
import time

from synthetic import long_case, synthetic

from recommender.choice.grid import Grid
from recommender.choice.many import cheapest_of_many

# Carriers, bends, supplies, longest loop in metres, stations.
SIZES = (
    (50, 3, 3, 20.0, 4),
    (400, 12, 10, 20.0, 4),
    (100, 6, 5, 60.0, 12),
    (400, 12, 10, 60.0, 12),
)
# Some 1,000 settings for each option.
GRID = Grid(accelerations=8, speeds=6, bend_speeds=10)


def main() -> None:
    print("carriers  bends  supplies  loop, m  stations      s     MB  proven")
    for apart in (0.6, 0.0):
        print("stations far apart" if apart else "stations as near as may be")
        for variants, bends, supplies, length, stations in SIZES:
            catalogue = synthetic(variants, bends, supplies, length)
            case = long_case(stations, length, apart)
            began = time.perf_counter()
            found = cheapest_of_many(case, catalogue, GRID)
            took = time.perf_counter() - began
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            proven = "-" if found is None else f"{found.bound / found.price:.2%}"
            print(
                f"{variants:8}  {bends:5}  {supplies:8}  {length:7.0f}  {stations:8}"
                f"  {took:5.2f}  {memory:5.0f}  {proven}"
            )


if __name__ == "__main__":
    main()
