"""What an order and its operation come to: delivery, energy of a year, stops."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from recommender.choice.decision.audit import Audit
from recommender.choice.decision.stopping import stops_of
from recommender.choice.parts.delivery import Delivery, delivery_of
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.results.answer import DeliveryPlan, DeliveryStage, RunningCost, StopResult

_CENT: Final = Decimal("0.01")


def delivery_plan(audit: Audit, catalogue: Catalogue) -> DeliveryPlan:
    """The chain of a delivery, in weeks."""
    return delivery_result(delivery_of(audit.parts, catalogue))


def delivery_result(delivery: Delivery) -> DeliveryPlan:
    """A delivery as an answer has it."""
    return DeliveryPlan(
        weeks=round(delivery.weeks, 2),
        steps=tuple(
            DeliveryStage(step.what, round(step.weeks, 2), step.governed_by)
            for step in delivery.steps
        ),
    )


def running_cost(audit: Audit, case: Case, catalogue: Catalogue) -> RunningCost:
    """Energy of a year at the hours that are asked, and its cost if the catalogue has a price.

    The mean power is that of the whole loop at the asked rate, what idle sections draw included; it
    is what the supplies give, their own losses not counted.
    """
    hours = case.life.hours / case.life.years
    energy = audit.loop.mean_power * hours / 1000.0
    price = catalogue.energy.price_per_kwh if catalogue.energy else None
    cost = None
    if price is not None:
        cost = (Decimal(energy) * price).quantize(_CENT, rounding=ROUND_HALF_UP)
    return RunningCost(
        mean_w=audit.loop.mean_power,
        hours_a_year=hours,
        energy_kwh_a_year=energy,
        price_per_kwh=price,
        cost_a_year=cost,
    )


def stop_results(audit: Audit, case: Case, catalogue: Catalogue) -> tuple[StopResult, ...]:
    """A controlled stop that the load's hold allows, then one at full force."""
    stops = stops_of(audit, case, catalogue)
    return tuple(
        StopResult(what, stop.deceleration, stop.delay, stop.distance)
        for what, stop in (("controlled", stops.controlled), ("full force", stops.full_force))
    )
