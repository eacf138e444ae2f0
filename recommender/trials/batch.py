"""Many cases answered at once, on any executor of `concurrent.futures`.

What goes to a worker and comes back is plain: the data of a case and a catalogue there, one line
here. So processes of this machine do as well as a cluster's.
"""

import json
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from contextlib import suppress
from dataclasses import replace
from multiprocessing import resource_tracker
from pathlib import Path
from typing import Final

from recommender.faults import InputError
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import refused
from recommender.recommend import recommend
from recommender.results.answer import plain
from recommender.results.batch import Line
from recommender.shown import LONGEST_MESSAGE, shown
from recommender.trials.jobs import Job

Progress = Callable[[str, int, int], None]
AnswerOne = Callable[[Job, Catalogue, float | None], Line]

_VERSION: Final = "2"
"""Of a line; lines of another are not kept."""


def answer_many(
    jobs: Sequence[Job],
    catalogue: Catalogue,
    *,
    executor: Executor | None = None,
    seconds: float | None = None,
    known: Iterable[Line] = (),
    keep: Callable[[Line], None] | None = None,
    progress: Progress | None = None,
    answer: AnswerOne | None = None,
) -> list[Line]:
    """Answer many cases in brief.

    Parameters
    ----------
    jobs : sequence of Job
    catalogue : Catalogue
    executor : concurrent.futures.Executor, optional
        Where cases are answered: a pool of processes, a cluster's executor. In this process if it
        is not given.
    seconds : float, optional
        Longest time for each proof.
    known : iterable of Line, optional
        Lines of an earlier run; those of the same case, catalogue and time are taken over.
    keep : callable, optional
        Called with every line that is new, as soon as it is there.
    progress : callable, optional
    answer : callable, optional
        What answers one of them, as `answer_one` does a case.

    Returns
    -------
    list of Line
        In the order of the jobs.
    """
    marks = [job.digest(catalogue.digest, repr(seconds), _VERSION) for job in jobs]
    earlier = {line.digest: line for line in known if line.status != "failed"}
    found: dict[int, Line] = {k: earlier[mark] for k, mark in enumerate(marks) if mark in earlier}
    left = [k for k in range(len(jobs)) if k not in found]
    for k, line in _answered(jobs, left, catalogue, executor, seconds, answer or answer_one):
        found[k] = replace(line, digest=marks[k])
        if keep:
            keep(found[k])
        if progress:
            progress("cases", len(found), len(jobs))
    return [found[k] for k in range(len(jobs))]


def _answered(
    jobs: Sequence[Job],
    left: Sequence[int],
    catalogue: Catalogue,
    executor: Executor | None,
    seconds: float | None,
    answer: AnswerOne,
) -> Iterator[tuple[int, Line]]:
    if executor is None:
        yield from ((k, answer(jobs[k], catalogue, seconds)) for k in left)
        return
    tasks = {executor.submit(answer, jobs[k], catalogue, seconds): k for k in left}
    for task in as_completed(tasks):
        k = tasks.pop(task)
        try:
            yield k, task.result()
        except Exception as error:
            yield k, Line(jobs[k].name, "failed", message=_told(error))


def answer_one(job: Job, catalogue: Catalogue, seconds: float | None) -> Line:
    """Answer one case; whatever goes wrong is told in its line."""
    return answered_by(_line, job, catalogue, seconds)


def answered_by(how: AnswerOne, job: Job, catalogue: Catalogue, seconds: float | None) -> Line:
    """What becomes of a job that is answered in some way; what goes wrong is told in its line."""
    begun = time.perf_counter()
    try:
        if job.fault:
            raise InputError(job.fault)
        line = how(job, catalogue, seconds)
    except InputError as error:
        line = Line(job.name, "bad input", message=_told(error))
    except Exception as error:
        line = Line(job.name, "failed", message=f"{type(error).__name__}: {_told(error)}")
    return replace(line, seconds=round(time.perf_counter() - begun, 3))


def _line(job: Job, catalogue: Catalogue, seconds: float | None) -> Line:
    case = make_case(dict(job.data), job.name)
    answer = recommend(case, catalogue, in_brief=True, seconds=seconds, nearest=0)
    choice, proof = answer.choice, answer.proof
    if choice is None or proof is None:
        return Line(job.name, answer.status, currency=catalogue.catalogue.currency)
    return Line(
        job.name,
        answer.status,
        option=choice.id,
        carriers=choice.carriers,
        guide_m=round(choice.loop.length_m, 4) if choice.loop else None,
        floor_m2=round(choice.loop.floor_width_m * choice.loop.floor_extent_m, 4)
        if choice.loop
        else None,
        price=f"{choice.price:.2f}",
        currency=choice.currency,
        at_least=f"{min(proof.best_bound, proof.price):.2f}",
        proven=proof.optimal,
        rate_per_min=round(choice.rate_per_min, 4) if choice.rate_per_min else None,
    )


def _told(error: BaseException) -> str:
    return shown("; ".join(str(error).splitlines()), LONGEST_MESSAGE)


def processes(count: int) -> ProcessPoolExecutor:
    """Processes that answer cases, and end when this one does, however that is."""
    _start_tracker()
    return ProcessPoolExecutor(
        count, mp_context=multiprocessing.get_context("spawn"), initializer=_end_with_parent
    )


def _start_tracker() -> None:
    """Start what looks after the locks of a pool, and go on hearing signals as before.

    On its way it lets interrupts through, which are a listener's here, and when this process is
    told to end it would complain of locks that it then takes away.
    """
    if not hasattr(signal, "pthread_sigmask"):
        return
    blocked = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    warnings = os.environ.get("PYTHONWARNINGS")
    os.environ["PYTHONWARNINGS"] = "ignore::UserWarning:multiprocessing.resource_tracker"
    try:
        resource_tracker.ensure_running()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, blocked)
        if warnings is None:
            del os.environ["PYTHONWARNINGS"]
        else:
            os.environ["PYTHONWARNINGS"] = warnings


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def wait() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait, name="parent", daemon=True).start()


class Journal:
    """Lines that are done, kept beside the result until it is whole.

    A run that is interrupted leaves it behind, and the next one takes its lines over.
    """

    def __init__(self, result: Path) -> None:
        self.path = result.with_name(f"{result.name}.part")

    def read(self) -> list[Line]:
        """The lines of an earlier run; what was cut off in the midst of a line is left out."""
        with refused(self.path, "cannot be read"):
            if not self.path.exists():
                return []
            text = self.path.read_text(encoding="utf-8", errors="replace")
        return [line for line in map(_line_of, text.splitlines()) if line is not None]

    def forget(self) -> None:
        """Take the journal away."""
        with refused(self.path, "cannot be removed"):
            self.path.unlink(missing_ok=True)

    def keep(self, line: Line) -> None:
        """Add a line, on the disk when this returns.

        Raises
        ------
        MachineError
            If the machine fails.
        """
        text = json.dumps(plain(line), ensure_ascii=False)
        with refused(self.path, "cannot be written"), self.path.open("a", encoding="utf-8") as file:
            # A line that was cut off before is ended here.
            file.write(f"\n{text}\n")
            file.flush()
            os.fsync(file.fileno())


def _line_of(text: str) -> Line | None:
    with suppress(ValueError, TypeError):
        data = json.loads(text)
        if isinstance(data, dict) and isinstance(data.get("digest"), str):
            return Line(**data)
    return None
