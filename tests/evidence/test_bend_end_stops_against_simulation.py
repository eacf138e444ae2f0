"""The ends of bends against bodies that are driven along the true path, braking in full included.

Straight, clothoid (Fresnel integrals of scipy), arc. The two guided points keep their distance;
positions of the body's parts are differentiated along the guide, and at each place Newton's law
gives the drive's force at constant speed, or the deceleration under its full force, and the wrench
on the guide. Nothing of the product's formulas for yaw acceleration, apparent mass or drive force
is used. Rollers are loaded by the product's own functions on both sides.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.special import fresnel

from recommender.choice.carrier.bend_fit import case_preload
from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.directions import turning_directions
from recommender.choice.carrier.load_cases import CaseLoads, _roller_loads, bend_loads, truck_angle
from recommender.choice.parts.options import Option, list_options
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.bearings import static_equivalent_load
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.physics.loads import drive_force_wrench

PLACES = 241


def guide(along: Array, radius: float, transition: float) -> tuple[Array, Array, Array]:
    """Position and heading where a bend begins at length 0."""
    on_spiral = np.clip(along, 0.0, transition)
    x, y, heading = np.minimum(along, 0.0), np.zeros_like(along), np.zeros_like(along)
    if transition > 0:
        scale = np.sqrt(np.pi * radius * transition)
        sine, cosine = fresnel(on_spiral / scale)
        x, y = x + scale * cosine, y - scale * sine
        heading = -(on_spiral**2) / (2 * radius * transition)
    turned = heading - np.maximum(along - transition, 0.0) / radius
    x = x + radius * (np.sin(heading) - np.sin(turned))
    return x, y + radius * (np.cos(turned) - np.cos(heading)), turned


class Chord:
    """A body on two points of the guide: datum and heading by the mean length of the points."""

    def __init__(self, radius: float, transition: float, base: float) -> None:
        self.mean = np.linspace(-0.7 * base, transition + 0.9 * base, PLACES)
        apart = np.full(PLACES, base)
        for _ in range(60):
            front = guide(self.mean + apart / 2, radius, transition)
            rear = guide(self.mean - apart / 2, radius, transition)
            across, along = front[1] - rear[1], front[0] - rear[0]
            angle = np.arctan2(across, along)
            slope = (np.cos(front[2] - angle) + np.cos(rear[2] - angle)) / 2
            step = (np.hypot(along, across) - base) / slope
            apart -= step
        self.step = self.mean[1] - self.mean[0]
        self.heading = np.unwrap(angle)
        self.datum = (front[0] + rear[0]) / 2, (front[1] + rear[1]) / 2
        self.askew = (front[2] - angle)[1:-1], (rear[2] - angle)[1:-1]
        self.base = base

    def derivatives(self, values: Array) -> tuple[Array, Array]:
        """By the mean length, at all places but the first and the last."""
        return (values[2:] - values[:-2]) / (2 * self.step), np.diff(values, 2) / self.step**2


@dataclass(frozen=True)
class End:
    """One end of a bend: which way it is passed, and how the loop stands there.

    Leaving is entering run backwards, seen in a mirror: x changes its sign and with it F_x, M_y and
    M_z. ``start`` is the carrier's turn from the upper run on the straight beside it, in rad,
    ``None`` on a flat loop.
    """

    leaving: bool
    start: float | None

    @property
    def way(self) -> float:
        return -1.0 if self.leaving else 1.0

    def weight(self, heading: Array) -> Array:
        """Acceleration of free fall in the body's frame on the way in."""
        down = np.zeros((len(heading), 3))
        if self.start is None:
            down[:, 2] = -STANDARD_GRAVITY
        else:
            turn = self.start - self.way * heading
            down[:, 0] = self.way * STANDARD_GRAVITY * np.sin(turn)
            down[:, 1] = -STANDARD_GRAVITY * np.cos(turn)
        return down


MIRROR = np.array([-1.0, 1.0, 1.0, 1.0, -1.0, -1.0])


def motion(batch: Batch, chord: Chord, end: End, speed: float) -> tuple[Array, Array]:
    """Wrench of all parts at constant speed, and that of 1 m/s² along the guide besides."""
    angle = chord.heading[1:-1]
    along = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    out = np.stack([-np.sin(angle), np.cos(angle)], axis=-1)
    turn, curl = chord.derivatives(chord.heading)
    sine, cosine = np.sin(chord.heading), np.cos(chord.heading)
    wrenches = np.zeros((2, len(angle), 6))
    for mass, centre, inertia in zip(
        batch.part_mass[0, 0, 0],
        batch.part_centre[0, 0, 0],
        batch.part_inertia[0, 0, 0],
        strict=True,
    ):
        x, y, z = end.way * centre[0], centre[1], centre[2]
        path = (
            chord.datum[0] + x * cosine - y * sine,
            chord.datum[1] + x * sine + y * cosine,
        )
        by_length = [chord.derivatives(value) for value in path]
        rate = np.stack([first for first, _ in by_length], axis=-1)
        bent = np.stack([second for _, second in by_length], axis=-1) * speed**2
        for wrench, moved, yaw, fall in (
            (wrenches[0], bent, curl * speed**2, end.weight(angle)),
            (wrenches[1], rate, turn, np.zeros((len(angle), 3))),
        ):
            force = mass * fall
            force[:, 0] -= mass * (moved * along).sum(axis=-1)
            force[:, 1] -= mass * (moved * out).sum(axis=-1)
            couple = np.zeros_like(force)
            couple[:, 2] = inertia * yaw
            wrench[:] += np.hstack([force, np.cross(np.array([x, y, z]), force) - couple])
    return wrenches[0], wrenches[1]


def solved(
    batch: Batch, chord: Chord, end: End, speed: float, thrust: float | None
) -> tuple[Array, Array, Array]:
    """Wrench on the guide and the drive, force of the drive, and yaw acceleration at each place.

    ``thrust`` is the drive's force in the direction of travel; ``None`` for the one that keeps the
    speed, no drag to be overcome. Unknown are the forces square to the guide at the two points, and
    the acceleration along the guide or the drive's force.
    """
    fixed, per_rate = motion(batch, chord, end, speed)
    carrier = batch.options[0].carrier
    half, places = chord.base / 2, len(fixed)
    system, known = np.zeros((places, 3, 3)), -fixed[:, [0, 1, 5]]
    driven = np.zeros((places, 3))
    for column, (askew, lever) in enumerate(zip(chord.askew, (half, -half), strict=True)):
        sine, cosine = np.sin(askew), np.cos(askew)
        system[:, :, column] = np.stack([-sine, cosine, lever * cosine], axis=-1)
        tangent = np.stack([cosine, sine, lever * sine], axis=-1)
        if thrust is not None:
            known += 0.5 * end.way * carrier.drag * tangent
        if batch.is_pair:
            own = np.stack([cosine, sine, lever * sine - carrier.drive_line[0]], axis=-1)
            driven += 0.5 * own
    if not batch.is_pair:
        driven[:] = [1.0, 0.0, -carrier.drive_line[0]]
    system[:, :, 2] = driven if thrust is None else per_rate[:, [0, 1, 5]]
    if thrust is not None:
        known -= end.way * thrust * driven
    found = np.linalg.solve(system, known[..., None])[:, 2, 0]
    rate = np.zeros(places) if thrust is None else found
    force = end.way * found if thrust is None else np.full(places, thrust)
    turn, curl = chord.derivatives(chord.heading)
    yaw = -end.way * (curl * speed**2 + turn * rate)
    wrench = fixed + per_rate * rate[:, None]
    return wrench * MIRROR if end.leaving else wrench, force, yaw


def random_batches(catalogue: Catalogue, plane: str, count: int, seed: int) -> Iterator[Batch]:
    rng = np.random.default_rng(seed)
    while count:
        case = make_case(
            {
                "load": {
                    "mass": f"{rng.uniform(1.0, 40.0)} kg",
                    "length": f"{rng.uniform(0.08, 0.6)} m",
                    "width": f"{rng.uniform(0.08, 0.4)} m",
                    "reach": f"{rng.uniform(-0.1, 0.4)} m",
                    "offset": f"{rng.choice([0.0, rng.uniform(-0.1, 0.1)])} m",
                    "cg_height": f"{rng.uniform(0.02, 0.3)} m",
                    "held": "clamped",
                },
                "tooling": {"mass": f"{rng.uniform(0.0, 3.0)} kg"},
                "rate": {"items": "10/min"},
                "loop": {"plane": plane},
            },
            "test",
        )
        options = [o for o in list_options(case, catalogue) if fits(o, case.load.mass)]
        if options:
            yield Batch((options[rng.integers(len(options))],), case, catalogue.rules)
            count -= 1


def fits(option: Option, mass: float) -> bool:
    return mass < option.carrier.rated_payload and option.base <= option.bend.radius


def ends(plane: str) -> list[End]:
    starts = [None] if plane == "flat" else [0.0, np.pi]
    return [End(leaving, start) for start in starts for leaving in (False, True)]


def worst_roller(loads: CaseLoads, kinds: tuple[str, ...]) -> float:
    rollers, columns = loads.rollers, loads.of_kind(*kinds)
    return equivalent(loads.batch, rollers.radial[..., columns, :], rollers.axial[..., columns, :])


def equivalent(batch: Batch, radial: Array, axial: Array) -> float:
    angle = batch.options[0].roller.contact_angle
    return float(static_equivalent_load(radial, axial, angle).max())


def simulated_roller(batch: Batch, chord: Chord, end: End, speed: float) -> float:
    thrust = -float(batch.peak_force[0, 0])
    wrench, force, yaw = solved(batch, chord, end, speed, thrust)
    line_y, line_z = batch.options[0].carrier.drive_line
    drive = drive_force_wrench(force, line_y, line_z)
    preload = case_preload(batch, turning_directions(batch.case)).max(axis=-1, keepdims=True)
    rollers = _roller_loads(
        batch, wrench[None, None], drive[None, None], truck_angle(batch), yaw[None, None], preload
    )
    return equivalent(batch, rollers.radial, rollers.axial)


BEND_CASES = ("turning", "entering", "leaving", "emergency turning")
END_STOPS = ("emergency entering", "emergency leaving")


@dataclass(frozen=True)
class Passed:
    """A random body through the ends of its bend: simulated, and by the load cases."""

    batch: Batch
    roller: float
    bound: float
    without_end_stops: float
    force: float
    force_bound: float


@pytest.fixture(scope="module", params=["flat", "upright"], ids=["lying", "standing"])
def passed(request: pytest.FixtureRequest, catalogue: Catalogue) -> list[Passed]:
    """At 0.5 to 1 times the bend speed at which the drive's force is used up."""
    rng = np.random.default_rng(5)
    found = []
    for batch in random_batches(catalogue, request.param, 120, 3):
        option, speeds = batch.options[0], np.linspace(0.1, 3.0, 30)
        tried = bend_loads(batch, speeds[None])
        asked = np.abs(tried.thrust[0][:, tried.of_kind("entering", "leaving")]).max(axis=-1)
        able = speeds[batch.rules.drive_margin * asked < batch.peak_force[0, 0]]
        if not len(able):
            continue
        speed = float(able[-1] * rng.uniform(0.5, 1.0))
        loads = bend_loads(batch, np.array([[speed]]))
        chord = Chord(option.bend.radius, option.bend.transition, option.base)
        passes = ends(request.param)
        moving = np.abs(loads.thrust[0, 0, loads.of_kind("turning", "entering", "leaving")])
        found.append(
            Passed(
                batch,
                max(simulated_roller(batch, chord, end, speed) for end in passes),
                worst_roller(loads, (*BEND_CASES, *END_STOPS)),
                worst_roller(loads, BEND_CASES),
                max(np.abs(solved(batch, chord, end, speed, None)[1]).max() for end in passes),
                float(moving.max()),
            )
        )
    return found


def test_no_stop_at_the_end_of_a_bend_loads_a_roller_more_than_the_load_cases(
    passed: list[Passed],
) -> None:
    ratios = [body.roller / body.bound for body in passed]
    assert len(ratios) > 100
    assert max(ratios) < 1.005
    # Not only safe: most are within a fifth.
    assert np.median(ratios) > 0.8


def test_stops_at_the_ends_are_not_to_be_left_out(passed: list[Passed]) -> None:
    """Without them the worst roller of one body in three or more bears up to a quarter more."""
    ratios = np.array([body.roller / body.without_end_stops for body in passed])
    assert np.mean(ratios > 1.0) > 0.3
    assert ratios.max() > 1.25


def test_no_end_of_a_bend_asks_for_more_drive_force_than_is_counted(passed: list[Passed]) -> None:
    ratios = [body.force / body.force_bound for body in passed]
    assert max(ratios) < 1.0005
    assert max(ratios) > 0.9


def test_the_lever_of_the_drive_line_is_not_to_be_left_out(catalogue: Catalogue) -> None:
    """A body that reaches out: by the force at the guide line alone a drive may be too weak."""
    short = 0
    for batch in random_batches(catalogue, "flat", 150, 9):
        option = batch.options[0]
        if batch.is_pair or batch.case.load.offset or batch.case.load.reach < 0.05:
            continue
        chord = Chord(option.bend.radius, option.bend.transition, option.base)
        force = np.abs(solved(batch, chord, End(False, None), 1.0, None)[1]).max()
        loads = bend_loads(batch, np.array([[1.0]]))
        bound = np.abs(loads.thrust[0, 0, loads.of_kind("entering", "leaving")]).max()
        lever = 1.0 + option.carrier.drive_line[0] / option.bend.radius
        assert force <= 1.0005 * bound
        short += force > 1.02 * lever * bound
    assert short >= 3
