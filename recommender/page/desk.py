"""The desk: which question is being answered, and what is known about it and earlier ones."""

import asyncio
import hashlib
import json
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from recommender.lines.model import Line
from recommender.page.workers import Answers, Asked, Said

MOST_KEPT: Final = 24
"""Questions that are remembered with their answers."""


class State(StrEnum):
    """What becomes of a question."""

    WORKING = "working"
    DONE = "done"
    SUPERSEDED = "superseded"
    FAILED = "failed"


@dataclass
class Question:
    """A case or a line that was asked, and the best answer to it so far.

    ``step`` counts what was told about it, so that who waits knows whether there is news.
    """

    id: str
    case: Asked
    data: Mapping[str, Any]
    state: State = State.WORKING
    answer: Said | None = None
    failure: str = ""
    step: int = 0
    news: asyncio.Event = field(default_factory=asyncio.Event)

    def tell(self, state: State, answer: Said | None = None, failure: str = "") -> None:
        """Change it, and wake up who waits for news."""
        self.state, self.failure = state, failure
        self.answer = answer or self.answer
        self.step += 1
        self.news.set()
        self.news = asyncio.Event()

    async def after(self, step: int, patience: float) -> None:
        """Wait until more than ``step`` is known, or as long as one has patience."""
        if self.step > step or self.state is not State.WORKING:
            return
        try:
            async with asyncio.timeout(patience):
                await self.news.wait()
        except TimeoutError:
            return


class Desk:
    """Takes one question at a time to those that answer, and remembers what came of it.

    A question that was asked before is answered from memory; one that comes while another is
    answered takes its place.
    """

    def __init__(self, answers: Answers) -> None:
        self._answers = answers
        self._known: OrderedDict[str, Question] = OrderedDict()
        self._current: Question | None = None

    def ask(self, case: Asked, data: Mapping[str, Any]) -> Question:
        """A question, which is being answered from now on if it is not yet."""
        id_ = _id(case, data)
        question = self._known.get(id_)
        current = self._current
        if current is not None and current is not question and current.state is State.WORKING:
            current.tell(State.SUPERSEDED)
        if question is None:
            question = self._known[id_] = Question(id_, case, data)
        elif question.state in (State.DONE, State.WORKING):
            if question.state is State.WORKING:
                self._current = question
            self._known.move_to_end(id_)
            return question
        else:
            question.tell(State.WORKING)
        self._known.move_to_end(id_)
        while len(self._known) > MOST_KEPT:
            self._known.popitem(last=False)
        self._current = question
        self._start(question)
        return question

    def find(self, id_: str) -> Question | None:
        """A question that is remembered."""
        return self._known.get(id_)

    def close(self) -> None:
        """End what is being answered."""
        self._answers.close()

    def _start(self, question: Question) -> None:
        loop = asyncio.get_running_loop()

        def told(said: Said | str | None) -> None:
            # It comes from a thread; a loop that has ended in the meantime needs no news.
            if not loop.is_closed():
                loop.call_soon_threadsafe(self._hear, question, said)

        self._answers.start(question.case, told)

    def _hear(self, question: Question, said: Said | str | None) -> None:
        if question is not self._current or question.state is not State.WORKING:
            return  # told just before it was superseded
        if said is None:
            question.tell(State.DONE)
        elif isinstance(said, str):
            question.tell(State.FAILED, failure=said)
        else:
            question.tell(State.WORKING, answer=said)


def _id(case: Asked, data: Mapping[str, Any]) -> str:
    """The same for the same case, written the same way."""
    # Of a line its file says it all.
    read = None if isinstance(case, Line) else case.model_dump(mode="json")
    text = json.dumps([read, data], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
