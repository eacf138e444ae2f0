"""What every constraint model needs: a budget of work, so that a busy machine changes no answer."""

from typing import Final

from recommender.choice.deadline import Unsettled, late, time_left
from recommender.choice.solver import cp_model

_AT_LEAST: Final = 0.5
"""Seconds that a solve has even where the time is up, so that what was found can be built."""


class Budget:
    """Work that several solves may take together, in the solver's own deterministic seconds.

    The solver counts what it does and not how long that takes, so it stops at the same place on
    every machine. A deterministic second is of the order of a second. Only where somebody asked for
    an end by the clock it is looked at, and what it cuts off is noted.
    """

    def __init__(self, work: float) -> None:
        self.left = work

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> int:
        """Status of a solve within what is left; `UNKNOWN` at once if nothing is."""
        if self.left <= 0.0:
            return int(cp_model.UNKNOWN)
        solver.parameters.max_deterministic_time = self.left
        if time_left() < float("inf"):
            solver.parameters.max_time_in_seconds = max(time_left(), _AT_LEAST)
        status = solver.solve(model)
        self.left -= solver.response_proto.deterministic_time
        if status not in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
            late(Unsettled.SEARCH)
        return int(status)
