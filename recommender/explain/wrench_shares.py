"""What each part of a loaded carrier contributes to the loads of its guide in one load case.

A wrench is linear in weight and in each kind of acceleration, so it is worked out once for each
part and cause, the others left out; the shares add up to the whole.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from recommender.choice.carrier.bodies import PARTS
from recommender.choice.carrier.directions import Direction
from recommender.choice.carrier.load_cases import DRAGGED, CaseLoads, first_turn, truck_angle
from recommender.choice.carrier.setting import LoadTable
from recommender.explain.scene import Scene
from recommender.physics.constants import Array
from recommender.physics.loads import drive_force_wrench, force_wrench, inertial_wrench
from recommender.physics.turning import entry_radius

COMPONENTS = (
    "force along the guide",
    "lateral force",
    "vertical force",
    "roll moment",
    "pitch moment",
    "yaw moment",
)
WEIGHT, SPEEDING, ROUND, YAW = "weight", "change of speed", "way round the bend", "yaw"
FIRST_ROUND = "first way round the bend"
_NOTHING = np.zeros(3)


@dataclass(frozen=True)
class LoadCase:
    """One load case of a scene: its direction, and where it stands among the load cases."""

    direction: Direction
    table: LoadTable
    column: int

    @property
    def loads(self) -> CaseLoads:
        """All load cases of its kind."""
        return self.table.loads


def load_case(scene: Scene, direction: Direction | None) -> LoadCase | None:
    """Where a load case stands among those of a scene; ``None`` if it is none of them."""
    for table in (scene.straight, scene.bend):
        for number, known in enumerate(table.loads.directions):
            if known == direction:
                return LoadCase(known, table, number)
    return None


def wrench_shares(case: LoadCase) -> dict[tuple[str, str], Array]:
    """Wrench at the datum, (6,), by part and cause; those of the drive and the process too."""
    return {key: wrench for key, wrench in _shares(case) if np.any(wrench)}


def _shares(case: LoadCase) -> Iterator[tuple[tuple[str, str], Array]]:
    batch, loads, k = case.loads.batch, case.loads, case.column
    motion = _motion(case)
    gravity = np.array(case.direction.gravity)
    for cause, given in (
        (WEIGHT, {"gravity": gravity}),
        (SPEEDING, {"along": motion["along"]}),
        (ROUND, {"yaw_rate": motion["yaw_rate"], "radius": motion["radius"]}),
        (YAW, {"yaw_acceleration": motion["yaw_acceleration"]}),
    ):
        wrenches = inertial_wrench(
            batch.part_mass[0, 0, 0],
            batch.part_centre[0, 0, 0],
            batch.part_inertia[0, 0, 0],
            **{"gravity": _NOTHING, **given},
        )
        for part, wrench in zip(PARTS, wrenches, strict=True):
            yield (part, cause), wrench
    if case.direction.kind.startswith("emergency ") and not case.direction.turning:
        for part, wrench in zip(PARTS, first_turn(batch, loads.speed)[0, 0, 0], strict=True):
            yield (part, FIRST_ROUND), wrench
    carrier = batch.options[0].carrier
    line_y, line_z = carrier.drive_line
    drag = carrier.drag if case.direction.kind in DRAGGED else 0.0
    thrust = float(loads.thrust[0, 0, k]) + drag
    yield ("drive", "force"), drive_force_wrench(thrust, line_y, line_z)
    pull = [0.0, 0.0, -carrier.attraction]
    yield ("magnets", "attraction"), force_wrench(pull, [0.0, line_y, line_z])
    process = force_wrench(list(case.direction.force), batch.part_centre[0, 0, 0, -1])
    yield ("process", "force"), process


def _motion(case: LoadCase) -> dict[str, Array | float]:
    """What the carrier does in a load case, taken back from the accelerations of its load."""
    batch, loads, k = case.loads.batch, case.loads, case.column
    load = batch.case.load
    alpha = float(loads.yaw_acceleration[0, 0, k])
    radius = float(batch.radius[0, 0])
    omega = float(loads.speed[0, 0]) / radius if case.direction.turning else 0.0
    foremost = load.offset + float(batch.item_offset[0, 0])
    along = float(loads.load_x[0, 0, k, 0]) - alpha * load.reach + omega**2 * foremost
    path = radius * np.cos(float(truck_angle(batch)[0, 0]))
    reach = batch.part_centre[0, 0, 0, :, 1]
    entering = case.direction.kind.removeprefix("emergency ") in ("entering", "leaving")
    return {
        "along": along,
        "yaw_rate": omega,
        "yaw_acceleration": alpha,
        "radius": entry_radius(path, reach) if entering else np.full(len(PARTS), path),
    }


def governing_component(scene: Scene, shares: Sequence[Array]) -> int:
    """Which component of the wrench loads the rollers most, by its share of a single roller."""
    whole = np.abs(np.sum(shares, axis=0))
    carrier = scene.configuration.option.carrier
    base = scene.configuration.option.base
    trucks = 2.0 if carrier.coupling_distance else 1.0
    roll = carrier.guide_depth or carrier.gauge
    levers = np.array(
        [0.0, 0.25 / trucks, 0.25 / trucks, 0.5 / (trucks * roll), 0.5 / base, 0.5 / base]
    )
    return int(np.argmax(whole * levers))
