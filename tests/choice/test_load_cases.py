"""Load cases of carriers: gravity, sums of forces, and one option cut out of many."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier import load_cases
from recommender.choice.carrier.bodies import Batch, batches
from recommender.choice.carrier.directions import straight_directions, turning_directions
from recommender.choice.carrier.load_cases import CaseLoads, bend_loads, straight_loads
from recommender.choice.parts.options import Option, list_options
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.physics.pair import soft_platform_share
from recommender.physics.turning import entry_yaw_acceleration, upright_bend_peak_drive_force

STEP = np.radians(15.0)


def case_of(plane: str = "flat", **load: Any) -> Case:
    return make_case(
        {
            "load": {"mass": "4 kg", "reach": "90 mm", "held": "clamped", **load},
            "tooling": {"mass": "700 g", "reach": "60 mm"},
            "rate": {"items": "20/min", "per_carrier": [1, 2]},
            "loop": {"plane": plane},
            "station": [
                {"name": "load", "dwell": "1 s"},
                {"name": "press", "dwell": "1 s", "force": ["10 N", "-60 N", "-25 N"]},
            ],
        },
        "test",
    )


def one(id_: str, case: Case, catalogue: Catalogue) -> Batch:
    option = next(o for o in list_options(case, catalogue) if o.id == id_)
    return Batch((option,), case, catalogue.rules)


def on_straights(batch: Batch, *accelerations: float) -> CaseLoads:
    count = len(batch.options)
    return straight_loads(batch, np.tile(np.array(accelerations), (count, 1)))


def in_bends(batch: Batch, *speeds: float) -> CaseLoads:
    return bend_loads(batch, np.tile(np.array(speeds), (len(batch.options), 1)))


def sideways(loads: CaseLoads) -> Array:
    """Force toward +y that the upper rollers feel: inner ones bear it, outer ones are relieved."""
    inner = [k for k, name in enumerate(loads.rollers.labels) if "inner" in name.roller]
    outer = [k for k, name in enumerate(loads.rollers.labels) if "outer" in name.roller]
    radial = loads.rollers.radial
    return radial[..., inner].sum(axis=-1) - radial[..., outer].sum(axis=-1)


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_gravity_is_gravity_in_every_case(plane: str) -> None:
    case = case_of(plane)
    for direction in (*straight_directions(case), *turning_directions(case)):
        assert np.linalg.norm(direction.gravity) == pytest.approx(STANDARD_GRAVITY)
        if plane == "flat":
            assert direction.gravity == pytest.approx((0, 0, -STANDARD_GRAVITY))
        else:
            assert direction.gravity[2] == 0.0


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_shares_of_the_way_make_it_whole(plane: str) -> None:
    case = case_of(plane)
    shares: dict[str, float] = {}
    for direction in (*straight_directions(case), *turning_directions(case)):
        shares[direction.kind] = shares.get(direction.kind, 0.0) + direction.weight
    travelled = ("speeding up", "braking", "cruising", "turning", "entering", "leaving")
    for kind in travelled:
        assert shares[kind] == pytest.approx(1.0), kind
    # Nothing travels under a process force or while it brakes in an emergency in a bend.
    stops = ("emergency turning", "emergency entering", "emergency leaving")
    assert not any(shares[kind] for kind in ("process", *stops))


def test_upright_bends_turn_gravity_right_round() -> None:
    """Over the downward and the upward bend gravity turns through the whole circle."""
    turning = [d for d in turning_directions(case_of("upright")) if d.kind == "turning"]
    down = [d.gravity for d in turning if "downward" in d.name]
    up = [d.gravity for d in turning if "upward" in d.name]
    assert len(down) == len(up) == 13
    # Downward, gravity drives the carrier on; upward it holds it back.
    assert all(x >= -1e-9 for x, _, _ in down) and all(x <= 1e-9 for x, _, _ in up)
    assert down[0][1] == pytest.approx(-STANDARD_GRAVITY) == up[-1][1]
    assert down[-1][1] == pytest.approx(STANDARD_GRAVITY) == up[0][1]
    assert down[6] == pytest.approx((STANDARD_GRAVITY, 0, 0), abs=1e-9)


def test_lower_run_hangs_and_upper_run_stands(catalogue: Catalogue) -> None:
    """Inward on the upper run, outward on the lower run, with the whole weight."""
    batch = one("lm-128_arc-280_x1", case_of("upright"), catalogue)
    loads = on_straights(batch, 2.0)
    weight = float(batch.mass[0, 0]) * STANDARD_GRAVITY
    for name, force in zip(loads.names, sideways(loads)[0, 0], strict=True):
        pressed = -60.0 if name.startswith("process") else 0.0
        expected = -weight if name.endswith("upper run") else weight
        assert force == pytest.approx(expected + pressed), name


def test_flat_run_bears_the_weight_on_its_flanks(catalogue: Catalogue) -> None:
    batch = one("std-116_arc-280_x1", case_of(), catalogue)
    loads = on_straights(batch, 0.5, 2.0, 8.0)
    weight = float(batch.mass[0, 0]) * STANDARD_GRAVITY
    axial = loads.rollers.axial.sum(axis=-1)[0]
    for k, name in enumerate(loads.names):
        pressed = 25.0 if name.startswith("process") else 0.0
        assert axial[:, k] == pytest.approx(-weight - pressed), name
        outward = -60.0 if name.startswith("process") else 0.0
        assert sideways(loads)[0, :, k] == pytest.approx(outward, abs=1e-9)


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_thrust_on_straights_is_mass_times_acceleration(plane: str, catalogue: Catalogue) -> None:
    for id_ in ("std-92_arc-280_x1", "bs-180_arc-480_x2", "pair-310_arc-480_x1"):
        batch = one(id_, case_of(plane), catalogue)
        loads, mass = on_straights(batch, 3.0), float(batch.mass[0, 0])
        carrier = batch.options[0].carrier
        expected = {
            "speeding up": 3.0 * mass,
            "braking": -3.0 * mass,
            "cruising": 0.0,
            "emergency": -carrier.total_peak_force - carrier.drag,
            "process": -10.0,
        }
        for kind, thrust in zip(loads.kinds, loads.thrust[0, 0], strict=True):
            assert thrust == pytest.approx(expected[kind])
        along = {kind: loads.load_x[0, 0, k] for k, kind in enumerate(loads.kinds)}
        assert along["speeding up"] == pytest.approx([3.0, 3.0])
        assert along["braking"] == pytest.approx([-3.0, -3.0])
        assert along["cruising"] == pytest.approx([0.0, 0.0])


def test_steady_bend_throws_outward(catalogue: Catalogue) -> None:
    """m·v²·(R + y)/R² on the rollers, and on the load the acceleration of its own circle."""
    batch = one("lm-176_arc-480_x1", case_of(), catalogue)
    loads = in_bends(batch, 0.4, 1.1, 2.0)
    (steady,) = loads.of_kind("turning")
    radius, reach = batch.options[0].bend.radius, batch.case.load.reach
    for row, speed in enumerate((0.4, 1.1, 2.0)):
        rate = speed / radius
        outward = float(batch.mass[0, 0]) * rate**2 * (radius + float(batch.centre[0, 0, 1]))
        assert sideways(loads)[0, row, steady] == pytest.approx(outward)
        assert loads.load_y[0, row, steady] == pytest.approx(-(rate**2) * (radius + reach))
        assert loads.thrust[0, row, steady] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_every_turn_throws_outward_besides_gravity(plane: str, catalogue: Catalogue) -> None:
    """Wherever in a bend, stopping there or not: m·v²·(R + y)/R² more than gravity has outward."""
    batch = one("lm-176_arc-480_x1", case_of(plane), catalogue)
    speed, radius = 1.3, batch.options[0].bend.radius
    loads, mass = in_bends(batch, speed), float(batch.mass[0, 0])
    thrown = mass * (speed / radius) ** 2 * (radius + float(batch.centre[0, 0, 1]))
    cases = loads.of_kind("turning", "emergency turning")
    assert len(cases) == (2 if plane == "flat" else 2 * 2 * 13)
    for k in cases:
        outward = thrown + mass * loads.directions[k].gravity[1]
        assert sideways(loads)[0, 0, k] == pytest.approx(outward), loads.names[k]


def test_entry_and_exit_yaw_either_way(catalogue: Catalogue) -> None:
    batch = one("std-68_arc-280_x1", case_of(), catalogue)
    loads, bend = in_bends(batch, 0.7), batch.options[0].bend
    alpha = float(entry_yaw_acceleration(0.7, bend.radius, bend.transition, batch.options[0].base))
    for k, kind in enumerate(loads.kinds):
        sign = {"entering": 1.0, "leaving": -1.0}.get(kind, 0.0)
        if not kind.startswith("emergency"):
            assert loads.yaw_acceleration[0, 0, k] == pytest.approx(sign * alpha)
        if sign:
            assert loads.thrust[0, 0, k] * sign > 0


def test_a_stop_while_leaving_a_bend_yaws_with_both(catalogue: Catalogue) -> None:
    """The bend's end turns the carrier back, and so does braking in it: a_t/R on top."""
    batch = one("std-92_arc-280_x1", case_of(), catalogue)
    loads, option = in_bends(batch, 0.9), batch.options[0]
    alpha = float(entry_yaw_acceleration(0.9, option.bend.radius, 0.0, option.base))
    yaw = dict(zip(loads.names, loads.yaw_acceleration[0, 0], strict=True))
    stop = -yaw["emergency stop in the bend"]
    assert stop > 1.0
    assert yaw["emergency stop leaving the bend"] == pytest.approx(-alpha - stop)
    assert yaw["emergency stop leaving the bend, last instant"] == pytest.approx(-alpha)
    assert yaw["emergency stop entering the bend, first instant"] == pytest.approx(alpha)
    # Spinning up the carrier helps the drive to stop it.
    assert yaw["emergency stop entering the bend"] < alpha - stop
    for name, thrust in zip(loads.names, loads.thrust[0, 0], strict=True):
        if name.startswith("emergency"):
            assert thrust == -option.carrier.total_peak_force


@pytest.mark.parametrize("id_", ["std-116_arc-280_x1", "bs-132_arc-480_x1", "lm-224_eased-420_x2"])
@pytest.mark.parametrize("offset", ["0 mm", "70 mm", "-120 mm"])
def test_upright_bends_ask_for_the_peak_of_gravity(
    id_: str, offset: str, catalogue: Catalogue
) -> None:
    """The greatest force over all angles, found in steps of 15 degrees and so up to 7.5 beside."""
    batch = one(id_, case_of("upright", offset=offset), catalogue)
    loads = in_bends(batch, 0.1, 0.9)
    option = batch.options[0]
    peak = float(
        upright_bend_peak_drive_force(batch.mass[0, 0], *batch.centre[0, 0, :2], option.bend.radius)
    )
    # The drive pushes along a line of its own, a little nearer to the bend's centre.
    lever = 1.0 + option.carrier.drive_line[0] / option.bend.radius
    for row in range(2):
        found = lever * np.abs(loads.thrust[0, row][loads.of_kind("turning")]).max()
        assert peak * np.cos(STEP / 2) <= found * (1 + 1e-9)
        assert found <= peak * (1 + 1e-9)


def test_upright_drive_pushes_up_and_holds_back(catalogue: Catalogue) -> None:
    batch = one("std-116_arc-280_x1", case_of("upright"), catalogue)
    loads = in_bends(batch, 0.5)
    for k in loads.of_kind("turning"):
        middle = "90° round" in loads.names[k]
        thrust = loads.thrust[0, 0, k]
        if "downward" in loads.names[k] and middle:
            assert thrust < -float(batch.mass[0, 0]) * STANDARD_GRAVITY
        if "upward" in loads.names[k] and middle:
            assert thrust > float(batch.mass[0, 0]) * STANDARD_GRAVITY


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_an_option_alone_bears_what_it_bears_among_others(plane: str, catalogue: Catalogue) -> None:
    case = case_of(plane)
    rng = np.random.default_rng(3)
    for batch in batches(list_options(case, catalogue), case, catalogue.rules):
        shape = (len(batch.options), 4)
        together = (
            straight_loads(batch, rng.uniform(0.3, 12.0, shape)),
            bend_loads(batch, rng.uniform(0.1, 2.0, shape)),
        )
        for row in rng.integers(len(batch.options), size=3).tolist():
            alone = replace(batch, options=(batch.options[row],))
            for loads, run, axis in zip(
                together, (straight_loads, bend_loads), ("acceleration", "speed"), strict=True
            ):
                setting = int(rng.integers(4))
                value = getattr(loads, axis)[row : row + 1, setting : setting + 1]
                same(loads.single(row, setting), run(alone, value))


def same(one: CaseLoads, other: CaseLoads) -> None:
    assert one.batch.options == other.batch.options
    assert (one.names, one.kinds) == (other.names, other.kinds)
    for name in ("acceleration", "speed", "wrench", "thrust", "resistance", "load_x", "load_y"):
        assert getattr(one, name).shape == getattr(other, name).shape, name
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), atol=1e-9)
    np.testing.assert_allclose(one.yaw_acceleration, other.yaw_acceleration, atol=1e-9)
    for name in ("radial", "axial", "lower_radial"):
        np.testing.assert_allclose(
            getattr(one.rollers, name), getattr(other.rollers, name), atol=1e-8
        )


def test_batches_hold_every_option_once_and_structures_apart(catalogue: Catalogue) -> None:
    options = list_options(case_of(), catalogue)
    found = batches(options, case_of(), catalogue.rules)
    assert sorted(o.id for batch in found for o in batch.options) == sorted(o.id for o in options)
    for batch in found:
        kinds = {(o.family.trucks, o.family.lower_guide) for o in batch.options}
        assert len(kinds) == 1
        assert (2 if batch.is_pair else 1, batch.has_lower_guide) in kinds


def by_hand(option: Option, case: Case) -> tuple[float, Array]:
    """Mass and centre of gravity of a loaded carrier, part by part."""
    carrier, height = option.carrier, option.carrier.mounting_height
    load, tooling = case.load, case.tooling
    parts = [(carrier.mass, carrier.centre_of_gravity)]
    parts += [(tooling.mass, (0.0, case.tooling_reach, height + tooling.cg_height))]
    parts += [(load.mass, (load.offset, load.reach, height + load.cg_height))] * option.items
    mass = sum(one for one, _ in parts)
    return mass, sum(one * np.array(at) for one, at in parts) / mass


def test_centre_of_gravity_is_that_of_all_parts(catalogue: Catalogue) -> None:
    case = case_of(offset="35 mm")
    for batch in batches(list_options(case, catalogue), case, catalogue.rules):
        for row, option in enumerate(batch.options):
            mass, centre = by_hand(option, case)
            assert batch.mass[row, 0] == pytest.approx(mass)
            np.testing.assert_allclose(batch.centre[row, 0], centre)
            assert batch.payload[row, 0] == pytest.approx(mass - option.carrier.mass)


def test_items_stand_in_a_row_about_the_offset(catalogue: Catalogue) -> None:
    """Two items a gap apart turn on a longer arm, so their bend throws them along as well."""
    case = case_of()
    two, single = (one(f"lm-224_arc-480_x{n}", case, catalogue) for n in (2, 1))
    length, gap = case.load.length, catalogue.rules.item_gap
    assert two.load_length[0, 0] == pytest.approx(2 * length + gap)
    assert two.item_offset[0, 0] == pytest.approx(0.5 * (length + gap))
    loads, rate = in_bends(two, 1.0), 1.0 / two.options[0].bend.radius
    (steady,) = loads.of_kind("turning")
    arm = 0.5 * (length + gap)
    assert loads.load_x[0, 0, steady] == pytest.approx([-(rate**2) * arm, rate**2 * arm])
    assert not in_bends(single, 1.0).load_x[0, 0, steady].any()


def test_pair_shares_what_it_bears(catalogue: Catalogue) -> None:
    """Both trucks together bear the weight; a soft platform may load either with more."""
    batch = one("pair-310_arc-480_x1", case_of(reach="300 mm"), catalogue)
    loads = on_straights(batch, 2.0)
    assert len(loads.rollers.labels) == 8 and len(loads.rollers.lower_labels) == 4
    weight = float(batch.mass[0, 0]) * STANDARD_GRAVITY
    cruising = loads.of_kind("cruising")
    assert loads.rollers.axial[0, 0, cruising].sum() >= weight * (1 - 1e-9)
    # The lower rollers hold the roll moment at their depth, two to a truck.
    moment = batch.mass[0, 0] * STANDARD_GRAVITY * batch.centre[0, 0, 1]
    depth = batch.options[0].carrier.guide_depth
    assert depth is not None
    lower = loads.rollers.lower_radial[0, 0, cruising].sum()
    assert lower >= 2 * 0.5 * moment / depth * (1 - 1e-9)


def test_yaw_inertia_of_blocks_is_that_of_their_grains(catalogue: Catalogue) -> None:
    """Fixture as large as the plate, load as long as its row: even grids of grains, summed up."""
    case = case_of(length="140 mm", width="90 mm")
    for option in list_options(case, catalogue)[::5]:
        batch, carrier = Batch((option,), case, catalogue.rules), option.carrier
        row = option.items * case.load.length + (option.items - 1) * catalogue.rules.item_gap
        found = batch.part_inertia[0, 0, 0].tolist()
        for inertia, mass, length, width in (
            (found[1], 0.7, carrier.plate_length, carrier.plate_width),
            (found[2], 4.0 * option.items, row, 0.09),
        ):
            grains = (np.arange(200) + 0.5) / 200 - 0.5
            around = np.mean((grains[:, None] * length) ** 2 + (grains * width) ** 2)
            assert inertia == pytest.approx(mass * around, rel=1e-4)
        assert found[0] == carrier.yaw_inertia


def test_the_outermost_item_of_a_pair_decides_which_truck_bears_its_roll(
    catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Items stand on either side of the middle of their row, and that is off the carrier's."""
    asked: list[tuple[float, float]] = []

    def share(offset: Array, distance: Array) -> Array:
        asked.append((float(np.max(offset)), float(np.max(distance))))
        return soft_platform_share(offset, distance)

    monkeypatch.setattr(load_cases, "soft_platform_share", share)
    several = 0
    for offset in (-0.03, 0.0, 0.05):
        case = case_of(offset=f"{offset} m", length="140 mm", width="90 mm")
        for option in list_options(case, catalogue):
            if option.carrier.coupling_distance:
                items = [
                    offset + (k - 0.5 * (option.items - 1)) * (0.14 + catalogue.rules.item_gap)
                    for k in range(option.items)
                ]
                on_straights(Batch((option,), case, catalogue.rules), 1.0)
                farthest = max(abs(place) for place in items)
                assert asked.pop() == pytest.approx((farthest, option.base))
                several += option.items > 1 and offset != 0.0
    assert several
