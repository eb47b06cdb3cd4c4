"""The HTTP app: pages, state, stream, history, acts, health."""

from collections.abc import Callable
from importlib.resources import files
from pathlib import PurePosixPath
from typing import Any, Literal, NamedTuple, Protocol

import msgspec
from fastapi import FastAPI, HTTPException, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response, StreamingResponse
from pydantic import BaseModel, ConfigDict, Field

from monitor import __version__
from monitor.pages.alarms import alarm_routes
from monitor.pages.bench import Bench, bench_routes
from monitor.pages.books import BooksDesk, books_routes
from monitor.pages.door import Door
from monitor.pages.history import Past, history_routes
from monitor.pages.live import Live, TooManyStreams
from monitor.pages.metrics import metrics_routes
from monitor.pages.owner import owner_routes
from monitor.pages.pairing import pairing_routes
from monitor.pages.plan import PlansDesk, plan_routes
from monitor.pages.practice import practice_routes
from monitor.pages.roles import may_act
from monitor.pages.ways import way_routes
from monitor.pages.words import words

TYPES = {
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
    ".json": "application/json", ".svg": "image/svg+xml", ".png": "image/png",
    ".webmanifest": "application/manifest+json",
}  # fmt: skip

EXAMPLES = ("gallery/", "states/", "bench/")


class Part(NamedTuple):
    """The health of one part. `why` and `do` are sentences when it fails."""

    name: str
    ok: bool
    why: str = ""
    do: str = ""


class ActRefused(Exception):
    """An act that can't be taken: what is wrong, and what to do instead."""

    def __init__(self, error: str, do: str) -> None:
        super().__init__(error)
        self.error, self.do = error, do


class Desk(PlansDesk, BooksDesk, Protocol):
    """What the pages ask of the daemon. All calls come from the event loop's thread and return at once."""

    def state(self) -> dict[str, Any]: ...
    def past(self, minutes: int) -> dict[str, Any]: ...
    def owner(self) -> dict[str, Any]: ...
    def health(self) -> list[Part]: ...
    def lag_s(self) -> float: ...
    def act(self, act: str, by: str, alarm: str | None, detail: dict[str, Any]) -> None: ...
    @property
    def simulated(self) -> bool: ...
    @property
    def bench(self) -> Bench | None: ...
    @property
    def practice(self) -> Any: ...
    @property
    def history(self) -> Past: ...


class ActBody(BaseModel):
    """What a person did on a page."""

    model_config = ConfigDict(extra="forbid")

    act: Literal[
        "acknowledge", "shelve", "unshelve", "out-of-service", "packing-up", "new-place", "start-job", "finish-job",
        "filling-past-meter", "dumping", "it-stands-here", "rinsing", "soaping", "reset-permit", "test-horn",
        "serviced", "hose-added", "drew-down", "chemical-filled", "laid-up",
    ]  # fmt: skip
    alarm: str | None = Field(None, max_length=40)
    by: str = Field("", max_length=60)
    minutes: float | None = Field(None, gt=0, le=1440)
    volume_l: float | None = Field(None, ge=0, le=100_000)
    pump: str | None = Field(None, max_length=200)
    node: str | None = Field(None, max_length=200)
    signal: str | None = Field(None, max_length=200)
    on: bool | None = None
    site: str | None = Field(None, max_length=200)
    note: str | None = Field(None, max_length=400)
    service: str | None = Field(None, max_length=200)
    hose: str | None = Field(None, max_length=100)
    length_m: float | None = Field(None, ge=0, le=1000, allow_inf_nan=False)
    seconds: float | None = Field(None, gt=0, le=86_400, allow_inf_nan=False)
    pattern: Literal["release", "high", "medium"] | None = None


def create_app(desk: Desk, live: Live, door: Door | None = None) -> FastAPI:
    app = FastAPI(title="Holdwater", version=__version__, docs_url=None, redoc_url=None)
    app.add_exception_handler(RequestValidationError, _misread)
    _serve_pages(app, desk)
    _serve_state(app, desk, live)
    app.include_router(bench_routes(page, lambda: desk.bench))
    app.include_router(practice_routes(page, lambda: desk.practice))
    app.include_router(way_routes(lambda: desk.bench is not None))
    app.include_router(owner_routes(page, desk, lambda act, by, detail: _done(desk, act, by, None, detail)))
    app.include_router(plan_routes(page, desk))
    app.include_router(books_routes(page, desk))
    app.include_router(metrics_routes(desk))
    app.include_router(pairing_routes(page, door))
    app.include_router(history_routes(page, desk.history))
    told = lambda since, until: desk.history.alarms(since, until)  # noqa: E731
    app.include_router(alarm_routes(page, lambda: float(desk.state()["wall"]), told))
    return app


def _serve_pages(app: FastAPI, desk: Desk) -> None:
    @app.get("/", include_in_schema=False)
    def crew() -> Response:
        return page("crew/index.html")

    @app.get("/gallery", include_in_schema=False)
    def gallery() -> Response:
        return static("gallery/index.html")

    @app.get("/static/{path:path}", include_in_schema=False)
    def static(path: str) -> Response:
        """Examples and the bench are for a simulated day only: nobody may take them for the water in his tank."""
        if path.startswith(EXAMPLES) and not desk.simulated:
            raise HTTPException(404)
        return page(path)


async def _misread(_request: Request, fault: Exception) -> Response:
    """A question or an act that is not as it should be, all that is wrong with it in one sentence."""
    assert isinstance(fault, RequestValidationError)
    wrong = "; ".join(f"{'.'.join(map(str, each['loc'][1:]))}: {each['msg']}" for each in fault.errors())
    return JSONResponse({"error": f"what was sent is not understood: {wrong}", "do": "see /openapi.json"}, 422)


def page(path: str) -> Response:
    """A file of the dashboards package, or 404; nothing outside it and no code."""
    parts = PurePosixPath(path).parts
    kind = TYPES.get(PurePosixPath(path).suffix)
    if kind is None or ".." in parts or path.startswith("/") or "\\" in path or "\0" in path:
        raise HTTPException(404)
    file = files("dashboards").joinpath(*parts)
    if not file.is_file():
        raise HTTPException(404)
    return Response(file.read_bytes(), media_type=kind, headers={"cache-control": "no-cache"})


def _serve_state(app: FastAPI, desk: Desk, live: Live) -> None:
    encode: Callable[[Any], bytes] = msgspec.json.Encoder().encode

    @app.get("/api/state")
    async def state() -> Response:
        """All that the crew page shows, as one object."""
        return Response(encode(desk.state()), media_type="application/json")

    @app.get("/api/live")
    async def stream() -> Response:
        """The same as server-sent events, at least one a second."""
        try:
            events = live.follow()
        except TooManyStreams:
            return JSONResponse({"error": "too many pages are open", "do": "close one"}, 503)
        headers = {"cache-control": "no-store", "x-accel-buffering": "no"}
        return StreamingResponse(events, media_type="text/event-stream", headers=headers)

    @app.get("/api/past")
    async def past(minutes: int = Query(60, ge=1, le=1440)) -> Response:
        """The volume of the last minutes, in steps."""
        return Response(encode(desk.past(minutes)), media_type="application/json")

    @app.get("/api/words/{language}")
    async def words_of(language: Literal["en", "es"]) -> Response:
        """Every word the pages show, alarms included."""
        return Response(encode(words(language)), media_type="application/json")

    @app.get("/healthz")
    async def healthz() -> Response:
        """Each part ok or failing; 503 when one fails."""
        parts = desk.health()
        ok = all(part.ok for part in parts)
        body = {"ok": ok, "parts": {p.name: {"ok": p.ok, "why": p.why, "do": p.do} for p in parts}}
        return JSONResponse(body, 200 if ok else 503)

    @app.post("/api/act", status_code=204)
    async def act(body: ActBody, request: Request) -> Response:
        """A person acknowledges, shelves, packs up, or tells what the signals can't."""
        if not may_act(request.scope.get("role", "owner"), body.act):
            return JSONResponse({"error": "this is for the owner", "do": "do it on the owner's device"}, 403)
        detail = body.model_dump(exclude_none=True, exclude={"act", "alarm", "by"})
        return _done(desk, body.act, body.by, body.alarm, detail)


def _done(desk: Desk, act: str, by: str, alarm: str | None, detail: dict[str, Any]) -> Response:
    try:
        desk.act(act, by, alarm, detail)
    except ActRefused as refused:
        return JSONResponse({"error": refused.error, "do": refused.do}, 409)
    return Response(status_code=204)
