"""Delivery and running cost in a line each."""

from recommender.results.answer import DeliveryPlan, RunningCost
from recommender.views.numbers import money, three_digits


def delivery_text(plan: DeliveryPlan) -> str:
    """A chain of steps, and for each the part that governs it."""
    first, *rest = plan.steps
    chain = [f"{first.what} {first.weeks:g} ({first.governed_by})"]
    chain += [f"{step.what} {step.weeks:g}" for step in rest]
    return f"{plan.weeks:g} weeks: {', then '.join(chain)}"


def running_text(running: RunningCost, currency: str) -> str:
    """Energy of a year and what it costs."""
    energy = f"{three_digits(running.energy_kwh_a_year)} kWh a year"
    hours = f"{running.mean_w:,.0f} W over {running.hours_a_year:,.0f} h"
    if running.cost_a_year is None:
        return f"{energy}: {hours}"
    return f"{energy} for {money(running.cost_a_year, currency)}: {hours}"
