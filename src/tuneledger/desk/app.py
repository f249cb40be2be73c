"""The desk's answers to requests. What is behind `Guard` may assume that the desk's page asked."""

from collections.abc import Awaitable, Callable, Collection
from dataclasses import replace
from typing import Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from tuneledger.bounded import json_of
from tuneledger.calibrations.asam.files import Wishes
from tuneledger.desk.arrival import arrive
from tuneledger.desk.case import wishes_of
from tuneledger.desk.channels import channel_of
from tuneledger.desk.drawer import OWN_FAULT, Case, Drawer
from tuneledger.desk.guard import Guard
from tuneledger.desk.saving import saved
from tuneledger.desk.screens import case_screen, desk_screen, waiting_screen
from tuneledger.desk.told import forget_answer, takes_back, told_of
from tuneledger.desk.whatif import read_edits, told
from tuneledger.errors import Fault, TuneledgerError, UsageError
from tuneledger.pages.notes import note_of
from tuneledger.wording import visible

_LARGEST_JSON = 1_000_000
_MOST_NOTES = 200


class Desk:
    """The requests of one desk. `stop` ends the program."""

    def __init__(self, drawer: Drawer) -> None:
        self.drawer = drawer
        self.stop: Callable[[], None] = lambda: None

    async def desk(self, request: Request) -> Response:
        return _screen(desk_screen(list(self.drawer.cases.values()), self._keeps))

    @property
    def _keeps(self) -> str:
        return str(self.drawer.folder) if self.drawer.kept else ""

    async def begin(self, request: Request) -> Response:
        return JSONResponse({"case": self.drawer.begin().name})

    async def page(self, request: Request) -> Response:
        case, others = self._case(request), list(self.drawer.cases.values())
        if case.statement is None and not case.stage and not case.faults and case.settings.papers:
            self.drawer.read(case)  # a case of a kept desk, looked at for the first time
        if case.statement is None:
            return _screen(waiting_screen(case, others))
        return _screen(await run_in_threadpool(case_screen, case, others))

    async def state(self, request: Request) -> Response:
        return JSONResponse(_state(self._case(request)))

    async def states(self, request: Request) -> Response:
        return JSONResponse({name: _state(case) for name, case in self.drawer.cases.items()})

    async def file(self, request: Request) -> Response:
        case = self._case(request)
        name = request.query_params.get("name", "")
        size = request.headers.get("content-length", "")
        await arrive(case, name, size, request.stream(), self.drawer.limits)
        return JSONResponse(_state(case))

    async def channel(self, request: Request) -> Response:
        case = self._case(request)
        log, name = (request.query_params.get(key, "") for key in ("log", "name"))
        return JSONResponse(await run_in_threadpool(channel_of, case.statement, log, name))

    async def read(self, request: Request) -> Response:
        case = self._case(request)
        self.drawer.read(case)
        return JSONResponse(_state(case))

    async def papers(self, request: Request) -> Response:
        """Another sheet is said to run, a paper is taken away, or an image is read otherwise."""
        case, given = self._case(request), await _json(request)
        first, gone = (str(given.get(key, "")) for key in ("first", "remove"))
        settings = case.settings
        names = [paper.name for paper in settings.papers]
        if first in names:
            settings = replace(settings, first=first)
        elif gone in names:
            settings = settings.without(gone)
        elif isinstance(given.get("wishes"), dict):
            settings = replace(settings, wishes=_wishes(given["wishes"]))
        else:
            raise UsageError(Fault("there is no such file in this case"))
        self.drawer.read(case, settings)
        return JSONResponse(_state(case))

    async def roles(self, request: Request) -> Response:
        case, given = self._case(request), await _json(request)
        settings = case.settings
        if case.statement is None:
            raise UsageError(Fault("there is no statement yet"))
        answers = told_of(case.statement, settings.told, given)
        if self.drawer.terms.memory and takes_back(given):
            forget_answer(case.statement, given)
        self.drawer.read(case, replace(settings, told=answers))
        return JSONResponse(_state(case))

    async def edits(self, request: Request) -> Response:
        case, given = self._case(request), await _json(request)
        edits, to = read_edits(given.get("edits")), str(given.get("to", ""))
        found = await run_in_threadpool(case.edit, edits, to)
        if found is None:
            raise UsageError(Fault("there is no sheet to edit"))
        return JSONResponse(await run_in_threadpool(told, found))

    async def notes(self, request: Request) -> Response:
        case, given = self._case(request), await _json(request)
        items = given.get("notes")
        if not isinstance(items, list) or len(items) > _MOST_NOTES:
            raise UsageError(Fault("these are no notes, or far too many"))
        notes = [note for item in items if (note := note_of(item)) is not None]
        return JSONResponse({"beside": visible(await run_in_threadpool(case.note, notes))})

    async def save(self, request: Request) -> Response:
        case = self._case(request)
        name, media, content = await run_in_threadpool(saved, case, request.path_params["what"])
        named = f"attachment; filename*=UTF-8''{quote(visible(name))}"
        return Response(content, media_type=media, headers={"Content-Disposition": named})

    async def put_away(self, request: Request) -> Response:
        await run_in_threadpool(self.drawer.put_away, self._case(request))
        return JSONResponse({})

    async def close(self, request: Request) -> Response:
        self.stop()
        return JSONResponse({})

    def _case(self, request: Request) -> Case:
        case = self.drawer.cases.get(request.path_params["case"])
        if case is None:
            raise HTTPException(404, "This case is no longer on the desk.")
        return case


def application(desk: Desk, token: str, hosts: Collection[str]) -> ASGIApp:
    """The whole desk, guarded. `hosts` are the names under which it may be asked."""
    one = "/cases/{case}"
    routes = [
        _route("/", "GET", desk.desk),
        _route("/states", "GET", desk.states),
        _route("/close", "POST", desk.close),
        _route("/cases", "POST", desk.begin),
        _route(f"{one}/", "GET", desk.page),
        _route(f"{one}/", "DELETE", desk.put_away),
        _route(f"{one}/state", "GET", desk.state),
        _route(f"{one}/files", "PUT", desk.file),
        _route(f"{one}/channel", "GET", desk.channel),
        _route(f"{one}/read", "POST", desk.read),
        _route(f"{one}/papers", "POST", desk.papers),
        _route(f"{one}/roles", "POST", desk.roles),
        _route(f"{one}/edits", "PUT", desk.edits),
        _route(f"{one}/notes", "PUT", desk.notes),
        _route(f"{one}/save/{{what}}", "GET", desk.save),
    ]
    inner = Starlette(
        routes=routes,
        exception_handlers={
            TuneledgerError: _told,
            OSError: _disk,
            HTTPException: _plain,
            Exception: _own_fault,
        },
    )
    inner.router.redirect_slashes = False
    return Guard(inner, token, hosts)


def _route(path: str, method: str, answer: Callable[[Request], Awaitable[Response]]) -> Route:
    return Route(path, answer, methods=[method])


def _screen(screen: tuple[str, str]) -> HTMLResponse:
    text, policy = screen
    headers = {"Content-Security-Policy": f"{policy}; frame-ancestors 'none'"}
    return HTMLResponse(text.encode("utf-8", "backslashreplace"), headers=headers)


def _wishes(given: dict[str, Any]) -> Wishes:
    """How an image is read, as a page says it; the shift is a text, decimal or as 0x…"""
    try:
        shift = int(str(given.get("shift") or "0").strip(), 0)
        return wishes_of({**given, "shift": shift})
    except (TypeError, ValueError):
        fault = Fault("this is no shift of addresses", expected="a number such as 4096 or 0x1000")
        raise UsageError(fault) from None


def _state(case: Case) -> dict[str, Any]:
    """How far a case is."""
    with case.lock:
        return {
            "stage": visible(case.stage),
            "ready": case.statement is not None,
            "drawn": case.drawn,
            "faults": [visible(str(fault)) for fault in case.faults],
            "says": visible(case.statement.headline) if case.statement else "",
        }


async def _json(request: Request) -> dict[str, Any]:
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > _LARGEST_JSON:
            raise UsageError(Fault("far too much was sent"))
    given = json_of(body)
    if not isinstance(given, dict):
        raise UsageError(Fault("this is not what a page of the desk sends"))
    return given


async def _told(request: Request, problem: Exception) -> Response:
    faults = problem.faults if isinstance(problem, TuneledgerError) else ()
    return JSONResponse({"faults": [visible(str(fault)) for fault in faults]}, 422)


async def _disk(request: Request, problem: Exception) -> Response:
    words = problem.strerror if isinstance(problem, OSError) else ""
    says = f"The disk refused it ({words or 'the reason is not known'}). Make room and try again."
    return JSONResponse({"faults": [says]}, 507)


async def _own_fault(request: Request, problem: Exception) -> Response:
    what = visible(f"{OWN_FAULT}{type(problem).__name__}: {problem}")
    return JSONResponse({"faults": [what]}, 500)


async def _plain(request: Request, problem: Exception) -> Response:
    status = problem.status_code if isinstance(problem, HTTPException) else 500
    detail = problem.detail if isinstance(problem, HTTPException) else ""
    return PlainTextResponse(detail, status)
