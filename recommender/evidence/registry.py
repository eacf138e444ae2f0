"""All evidence by section: published values, and comparisons with libraries and simulations."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from recommender.evidence import (
    bearing_life,
    bearings,
    braking,
    drive,
    fleet,
    load_limits,
    loads,
    loop,
    motion,
    rollers,
    thermal,
)
from recommender.evidence.entry import Published

PUBLISHED: Final[dict[str, tuple[Published, ...]]] = {
    "motion": motion.ENTRIES,
    "loads": loads.ENTRIES,
    "rollers": rollers.ENTRIES,
    "bearings": bearings.ENTRIES,
    "bearing-life": bearing_life.ENTRIES,
    "drive": drive.ENTRIES,
    "braking": braking.ENTRIES,
    "load-limits": load_limits.ENTRIES,
    "loop": loop.ENTRIES,
    "fleet": fleet.ENTRIES,
    "thermal": thermal.ENTRIES,
}


@dataclass(frozen=True)
class Comparison:
    """A test that compares a function of ours with a library, a simulation or plain enumeration.

    ``test`` is the file below ``tests``; the comparison runs there and not in the command.
    """

    id: str
    against: str
    what: str
    test: str


COMPARISONS: Final = {
    entry.id: entry
    for entry in (
        Comparison(
            "legs-against-ruckig",
            "ruckig",
            "time and feasibility of 20,000 random jerk-limited legs",
            "evidence/test_motion_against_ruckig.py",
        ),
        Comparison(
            "rollers-against-springs",
            "scipy",
            "roller loads of 2,000 random wrenches, by push-only preloaded springs",
            "evidence/test_rollers_against_springs.py",
        ),
        Comparison(
            "bend-entry-against-integration",
            "numpy and scipy",
            "yaw acceleration and drive force at the ends of bends, along the true path",
            "evidence/test_bend_entry_against_simulation.py",
        ),
        Comparison(
            "bend-ends-against-driving",
            "numpy and scipy",
            "drive force and roller loads of 240 random bodies driven and stopped at bend ends",
            "evidence/test_bend_end_stops_against_simulation.py",
        ),
        Comparison(
            "bend-fit-against-geometry",
            "scipy",
            "fit of rollers in 125 bends cut for a wheelbase, by the angles at both axles",
            "evidence/test_bend_fit_against_geometry.py",
        ),
        Comparison(
            "bend-motor-against-integration",
            "numpy",
            "force of 200 flat magnets over curved windings, by the integral over both faces",
            "evidence/test_bend_motor_against_integration.py",
        ),
        Comparison(
            "standing-against-energy",
            "numpy",
            "force that holds random bodies anywhere in upright bends, by differences of height",
            "evidence/test_standing_against_energy.py",
        ),
        Comparison(
            "bus-against-network",
            "numpy",
            "voltage at the farthest section, by solving the bus as a network of resistors",
            "evidence/test_bus_against_network.py",
        ),
        Comparison(
            "handover-against-events",
            "simpy",
            "whether 260 random lines with a direct handover keep their rhythm, by discrete events",
            "evidence/test_handover_against_events.py",
        ),
        Comparison(
            "bend-jerk-against-differences",
            "numpy and scipy",
            "jerk of loads at the ends of bends, by differences along the true path",
            "evidence/test_bend_jerk_against_differences.py",
        ),
        Comparison(
            "loads-against-first-principles",
            "numpy",
            "inertial wrench of a body whose motion is differentiated numerically",
            "evidence/test_loads_first_principles.py",
        ),
        Comparison(
            "heat-against-time-domain",
            "numpy",
            "winding heat over laps in steps of 10 microseconds, single and pair",
            "evidence/test_heat_against_simulation.py",
        ),
        Comparison(
            "supply-against-time-domain",
            "numpy",
            "mean and peak power of fleets, with and without queues and batches",
            "evidence/test_supply_against_simulation.py",
        ),
        Comparison(
            "braking-against-time-domain",
            "numpy and scipy",
            "braking power over all forces; braked energy of random laps; way of random stops",
            "evidence/test_braking_against_simulation.py",
        ),
        Comparison(
            "slosh-against-pendulum",
            "scipy and ruckig",
            "response of the equivalent pendulum to whole moves",
            "evidence/test_slosh_against_pendulum.py",
        ),
        Comparison(
            "slosh-over-laps",
            "numpy and scipy",
            "waves of damped sloshing modes over many laps; friction at the walls by quadrature",
            "evidence/test_slosh_over_laps.py",
        ),
        Comparison(
            "settling-against-oscillator",
            "numpy and scipy",
            "swing of a loaded carrier on its stiffness after random moves, and its lever",
            "evidence/test_settling_against_oscillator.py",
        ),
        Comparison(
            "slip-and-tip-against-statics",
            "numpy",
            "friction field under a yawing load; moments about an edge; pushes of a nest",
            "evidence/test_slip_tip_first_principles.py",
        ),
        Comparison(
            "bend-against-fresnel",
            "scipy",
            "length, width and room of bends with curvature transitions",
            "evidence/test_bend_geometry.py",
        ),
        Comparison(
            "sweep-against-tracing",
            "scipy",
            "floor across and along the loop, by tracing 400 random bodies through their bends",
            "evidence/test_sweep_against_tracing.py",
        ),
        Comparison(
            "rate-against-events",
            "simpy",
            "takt, lap and waiting of random loops with batch stations, by discrete events",
            "evidence/test_rate_against_events.py",
        ),
        Comparison(
            "choice-against-model",
            "ortools, and scipy (HiGHS) behind it",
            "price of worked cases, by a model of parts that agrees with integer programming",
            "choice/test_choice_against_model.py",
        ),
        Comparison(
            "layout-against-milp",
            "scipy (HiGHS)",
            "places of stations and orders of sections of random loops, by integer programming",
            "evidence/test_layout_against_milp.py",
        ),
        Comparison(
            "feeding-against-milp",
            "scipy (HiGHS)",
            "price of supplies, feeds and controller of random rings, by integer programming",
            "evidence/test_feeding_against_milp.py",
        ),
        Comparison(
            "choice-against-enumeration",
            "numpy",
            "price of every worked case, by enumeration of all settings, loops and supplies",
            "choice/test_exhaustive.py",
        ),
        Comparison(
            "feeding-against-enumeration",
            "numpy",
            "supplies, their runs and feeds of random small loops, by trying every division",
            "choice/test_feeding.py",
        ),
        Comparison(
            "ratings-against-catalogue",
            "plain arithmetic",
            "ratings, sizes and lead times of the catalogue, on either side of their limits",
            "choice/test_ratings.py",
        ),
    )
}


def published() -> Iterator[Published]:
    """Every published value, section by section."""
    for entries in PUBLISHED.values():
        yield from entries


def names() -> frozenset[str]:
    """Everything that a check may name as its evidence."""
    return frozenset(PUBLISHED) | frozenset(COMPARISONS)
