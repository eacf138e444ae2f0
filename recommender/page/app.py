"""The page as an application: what it shows, what it is asked, and the files that it gives."""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from importlib.resources import files
from typing import Any, Final
from urllib.parse import parse_qsl

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from recommender.choice.decision.beforehand import cannot_work
from recommender.faults import InputError
from recommender.inputs.case import Case, check_currency, check_without
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.toml_text import parse_toml
from recommender.lines import is_line
from recommender.lines.reading import check_line_currency, make_line
from recommender.lines.result import LineAnswer
from recommender.page import form, wares
from recommender.page.content import answer_values, headline, line_values
from recommender.page.desk import Desk, Question, State
from recommender.page.gate import FILE_POLICY, Gate
from recommender.page.rooms import rooms
from recommender.page.workers import Answers
from recommender.sheet import content
from recommender.shown import escaped, shown
from recommender.views.line_words import line_headline
from recommender.views.numbers import amount, lowered, place, raised

MOST_FIELDS: Final = 2000
MOST_WAITING: Final = 16
"""Requests that may wait for news at once; each page has one."""
_PATIENCE: Final = 20.0
_STATIC: Final = {
    # The sheet's style, and what the page adds to it.
    "sheet.css": ("recommender.sheet", "text/css; charset=utf-8"),
    "page.css": ("recommender.page", "text/css; charset=utf-8"),
    "page.js": ("recommender.page", "text/javascript; charset=utf-8"),
    "icon.svg": ("recommender.page", "image/svg+xml; charset=utf-8"),
}


@dataclass(frozen=True)
class Setting:
    """What a page is served with: what may be chosen from, and what it begins with."""

    catalogue: Catalogue
    start: Mapping[str, Any]
    worked: Mapping[str, Mapping[str, Any]]


def application(
    setting: Setting, answers: Callable[[], Answers], token: str, hosts: Sequence[str]
) -> Gate:
    """The application behind its gate.

    Parameters
    ----------
    setting : Setting
    answers : callable
        Makes what answers questions, when the server begins.
    token : str
        The secret part of the address.
    hosts : sequence of str
        Names with the port under which it is served.
    """
    page = _Page(setting)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        page.desk = Desk(answers())
        page.begin()
        try:
            yield
        finally:
            page.desk.close()

    routes = [
        Route("/", page.index),
        Route("/question", page.ask, methods=["POST"]),
        Route("/question/{id}", page.news),
        Route("/question/{id}/{name}", page.ware),
        Route(f"/{wares.CASE}", page.save, methods=["POST"]),
        Route("/stations", page.stations, methods=["POST"]),
        Route("/open", page.open, methods=["POST"]),
        Route("/worked/{name}", page.worked, methods=["POST"]),
        Route("/{name}", page.static),
    ]
    return Gate(Starlette(routes=routes, lifespan=lifespan), token, hosts)


class _Page:
    """Answers requests; what is slow runs in a thread, what is being answered in a process."""

    desk: Desk

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        self.environment = _environment()
        self.waiting = 0
        self.making = asyncio.Lock()

    def begin(self) -> None:
        """Answer the case that the page begins with before anybody opens it."""
        read = form.read(form.pairs_of(self.setting.start))
        if read.case is not None and not self._against_catalogue(read.case):
            self.desk.ask(read.case, read.data)

    async def index(self, _: Request) -> Response:
        text = self._render(
            "page.html.j2",
            form=self._form(self.setting.start),
            worked=sorted(self.setting.worked),
            catalogue=self.setting.catalogue.catalogue,
        )
        return Response(text, media_type="text/html")

    async def static(self, request: Request) -> Response:
        name = request.path_params["name"]
        if name not in _STATIC:
            return PlainTextResponse("nothing is here", 404)
        package, kind = _STATIC[name]
        return Response(_text(name, package), headers={"Content-Type": kind})

    async def ask(self, request: Request) -> Response:
        """Read the form: what is wrong, or the question that is answered from now on."""
        pairs = await _pairs(request)
        if pairs is None:
            return PlainTextResponse("these are too many fields", 413)
        read = form.read(pairs)
        faults = dict(read.faults)
        if read.case is not None:
            faults = self._against_catalogue(read.case)
        if read.case is None or faults:
            return JSONResponse({"faults": _seen(faults), "notes": {}})
        question = self.desk.ask(read.case, read.data)
        said = cannot_work(read.case, self.setting.catalogue)
        return JSONResponse(
            {
                "faults": {},
                "notes": _seen(read.notes),
                "question": question.id,
                "beforehand": [raised(escaped(line)) for line in said],
            }
        )

    def _against_catalogue(self, case: Case) -> dict[str, str]:
        """What of a case the catalogue does not have."""
        catalogue, faults = self.setting.catalogue, {}
        try:
            check_currency(case, catalogue.catalogue.currency, "")
        except InputError as error:
            faults["commercial.budget"] = str(error).removeprefix(": ")
        try:
            check_without(case, catalogue.items, "")
        except InputError as error:
            faults["commercial.without"] = str(error).removeprefix(": ")
        return faults

    async def news(self, request: Request) -> Response:
        """What is known about a question, as soon as it is more than was seen."""
        question = self.desk.find(request.path_params["id"])
        seen = request.query_params.get("seen", "0")
        if question is None or not seen.isdecimal() or len(seen) > 6:
            return PlainTextResponse("this question is not known any more", 404)
        if self.waiting >= MOST_WAITING:
            return PlainTextResponse("too many pages wait", 503)
        self.waiting += 1
        try:
            await question.after(int(seen), _PATIENCE)
        finally:
            self.waiting -= 1
        # From here on it may change; what is shown is of one moment.
        told: dict[str, Any] = {
            "step": question.step,
            "state": question.state,
            "failure": escaped(question.failure),
        }
        answer = question.answer
        if isinstance(answer, LineAnswer):
            told["headline"] = line_headline(answer)
            told["explained"] = wares.explained(answer)
            told["html"] = await run_in_threadpool(
                self._render, "line.html.j2", **line_values(answer, question.id)
            )
            told["wares"] = wares.ready(answer)
        elif answer is not None:
            told["headline"] = headline(answer)
            told["explained"] = answer.extent.explained
            working = question.state is State.WORKING and not answer.extent.explained
            told["so_far"] = working and bool(answer.unsettled)
            told["html"] = await run_in_threadpool(
                self._render, "answer.html.j2", **answer_values(answer, question.id)
            )
            if answer.choice is not None:
                told["rooms"] = rooms(answer.choice.headroom, question.data)
            told["wares"] = wares.ready(answer)
        return JSONResponse(told)

    async def ware(self, request: Request) -> Response:
        """A file made of an answer."""
        name = request.path_params["name"]
        question = self.desk.find(request.path_params["id"])
        maker = wares.MAKERS.get(name)
        if question is None or maker is None:
            return PlainTextResponse("this question is not known any more", 404)
        if question.answer is None:
            return PlainTextResponse("there is no answer yet", 409)
        if maker.lacking:
            return PlainTextResponse(f"{' and '.join(maker.lacking)} is not installed here", 501)
        # One at a time: the library that draws charts is not made for several threads.
        async with self.making:
            made = await run_in_threadpool(_made, maker, question)
        if made is None:
            return PlainTextResponse("no option meets this case, so there is none", 409)
        if name == wares.SHOWN:
            return Response(made, headers=_headers(maker.type))
        return Response(made, headers=_headers(maker.type, question.case.title, name))

    async def save(self, request: Request) -> Response:
        """The case file of a form, finished or not."""
        pairs = await _pairs(request)
        if pairs is None:
            return PlainTextResponse("these are too many fields", 413)
        data = form.data_of(pairs)
        headers = _headers("application/toml; charset=utf-8", data.get("title", ""), wares.CASE)
        return Response(wares.case_file(data), headers=headers)

    async def stations(self, request: Request) -> Response:
        """The form with a station more or less."""
        pairs = await _pairs(request)
        if pairs is None:
            return PlainTextResponse("these are too many fields", 413)
        do = dict(pairs).get("do", "")
        data = form.with_stations(form.data_of(pairs), do)
        return JSONResponse({"form": self._form(data)})

    async def open(self, request: Request) -> Response:
        """The form for a case file."""
        body = await request.body()
        where = shown(request.query_params.get("name", "the file"))
        try:
            data = parse_toml(body.decode("utf-8-sig"), where)
            if is_line(data):
                return self._open_line(data, where)
            data = form.opened(data, where)
        except UnicodeDecodeError:
            return JSONResponse({"refused": f"{where}: is no text in UTF-8; a case is TOML"})
        except InputError as error:
            return JSONResponse({"refused": escaped(str(error), keep="\n")})
        return JSONResponse({"form": self._form(data)})

    def _open_line(self, data: dict[str, Any], where: str) -> Response:
        """The question that a line of loops is, which has no form."""
        line, catalogue = make_line(data, where), self.setting.catalogue
        check_line_currency(line, catalogue.catalogue.currency, where)
        check_without(line.loops[0].case, catalogue.items, where)
        question = self.desk.ask(line, data)
        note = self._render("line_form.html.j2", title=line.title, loops=line.names)
        return JSONResponse({"line": question.id, "form": note})

    async def worked(self, request: Request) -> Response:
        """The form for a worked case."""
        data = self.setting.worked.get(request.path_params["name"])
        if data is None:
            return PlainTextResponse("there is no such case", 404)
        return JSONResponse({"form": self._form(data)})

    def _form(self, data: Mapping[str, Any]) -> Markup:
        groups = form.groups(data, self.setting.catalogue.items)
        return Markup(self._render("form.html.j2", groups=groups, most=form.MOST_STATIONS))

    def _render(self, name: str, **values: object) -> str:
        return self.environment.from_string(_text(name)).render(values)


def _headers(kind: str, title: object = "", name: str = "") -> dict[str, str]:
    """What is said with a file; one that has a name is saved and not shown."""
    headers = {"Content-Type": kind, "Content-Security-Policy": FILE_POLICY}
    if name:
        saved = wares.file_name(title, name)
        headers["Content-Disposition"] = f'attachment; filename="{saved}"'
    return headers


def _made(maker: wares.Maker, question: Question) -> bytes | None:
    made = maker.make(question)
    return made.encode() if isinstance(made, str) else made


def _text(name: str, package: str = "recommender.page") -> str:
    return (files(package) / "templates" / name).read_text(encoding="utf-8")


def _environment() -> Environment:
    """Everything that is filled in is escaped, whoever wrote it; what is missing is a fault."""
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: (
            escaped(value) if isinstance(value, str) and not isinstance(value, Markup) else value
        ),
    )
    environment.globals.update(
        amount=amount,
        clash=content.clash,
        dearer=content.dearer,
        lowered=lowered,
        more_of=content.more_of,
        place=place,
        price_of=content.price_of,
        raised=raised,
        way_words=content.way_words,
    )
    return environment


async def _pairs(request: Request) -> list[tuple[str, str]] | None:
    """What a form sent; nothing if it is more than a form has."""
    body = await request.body()
    try:
        return parse_qsl(
            body.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=MOST_FIELDS
        )
    except ValueError:
        return None


def _seen(texts: Mapping[str, str]) -> dict[str, str]:
    return {name: escaped(text) for name, text in texts.items()}
