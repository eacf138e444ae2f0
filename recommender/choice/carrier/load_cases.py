"""All load cases of a batch: wrench, drive force, roller loads and the load's own acceleration.

On straights the cases depend on the acceleration, in bends on the bend speed, so each is worked out
along one axis of settings and never for their product. Arrays are (options, settings, cases), with
an axis of rollers behind where there are several.

Taken for the drive's moment on the rollers is the force that accelerates the masses and overcomes
the catalogue's drag; the rolling part of the resistance acts at the rollers themselves.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from recommender.choice.carrier.bend_fit import case_preload
from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.directions import Direction, straight_directions, turning_directions
from recommender.choice.carrier.where import Where
from recommender.inputs.case import Case
from recommender.physics.bearings import dynamic_equivalent_load
from recommender.physics.constants import Array
from recommender.physics.loads import drive_force_wrench, force_wrench, inertial_wrench
from recommender.physics.pair import pair_truck_angle, pair_truck_wrenches, soft_platform_share
from recommender.physics.rollers import guide_roller_loads, lower_guide_split, rolling_resistance
from recommender.physics.stopping import stop_rate
from recommender.physics.turning import (
    arc_drive_force,
    entry_drive_force,
    entry_radius,
    entry_yaw_acceleration,
)


@dataclass(frozen=True)
class RollerLoads:
    """Loads of all rollers, (options, settings, cases, rollers), N; lower rollers bear no axial."""

    radial: Array
    axial: Array
    lower_radial: Array
    labels: tuple[Where, ...]
    lower_labels: tuple[Where, ...]


@dataclass(frozen=True)
class CaseLoads:
    """What a list of load cases does to the carriers of a batch.

    ``weight`` is each case's share of the distance of its kind, 0 if nothing travels so. ``wrench``
    is what the guide takes at the datum, (options, settings, cases, 6), the drive's moments and the
    attraction of the magnets included. Thrust is the drive's force without resistance. ``load_x``,
    ``load_y`` are the accelerations at the outermost items and have an axis (2) for the foremost
    and the rearmost. ``speed`` is the bend speed and ``acceleration`` that of straights, (options,
    settings); the other one is 0.
    """

    batch: Batch
    acceleration: Array
    speed: Array
    directions: tuple[Direction, ...]
    weight: Array
    wrench: Array
    thrust: Array
    resistance: Array
    rollers: RollerLoads
    load_x: Array
    load_y: Array
    yaw_acceleration: Array

    def single(self, option: int, setting: int) -> "CaseLoads":
        """One option at one setting; axes keep their places."""
        batch = replace(self.batch, options=(self.batch.options[option],))
        where = (slice(option, option + 1), slice(setting, setting + 1))
        arrays = (
            "acceleration",
            "speed",
            "wrench",
            "thrust",
            "resistance",
            "load_x",
            "load_y",
            "yaw_acceleration",
        )
        rollers = replace(
            self.rollers,
            **{
                name: getattr(self.rollers, name)[where]
                for name in ("radial", "axial", "lower_radial")
            },
        )
        cut = {name: getattr(self, name)[where] for name in arrays}
        return replace(self, batch=batch, rollers=rollers, **cut)

    def under(self, case: Case) -> "CaseLoads":
        """The same loads under a case that differs in what no load case looks at."""
        return replace(self, batch=replace(self.batch, case=case))

    @property
    def names(self) -> tuple[str, ...]:
        """What the load cases are called."""
        return tuple(case.name for case in self.directions)

    @cached_property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of the load cases."""
        return tuple(case.kind for case in self.directions)

    @cached_property
    def equivalent(self) -> Array:
        """Dynamic equivalent loads, the lower rollers last, (options, settings, cases, rollers)."""
        upper = dynamic_equivalent_load(
            self.rollers.radial,
            self.rollers.axial,
            self.batch.column(lambda option: option.roller.contact_angle)[..., None, None],
        )
        return np.concatenate([upper, self.rollers.lower_radial], axis=-1)

    def of_kind(self, *kinds: str) -> list[int]:
        """Positions of the cases of some kinds."""
        return [k for k, kind in enumerate(self.kinds) if kind in kinds]


def straight_loads(batch: Batch, acceleration: Array) -> CaseLoads:
    """Load cases on straights.

    Parameters
    ----------
    batch : Batch
    acceleration : array (options, settings), m/s²

    Returns
    -------
    CaseLoads
        Kinds: speeding up, braking, cruising, emergency, process.
    """
    directions = straight_directions(batch.case)
    drag = batch.carrier("drag")
    stop = (batch.peak_force + drag) / batch.mass
    along, thrust, process = [], [], []
    for case in directions:
        rate = {
            "speeding up": acceleration,
            "braking": -acceleration,
            "emergency": np.broadcast_to(-stop, acceleration.shape),
        }.get(case.kind, np.zeros_like(acceleration))
        along.append(rate)
        thrust.append(batch.mass * rate - case.force[0])
        process.append(case.force)
    a, t = np.stack(along, axis=-1), np.stack(thrust, axis=-1)
    gravity = np.array([case.gravity for case in directions])
    wrench = _sum_of_parts(batch, along=a[..., None], gravity=gravity[None, None, :, None, :])
    at_load = batch.part_centre[..., -1, :]
    wrench = wrench + force_wrench(np.array(process)[None, None], at_load)
    nothing = np.zeros_like(a)
    axes = (acceleration, np.zeros_like(acceleration))
    return _loads(batch, directions, axes, wrench, t, a, nothing, nothing)


def bend_loads(batch: Batch, bend_speed: Array) -> CaseLoads:
    """Load cases in bends and at their ends.

    Parameters
    ----------
    batch : Batch
    bend_speed : array (options, settings), m/s

    Returns
    -------
    CaseLoads
        Kinds: turning, entering, leaving; emergency turning, emergency entering, emergency leaving.
    """
    directions = turning_directions(batch.case)
    shape = (*bend_speed.shape, len(directions))
    beta = truck_angle(batch)
    radius = (batch.radius * np.cos(beta))[..., None]
    turning = np.array([case.turning for case in directions])
    omega = (bend_speed / batch.radius)[..., None] * turning
    entry = entry_yaw_acceleration(bend_speed, batch.radius, batch.transition, batch.base)
    ends = np.array([_END_SIGN.get(case.kind.removeprefix("emergency "), 0) for case in directions])
    alpha = entry[..., None] * ends
    path = np.broadcast_to(radius[..., None], (*shape, 1)).copy()
    path = np.broadcast_to(path, (*shape, batch.part_mass.shape[-1])).copy()
    path[..., ends != 0, :] = entry_radius(radius, batch.part_centre[..., 0, :, 1])[..., None, :]
    gravity = np.array([case.gravity for case in directions])
    wrench = _sum_of_parts(
        batch,
        yaw_rate=omega[..., None],
        yaw_acceleration=alpha[..., None],
        radius=path,
        gravity=gravity[None, None, :, None, :],
    )
    stops = np.array([case.kind.startswith("emergency") for case in directions])
    wrench[..., stops & ~turning, :] += first_turn(batch, bend_speed).sum(axis=-2)
    line_y = _drive_line(batch)[0]
    thrust = arc_drive_force(wrench, batch.radius[..., None], beta[..., None], line_y[..., None])
    _replace_entry_thrust(batch, directions, thrust, entry, gravity)
    curvature = turning / batch.radius[..., None]
    stop, braked = _stop(batch, wrench, curvature, stops)
    thrust[..., stops] = -batch.peak_force[..., None]
    along, alpha = -stop * np.cos(beta)[..., None], alpha - stop * curvature
    axes = (np.zeros_like(bend_speed), bend_speed)
    return _loads(batch, directions, axes, wrench + braked, thrust, along, omega, alpha)


_END_SIGN = {"entering": 1, "leaving": -1}


def first_turn(batch: Batch, bend_speed: Array) -> Array:
    """Wrench of each part where one of the two guided points alone runs on curved guide.

    The datum, midway between them, has half the curvature when the yaw acceleration sets in, and
    less on a long transition. At constant speed other load cases bound what this does; under the
    full force of the drive they do not. Shape (options, settings, 1, parts, 6).
    """
    share = 0.5 * batch.base / np.maximum(batch.transition, batch.base)
    outward = (bend_speed**2 / batch.radius * share)[..., None, None] * batch.part_mass
    return force_wrench(outward[..., None] * np.array([0.0, 1.0, 0.0]), batch.part_centre)


def _stop(batch: Batch, steady: Array, curvature: Array, stops: Array) -> tuple[Array, Array]:
    """Rate of the emergency stops in and at the ends of bends, and the wrench of the braking."""
    beta, line_y = truck_angle(batch), _drive_line(batch)[0]
    unit = _sum_of_parts(
        batch,
        along=np.cos(beta)[..., None, None],
        yaw_acceleration=curvature[..., None],
        gravity=np.zeros(3),
    )
    rate = stop_rate(
        batch.peak_force[..., None],
        batch.carrier("drag")[..., None],
        steady,
        unit,
        curvature,
        beta[..., None],
        line_y[..., None],
    )
    rate = np.where(stops, rate, 0.0)
    return rate, -rate[..., None] * unit


def _replace_entry_thrust(
    batch: Batch,
    directions: tuple[Direction, ...],
    thrust: Array,
    entry: Array,
    gravity: Array,
) -> None:
    """Drive force at the ends of a bend: the bound from the energy balance, and gravity.

    Gravity counts where it asks for more. It has turned by half of what curve and base bend the
    guide when the rear of the carrier has entered, and by as little when the front leaves.
    """
    centre, line_y = batch.centre, _drive_line(batch)[0]
    push = entry_drive_force(
        batch.mass,
        centre[..., 1],
        batch.yaw_inertia,
        entry,
        transition=batch.transition,
        base=batch.base,
        radius=batch.radius,
        offset=centre[..., 0],
        line_y=line_y,
    )
    turned = 0.5 * (batch.transition + batch.base) / batch.radius
    for k, case in enumerate(directions):
        sign = _END_SIGN.get(case.kind)
        if sign is not None:
            down = _rotated(gravity[k], sign * turned)
            weight = _sum_of_parts(batch, gravity=down[..., None, None, :])[:, :, 0]
            held = arc_drive_force(weight, batch.radius, truck_angle(batch), line_y)
            thrust[..., k] = sign * (push + np.maximum(sign * held, 0.0))


def _rotated(gravity: Array, angle: Array) -> Array:
    """Gravity in the frame of a carrier that has turned on by an angle."""
    x, y, z = gravity
    sine, cosine = np.sin(angle), np.cos(angle)
    turned = (x * cosine - y * sine, y * cosine + x * sine, np.full_like(angle, z))
    return np.stack(turned, axis=-1)


def _sum_of_parts(batch: Batch, **motion: Array) -> Array:
    wrench = inertial_wrench(batch.part_mass, batch.part_centre, batch.part_inertia, **motion)
    return np.asarray(wrench.sum(axis=-2))


def truck_angle(batch: Batch) -> Array:
    """Angle of the trucks of a pair in the bend; 0 for one truck, (options, 1)."""
    if not batch.is_pair:
        return np.zeros_like(batch.radius)
    # A pair too long for the bend is refused by a check of its own; here it must only compute.
    return pair_truck_angle(np.minimum(batch.base, 1.9 * batch.radius), batch.radius)


def _drive_line(batch: Batch) -> tuple[Array, Array]:
    return (
        batch.column(lambda option: option.carrier.drive_line[0]),
        batch.column(lambda option: option.carrier.drive_line[1]),
    )


def _loads(
    batch: Batch,
    directions: tuple[Direction, ...],
    axes: tuple[Array, Array],
    wrench: Array,
    thrust: Array,
    along: Array,
    omega: Array,
    alpha: Array,
) -> CaseLoads:
    line_y, line_z = (value[..., None] for value in _drive_line(batch))
    pushing = np.array([case.kind in DRAGGED for case in directions])
    drive = thrust + batch.carrier("drag")[..., None] * pushing
    pull = batch.carrier("attraction")[..., None, None] * np.array([0.0, 0.0, -1.0])
    at = np.stack([np.zeros_like(line_y), line_y, line_z], axis=-1)
    extra = drive_force_wrench(drive, line_y, line_z) + force_wrench(pull, at)
    acceleration, speed = axes
    beta = truck_angle(batch) if speed.any() else np.zeros_like(batch.radius)
    preload = case_preload(batch, directions)
    rollers = _roller_loads(batch, wrench, extra, beta, alpha, preload)
    resistance = rolling_resistance(
        batch.carrier("rolling_coefficient")[..., None],
        np.concatenate([rollers.radial, rollers.lower_radial], axis=-1),
        np.concatenate([rollers.axial, np.zeros_like(rollers.lower_radial)], axis=-1),
        batch.carrier("drag")[..., None],
    )
    load = batch.case.load
    ends = (load.offset + batch.item_offset, load.offset - batch.item_offset)
    x = np.stack(ends, axis=-1)[:, :, None, :]
    path = np.where(omega > 0, batch.radius[..., None] * np.cos(beta)[..., None], 0.0)
    reach = np.asarray(load.reach)[..., None]
    return CaseLoads(
        batch=batch,
        acceleration=acceleration,
        speed=speed,
        directions=directions,
        weight=np.array([case.weight for case in directions]),
        wrench=wrench + extra,
        thrust=thrust,
        resistance=resistance,
        rollers=rollers,
        load_x=(along + alpha * reach)[..., None] - (omega**2)[..., None] * x,
        load_y=-(omega**2 * (path + reach))[..., None] - alpha[..., None] * x,
        yaw_acceleration=alpha,
    )


DRAGGED = ("speeding up", "cruising", "turning", "entering", "leaving")
_ROLLERS = ("front inner", "front outer", "rear inner", "rear outer")
_LOWER = ("front lower", "rear lower")


def _roller_loads(
    batch: Batch, wrench: Array, extra: Array, beta: Array, alpha: Array, preload: Array
) -> RollerLoads:
    """Hand the wrench on to trucks, guides and rollers; ``extra`` acts on the trucks themselves."""
    if not batch.is_pair:
        radial, axial, lower = _truck_rollers(batch, wrench + extra, preload)
        return RollerLoads(radial, axial, lower, _named("", _ROLLERS), _named("", _LOWER))
    truck_yaw = _truck_yaw(batch, alpha)
    load = batch.case.load
    soft = soft_platform_share(np.abs(load.offset) + batch.item_offset, batch.base)
    results = []
    for share in (np.full_like(soft, 0.5), soft, 1.0 - soft):
        trucks = pair_truck_wrenches(
            wrench, batch.base[..., None], share[..., None], beta[..., None]
        )
        loads = []
        for truck in trucks:
            own = truck + 0.5 * extra
            own[..., 5] += truck_yaw
            loads.append(_truck_rollers(batch, own, preload))
        results.append([np.concatenate(parts, axis=-1) for parts in zip(*loads, strict=True)])
        if np.all(soft == 0.5):
            break
    radial = np.max([result[0] for result in results], axis=0)
    axial = np.max([np.abs(result[1]) for result in results], axis=0)
    lower = np.max([result[2] for result in results], axis=0)
    return RollerLoads(
        radial,
        axial,
        lower,
        _named("front truck", _ROLLERS) + _named("rear truck", _ROLLERS),
        _named("front truck", _LOWER) + _named("rear truck", _LOWER),
    )


def _truck_yaw(batch: Batch, alpha: Array) -> Array:
    """Moment that yaws one truck of a pair, which turns on its own shorter wheelbase, N·m."""
    wheelbase = batch.carrier("wheelbase")
    own = np.maximum(batch.transition, batch.base) / np.maximum(batch.transition, wheelbase)
    return np.asarray(batch.carrier("truck_yaw_inertia")[..., None] * alpha * own[..., None])


def _truck_rollers(batch: Batch, wrench: Array, preload: Array) -> tuple[Array, Array, Array]:
    """Radial and axial loads of the upper rollers, radial ones of the lower rollers if any."""
    lower = np.zeros((*wrench.shape[:-1], 0))
    if batch.has_lower_guide:
        depth = batch.column(lambda option: option.carrier.guide_depth or 1.0)
        wrench, force = lower_guide_split(wrench, depth[..., None])
        one = np.maximum(np.abs(force), batch.carrier("lower_preload")[..., None])
        lower = np.stack([one, one], axis=-1)
    radial, axial = guide_roller_loads(
        wrench,
        batch.carrier("wheelbase")[..., None],
        batch.carrier("gauge")[..., None],
        batch.column(lambda option: option.roller.flank_angle)[..., None],
        preload,
    )
    return radial, axial, lower


def _named(truck: str, names: tuple[str, ...]) -> tuple[Where, ...]:
    return tuple(Where(truck=truck, roller=f"{name} roller") for name in names)
