"""Cases a second, answered in brief in this process and in two: ``python bench_batch.py [CASES]``.

The cases are random enquiries, the same each time; what a process needs to start is counted.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import shipped
from recommender.trials.batch import answer_many, processes
from recommender.trials.jobs import Job
from tests.random_enquiries import random_table


def main(count: int) -> None:
    """Print cases a second with one process and with two."""
    catalogue, random = read_catalogue(shipped("catalog")), np.random.default_rng(1)
    jobs = [Job(f"enquiry {number}", random_table(random)) for number in range(count)]
    for workers in (1, 2):
        begun = time.perf_counter()
        if workers == 1:
            lines = answer_many(jobs, catalogue, seconds=20.0)
        else:
            with processes(workers) as pool:
                lines = answer_many(jobs, catalogue, executor=pool, seconds=20.0)
        taken = time.perf_counter() - begun
        found = sum(bool(line.option) for line in lines)
        print(f"{workers} process(es): {count / taken:.3f} cases/s, {found} of {count} met")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
