"""What every constraint model needs: a budget of work, so that a busy machine changes no answer."""

from ortools.sat.python import cp_model


class Budget:
    """Work that several solves may take together, in the solver's own deterministic seconds.

    The solver counts what it does and not how long that takes, so it stops at the same place on
    every machine. A deterministic second is of the order of a second.
    """

    def __init__(self, work: float) -> None:
        self.left = work

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> int:
        """Status of a solve within what is left; `UNKNOWN` at once if nothing is."""
        if self.left <= 0.0:
            return int(cp_model.UNKNOWN)
        solver.parameters.max_deterministic_time = self.left
        status = solver.solve(model)
        self.left -= solver.deterministic_time
        return int(status)
