"""Options under all their settings: load cases along each axis, then the rows of their product."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import Batch, batches
from recommender.choice.carrier.load_cases import CaseLoads, bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import BEND_CHECKS, SETTING_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.liquid import rise_in_bends
from recommender.choice.parts.options import Option
from recommender.choice.search.grid import Grid, axis_points, jerk_for, worst
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.physics.slosh import sloshing_period

_SLOWEST_SHARE = 0.25
_SLOWEST_WITH_LIQUID = 0.06


@dataclass(frozen=True)
class Screened:
    """One option with the settings that were looked at and how much of each check they use.

    ``used`` is the largest utilisation of each row over the checks that need no loop, ``excess``
    the sum of what goes beyond 1.
    """

    context: SettingContext
    used: Array
    excess: Array

    @property
    def holding(self) -> NDArray[np.intp]:
        """Rows in which every check that needs no loop holds."""
        return np.flatnonzero(self.used <= HOLDS)


def screen(
    options: Sequence[Option], case: Case, catalogue: Catalogue, grid: Grid
) -> Iterator[Screened]:
    """Every option with its rows of settings, batch by batch."""
    for context, on_axes in rows_of(options, case, catalogue, grid):
        used, excess = _usage(context, *on_axes)
        yield Screened(context, used, excess)


def rows_of(
    options: Sequence[Option], case: Case, catalogue: Catalogue, grid: Grid
) -> Iterator[tuple[SettingContext, tuple[Array, Array]]]:
    """Every option's rows of settings, and what each uses of the checks on straights and in bends.

    Parameters
    ----------
    options : sequence of Option
    case : Case
    catalogue : Catalogue
    grid : Grid

    Yields
    ------
    SettingContext, (ndarray, ndarray)
        The rows of one option, and two arrays of utilisations, (rows,) each.
    """
    for batch in batches(options, case, catalogue.rules):
        straight = straight_loads(batch, _accelerations(batch, grid))
        bend = bend_loads(batch, _bend_speeds(batch, grid))
        used = worst(STRAIGHT_CHECKS, straight), worst(BEND_CHECKS, bend)
        for row, option in enumerate(batch.options):
            about = OptionContext(option, case, catalogue)
            context = _rows(about, row, straight, bend, used, grid)
            yield context, (context.straight.rows(used[0]), context.bend.rows(used[1]))


def acceleration_ceiling(batch: Batch) -> Array:
    """Acceleration that neither drive force nor house rules exceed, (options, 1), m/s²."""
    greatest = batch.peak_force / (batch.rules.drive_margin * batch.mass)
    greatest = np.minimum(greatest, batch.rules.most_acceleration)
    return np.maximum(greatest, _least_acceleration(batch))


def _least_acceleration(batch: Batch) -> Array:
    ceiling = batch.case.limits.acceleration or np.inf
    return np.full_like(batch.mass, min(batch.rules.least_acceleration, 0.5 * ceiling))


def acceleration_range(batch: Batch) -> tuple[Array, Array]:
    """Least acceleration to look at, and the greatest that may be had, (options, 1), m/s²."""
    return _least_acceleration(batch), acceleration_ceiling(batch)


def _accelerations(batch: Batch, grid: Grid) -> Array:
    least, greatest = acceleration_range(batch)
    return axis_points(
        batch, straight_loads, STRAIGHT_CHECKS, least, greatest, grid.accelerations, grid.search
    )


def _bend_speeds(batch: Batch, grid: Grid) -> Array:
    least, greatest = speed_floor(batch), speed_ceiling(batch)
    return axis_points(
        batch, bend_loads, BEND_CHECKS, least, greatest, grid.bend_speeds, grid.search
    )


def speed_ceiling(batch: Batch) -> Array:
    """Speed that the carrier and the enquiry allow, (options, 1), m/s."""
    ceiling = batch.carrier("top_speed")
    limit = batch.case.limits.speed
    return ceiling if limit is None else np.minimum(ceiling, limit)


def speed_floor(batch: Batch) -> Array:
    """Least speed to look at, (options, 1), m/s."""
    return np.minimum(batch.rules.least_speed, 0.5 * speed_ceiling(batch))


def _rows(
    about: OptionContext,
    row: int,
    straight: CaseLoads,
    bend: CaseLoads,
    axes_used: tuple[Array, Array],
    grid: Grid,
) -> SettingContext:
    """The product of an option's axes, speeds that are useless left out."""
    accelerations = straight.acceleration[row]
    every = LoadTable(straight, row, np.arange(len(accelerations)))
    top = fastest(every, float(speed_ceiling(straight.batch)[row, 0]))
    share = _speed_shares(about, grid)
    ramps = _ramp_times(about, grid)
    straight_used, bend_used = axes_used
    a, s, b, r = (
        axis.ravel()
        for axis in np.meshgrid(
            _promising(straight_used[row], grid.accelerations),
            np.arange(len(share)),
            _promising(bend_used[row], grid.bend_speeds),
            np.arange(len(ramps)),
            indexing="ij",
        )
    )
    speed, bend_speed = top[a] * share[s], bend.speed[row][b]
    usable = bend_speed <= speed
    a, b, r, speed, bend_speed = a[usable], b[usable], r[usable], speed[usable], bend_speed[usable]
    acceleration = accelerations[a]
    return SettingContext(
        about,
        Settings(acceleration, jerk_for(acceleration, ramps[r], about.case), speed, bend_speed),
        LoadTable(straight, row, a),
        LoadTable(bend, row, b),
    )


def _promising(used: Array, below: int) -> NDArray[np.intp]:
    """Entries of an axis worth combining: those below the limit and the last that still holds.

    Where nothing holds, those below stand for the whole axis.
    """
    holds = used <= HOLDS
    entries = np.arange(len(used))
    if not holds.any():
        return entries[:below]
    return np.union1d(entries[:below][holds[:below]], entries[holds][-1:])


def fastest(straight: LoadTable, ceiling: float) -> Array:
    """Highest speed at which the force for each acceleration can be had, (rows,), m/s.

    Parameters
    ----------
    straight : LoadTable
        Load cases on straights.
    ceiling : float, m/s
        That nothing exceeds.
    """
    loads = straight.loads
    carrier = loads.batch.options[straight.option_row].carrier
    force = straight.strongest("speeding up", "cruising")
    share = loads.batch.rules.drive_margin * force / carrier.total_peak_force
    fall = carrier.no_load_speed - carrier.knee_speed
    speed = np.where(share <= 1.0, carrier.no_load_speed - fall * share, carrier.knee_speed)
    # A hair below, so that rounding does not put the best row beyond its own limit.
    return np.minimum(speed * (1.0 - 1e-9), ceiling)


def _speed_shares(about: OptionContext, grid: Grid) -> Array:
    """Shares of the highest speed to look at.

    Carriers that only have to be quick need no low ones. A liquid may ask for slow motion, and for
    speed changes that last whole periods of its waves.
    """
    step = np.linspace(0.0, 1.0, grid.speeds + 1)
    if about.case.load.liquid is None:
        return _SLOWEST_SHARE + (1.0 - _SLOWEST_SHARE) * step
    return np.asarray(_SLOWEST_WITH_LIQUID ** (1.0 - step))


def _ramp_times(about: OptionContext, grid: Grid) -> Array:
    """Times in which the acceleration is built up; slower ones too where a liquid sloshes."""
    usual, liquid = about.rules.ramp_time, about.case.load.liquid
    if liquid is None:
        return np.array([usual])
    period = float(sloshing_period(liquid.length, liquid.depth))
    return np.linspace(usual, max(period, 2.0 * usual), grid.ramp_times + 1)


def _usage(context: SettingContext, straight: Array, bend: Array) -> tuple[Array, Array]:
    """Largest utilisation and sum of the excesses of each row.

    The wave of a liquid hangs on the loop as well; what a bend alone raises spares looking further.
    """
    shares = [straight, bend]
    for check in SETTING_CHECKS:
        outcome = check.evaluate(context)
        if outcome is not None:
            shares.append(outcome.utilisation())
    table = np.stack(shares)
    used, liquid = table.max(axis=0), context.about.case.load.liquid
    if liquid is not None:
        used = np.maximum(used, rise_in_bends(context) / liquid.freeboard)
    return used, np.maximum(table - 1.0, 0.0).sum(axis=0)
