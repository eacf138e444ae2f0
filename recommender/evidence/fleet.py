"""Published production lines and event graphs: Little's law, bottleneck, batches, cycle means."""

from collections.abc import Callable

from recommender.evidence.entry import Mark, Published
from recommender.physics.cycle_mean import Edge, largest_cycle_mean
from recommender.physics.fleet import least_carriers, station_utilisation
from recommender.physics.takt import exact_takt

_HOPP = "W. J. Hopp and M. L. Spearman, Factory Physics, Irwin McGraw-Hill, chapter 7, "
_ONE = "Penny Fab One: four stations of 2 h, unlimited room between them"
_TWO = "Penny Fab Two: 1, 2, 6 and 2 machines that need 2, 5, 10 and 3 h"
_WIDE = 100.0  # spacings of room between stations, more than any of these lines fills


def _penny_fab_one(
    name: str,
    quantity: str,
    jobs: int,
    published: float,
    compute: Callable[[], float],
    *,
    covers: tuple[str, ...] = ("fleet.lap",),
    mark: Mark = Mark.TEXT,
    unit: str = "1/h",
) -> Published:
    return Published(
        id=f"fleet.penny-fab-one.{name}",
        covers=covers,
        quantity=quantity,
        inputs=f"{_ONE}; {jobs} jobs",
        source=_HOPP + "Penny Fab One",
        mark=mark,
        unit=unit,
        published=published,
        tolerance=1e-9,
        compute=compute,
    )


def _best_case(jobs: int, published: float) -> Published:
    return _penny_fab_one(
        f"throughput-{jobs}",
        "throughput in the best case",
        jobs,
        published,
        lambda: 1.0 / exact_takt([0.0] * 4, 2.0, 0.0, _WIDE, 1, jobs),
        covers=("fleet.lap", "station.exchange"),
    )


def _worst_case_takt() -> float:
    # All four jobs go from station to station together, and each waits for all to be worked on.
    return exact_takt([0.0] * 4, 4 * 2.0, 0.0, _WIDE, 4, 4)


def _penny_fab_two(station: int, published: float, tolerance: float) -> Published:
    hours, machines = [2.0, 5.0, 10.0, 3.0], [1, 2, 6, 2]
    return Published(
        id=f"fleet.penny-fab-two.rate-{station + 1}",
        covers=("station.exchange",),
        quantity=f"rate of station {station + 1}",
        inputs=_TWO,
        source=_HOPP + "Penny Fab Two",
        mark=Mark.TEXT,
        unit="1/h",
        published=published,
        tolerance=tolerance,
        compute=lambda: 1.0 / float(station_utilisation(hours, machines, 1.0)[station]),
    )


def _cycle_mean(
    name: str, matrix: tuple[tuple[float, float], tuple[float, float]], published: float
) -> Callable[..., Published]:
    edges = [
        Edge(source, target, weight, 1)
        for target, row in enumerate(matrix)
        for source, weight in enumerate(row)
    ]

    def entry(source: str, mark: Mark, note: str = "") -> Published:
        return Published(
            id=f"fleet.cycle-mean.{name}",
            covers=("fleet.lap", "fleet.places", "fleet.batch"),
            quantity="period of an event graph (eigenvalue of its max-plus matrix)",
            inputs=f"matrix {matrix}",
            source=source,
            mark=mark,
            unit="1",
            published=published,
            tolerance=1e-9,
            compute=lambda: largest_cycle_mean(2, edges),
            note=note,
        )

    return entry


ENTRIES: tuple[Published, ...] = (
    _penny_fab_one(
        "critical-work-in-process",
        "least work in process at the bottleneck's rate",
        4,
        4.0,
        lambda: float(least_carriers(8.0, [1, 1, 1, 1], 2.0, 2.0)),
        unit="1",
    ),
    _best_case(1, 0.125),
    _best_case(2, 0.25),
    _best_case(4, 0.5),
    _best_case(5, 0.5),
    _penny_fab_one(
        "cycle-time-5",
        "cycle time in the best case",
        5,
        10.0,
        lambda: 5 * exact_takt([0.0] * 4, 2.0, 0.0, _WIDE, 1, 5),
        unit="h",
    ),
    _penny_fab_one(
        "throughput-worst",
        "throughput in the worst case",
        4,
        0.125,
        lambda: 1.0 / _worst_case_takt(),
        covers=("fleet.batch",),
        mark=Mark.MEMORY,
    ),
    _penny_fab_one(
        "cycle-time-worst",
        "cycle time in the worst case",
        4,
        32.0,
        lambda: 4 * _worst_case_takt(),
        covers=("fleet.batch",),
        mark=Mark.MEMORY,
        unit="h",
    ),
    _penny_fab_two(0, 0.5, 1e-9),
    _penny_fab_two(1, 0.4, 1e-9),
    _penny_fab_two(2, 0.6, 1e-9),
    _penny_fab_two(3, 0.67, 0.005),
    Published(
        id="fleet.penny-fab-two.critical-work-in-process",
        covers=("fleet.lap",),
        quantity="least work in process at the bottleneck's rate of 0.4/h",
        inputs=_TWO + "; 20 h in all",
        source=_HOPP + "Penny Fab Two",
        mark=Mark.TEXT,
        unit="1",
        published=8.0,
        tolerance=1e-9,
        compute=lambda: float(least_carriers(20.0, 1, 2.5, [2.0, 2.5, 10 / 6, 1.5])),
    ),
    Published(
        id="fleet.little.panel-line",
        covers=("fleet.lap",),
        quantity="work in process by Little's law",
        inputs="34 days in process, 1400 panels a day",
        source=_HOPP + "the case of the large panel line",
        mark=Mark.TEXT,
        unit="1",
        published=47_600.0,
        tolerance=0.5,
        compute=lambda: float(least_carriers(34.0, 1, 1.0 / 1400.0, 0.0)),
    ),
    Published(
        id="fleet.guided-vehicles.number",
        covers=("fleet.lap",),
        quantity="vehicles needed on a loop",
        inputs=(
            "40 deliveries/h; loading 0.75 min, 110 m loaded, unloading 0.50 min, 80 m empty at "
            "50 m/min; availability 0.95, traffic factor 0.90"
        ),
        source=(
            "M. P. Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, "
            "3rd ed., Pearson, 2008, chapter 10, example of a guided vehicle system"
        ),
        mark=Mark.MEMORY,
        unit="1",
        published=4.0,
        tolerance=1e-9,
        compute=lambda: float(
            least_carriers(
                0.75 + 110.0 / 50.0 + 0.50 + 80.0 / 50.0,
                1,
                60.0 * 0.95 * 0.90 / 40.0,
                [0.75, 0.50],
            )
        ),
        note="3.94 before rounding up",
    ),
    _cycle_mean("two-machines", ((3.0, 7.0), (2.0, 4.0)), 4.5)(
        "F. Baccelli, G. Cohen, G. J. Olsder and J.-P. Quadrat, Synchronization and Linearity, "
        "Wiley, 1992, chapter 1, introductory example",
        Mark.COMPANION,
        "matrix and eigenvalue as a public max-plus library quotes them from the book",
    ),
    _cycle_mean("railway", ((2.0, 5.0), (3.0, 3.0)), 4.0)(
        "B. Heidergott, G. J. Olsder and J. van der Woude, Max Plus at Work, Princeton University "
        "Press, 2006, chapter 0, railway example",
        Mark.MEMORY,
    ),
)
