"""The command in a process of its own, with the solver on as many workers as the first word says.

The program asks for one worker always. What is settled does not hang on that.
"""

import sys

from ortools.sat.python import cp_model

from recommender.__main__ import main
from recommender.choice.cpsat import Budget


def on_workers(number: int) -> None:
    """Have every model solved by so many threads at once."""
    solve = Budget.solve

    def solved(self: Budget, solver: cp_model.CpSolver, model: cp_model.CpModel) -> int:
        solver.parameters.num_workers = number
        return solve(self, solver, model)

    Budget.solve = solved  # type: ignore[method-assign]


if __name__ == "__main__":
    on_workers(int(sys.argv.pop(1)))
    main()
