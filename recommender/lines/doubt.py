"""How often a whole line holds when its inputs are not sure: all loops in the same draws."""

from collections.abc import Callable, Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.parts.braking import fall_of
from recommender.choice.parts.options import reserve_of
from recommender.lines.result_doubt import LineDoubt, LoopDoubt
from recommender.lines.tried import TriedLine
from recommender.lines.unsure import UnsureInputs
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.results.doubt import Chance, FailingCheck
from recommender.trials.doubt import failing, input_shares
from recommender.trials.fitted import first_order_shares, wilson
from recommender.trials.outcome import Draws, Outcome, outcome_of
from recommender.trials.suited import set_to_suit

Progress = Callable[[str, int, int], None]


def doubt_line(
    line: TriedLine,
    unsure: UnsureInputs,
    *,
    draws: int = 10_000,
    seed: int = 1,
    asked: float = 0.95,
    assumed: bool = False,
    progress: Progress | None = None,
) -> LineDoubt:
    """How often a line holds, loop by loop and as a whole, and which input matters most.

    Parameters
    ----------
    line : TriedLine
    unsure : UnsureInputs
        Independent of each other; loops that have one from above have the same value in each draw.
    draws, seed, asked, assumed, progress
        As for a single loop.

    Notes
    -----
    In each draw a line holds if every loop does, and what they share: supplies, and the brake
    resistors and DC links in a stop of all. Where a loop has several runs of sections, the one that
    draws most is taken for each of them, so that a draw in which only that fails is left open.
    """
    drawn = Draws.of(unsure.inputs, draws, seed)
    seen = unsure.seen(line, drawn)
    outcomes = {
        name: outcome_of(audit, case, line.catalogue, seen[name], progress)
        for name, (audit, case) in line.loops.items()
    }
    conditions = _conditions(line, seen, outcomes)
    holds = np.all([outcome.holds for outcome in outcomes.values()], axis=0)
    left = np.any([outcome.judged.open for outcome in outcomes.values()], axis=0)
    for used, exact in conditions.values():
        fails = used > HOLDS
        holds, left = (holds & ~fails, left) if exact else (holds, left | fails)
    measured: Literal["holding or not", "greatest utilisation"] = "holding or not"
    measure = (~holds).astype(float)
    if holds.all() or not holds.any():
        measured = "greatest utilisation"
        measure = np.max([outcome.greatest for outcome in outcomes.values()], axis=0)
    titles = {condition.id: condition.title for condition in line.conditions}
    return LineDoubt(
        title=line.line.title,
        price=line.price,
        currency=line.catalogue.catalogue.currency,
        draws=draws,
        seed=seed,
        assumed=assumed,
        reserve=reserve_of(line.line.loops[0].case, line.catalogue),
        chance=_chance(holds, left),
        asked=asked,
        measured=measured,
        loops=tuple(
            _loop(line, name, seen[name], outcome, progress) for name, outcome in outcomes.items()
        ),
        conditions=tuple(
            FailingCheck(name, titles[name], share)
            for name, (used, _) in conditions.items()
            if (share := float((used > HOLDS).mean())) > 0.0
        ),
        inputs=input_shares(drawn, holds, first_order_shares(drawn.quantiles, measure)),
        fixed=unsure.fixed,
    )


def _chance(holds: NDArray[np.bool_], left: NDArray[np.bool_]) -> Chance:
    """The share that holds; what is left open fails for the lower bound and holds for the upper."""
    low, _ = wilson(float((holds & ~left).mean()), len(holds))
    _, high = wilson(float((holds | left).mean()), len(holds))
    return Chance(float(holds.mean()), low, high)


def _loop(
    line: TriedLine, name: str, seen: Draws, outcome: Outcome, progress: Progress | None
) -> LoopDoubt:
    (audit, case), judged = line.loops[name], outcome.judged
    configuration = audit.configuration
    suited = None
    if outcome.chance.held < 1.0:
        suited = set_to_suit(audit, case, line.catalogue, seen, outcome, progress)
    return LoopDoubt(
        loop=name,
        option=configuration.option.id,
        carriers=configuration.carriers,
        chance=outcome.chance,
        checks=failing(outcome),
        audited=int(judged.audited.sum()),
        open=int(judged.open.sum()),
        fitted=tuple(
            check for (check, _), own in zip(outcome.checks, judged.fitted, strict=True) if own
        ),
        set_to_suit=suited,
    )


def _conditions(
    line: TriedLine, seen: Mapping[str, Draws], outcomes: Mapping[str, Outcome]
) -> dict[str, tuple[Array, bool]]:
    """Use of what loops share, in all draws, and whether it is exact; else it is no less."""
    found: dict[str, tuple[Array, bool]] = {}
    for which in ("mean", "peak"):
        name, check = f"line.supply.{which}", f"supply.{which}"
        used, exact = np.zeros(len(next(iter(seen.values())).values)), True
        for supply in line.supplies:
            loops = [run.loop for run in supply.runs]
            each = [_use(outcomes[loop], check) for loop in loops]
            used = np.maximum(used, np.sum(each, axis=0))
            exact = exact and all(
                len(line.loops[loop][0].configuration.electrics.groups) == 1 for loop in loops
            )
        found[name] = used, exact
    braking = next((c for c in line.conditions if c.id == "line.braking.energy"), None)
    if braking is not None:
        returned = np.sum([_stopped(line, name, draws) for name, draws in seen.items()], axis=0)
        found[braking.id] = returned / braking.limit, True
    return found


def _use(outcome: Outcome, check: str) -> Array:
    number = [id_ for id_, _ in outcome.checks].index(check)
    return np.asarray(outcome.judged.utilisation[:, number])


def _stopped(line: TriedLine, name: str, draws: Draws) -> Array:
    """What the carriers of a loop give back in a stop, in all draws, J.

    As the condition of the line has it: the kinetic energy of all carriers at their top speed and
    what they fall, less what supplies recover.
    """
    audit, case = line.loops[name]
    configuration, rules = audit.configuration, line.catalogue.rules
    option = configuration.option
    drawn = {unsure.key: draws.values[:, k] for k, unsure in enumerate(draws.inputs)}
    load = drawn.get("load.mass", np.full(len(draws.values), case.load.mass))
    fixture = np.full(len(draws.values), case.fixture_mass(option.items))
    if "tooling.mass" in drawn and case.tooling.mass > 0.0:
        fixture = fixture * drawn["tooling.mass"] / case.tooling.mass
    mass = option.carrier.mass + option.items * load + fixture
    fall = STANDARD_GRAVITY * fall_of(option, case)
    each = mass * (0.5 * configuration.motion.speed**2 + fall)
    return np.asarray(configuration.carriers * each * (1.0 - rules.recovered))
