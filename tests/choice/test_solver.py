"""The solver comes without the library of tables, and a program that uses both misses nothing."""

import subprocess
import sys

import pytest

ALONE = """
import sys
from recommender.choice.solver import cp_model
model = cp_model.CpModel()
number = model.new_int_var(0, 5, "x")
model.add(number >= 3)
model.minimize(number)
solver = cp_model.CpSolver()
solver.solve(model)
print(solver.value(number), "pandas" in sys.modules)
"""
WITH_TABLES = """
import pandas
names = pandas.Index(["a", "b"])
numbers = model.new_int_var_series("v", names, 0, 4)
model.add(numbers.sum() == 7)
model.add(numbers["a"] <= numbers["b"] - 1)
solver.solve(model)
print(type(numbers).__name__, solver.values(numbers).to_dict(), isinstance(numbers, pandas.Series))
print(sys.modules["pandas"] is pandas, pandas.__version__ == sys.modules["pandas"].__version__)
"""
NO_INDEX = """
try:
    model.new_int_var_series("v", ["a"], 0, 4)
except TypeError:
    print("refused")
"""


def printed(program: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return done.stdout.splitlines()


def test_a_model_is_solved_without_tables():
    assert printed(ALONE) == ["3 False"]


@pytest.mark.parametrize("first", ["", "import pandas\n"])
def test_tables_can_be_given_all_the_same(first):
    tables = "True" if first else "False"
    assert printed(first + ALONE + WITH_TABLES) == [
        f"3 {tables}",
        "Series {'a': 3, 'b': 4} True",
        "True True",
    ]


def test_what_is_no_table_is_refused_as_ever():
    assert printed(ALONE + NO_INDEX)[-1] == "refused"
