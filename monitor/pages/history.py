"""What was, over HTTP: any signal over any window, from the journal.

Every question is answered in a thread of its own by a connection that can't write, at most two at a time: whoever looks
back never keeps the daemon from looking ahead.
"""

import asyncio
from collections.abc import Callable, Sequence
from typing import Annotated, Any, Literal, Protocol, TypeVar

import msgspec
from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel

from monitor.changes import AlarmChange
from monitor.journal.faults import JournalFault

AT_ONCE = 2
MOST_SIGNALS = 16
MOST_POINTS = 4000
HOUR_S = 3600.0
T = TypeVar("T")


class Known(Protocol):
    """A signal that can be asked for."""

    @property
    def name(self) -> str: ...
    @property
    def unit(self) -> str: ...


class Line(Known, Protocol):
    """A signal over a window."""

    @property
    def source(self) -> Literal["raw", "minute", "half hour"]: ...
    @property
    def points(self) -> Sequence[tuple[float, float, float, float, int]]: ...


class Past(Protocol):
    """What is asked of the journal, from other threads. Raises JournalFault where there is none to read."""

    def signals(self) -> Sequence[Known]: ...
    def span(self) -> tuple[float, float] | None: ...
    def series(self, names: list[str], since: float, until: float, points: int) -> Sequence[Line]: ...
    def alarms(self, since: float, until: float) -> list[AlarmChange]: ...


class SignalShown(BaseModel):
    """A signal and its unit. The node `rig` is what was believed; every other is what was read."""

    name: str
    unit: str


class Signals(BaseModel):
    """What there is, and from when to when in Unix seconds; null while nothing is kept yet."""

    first: float | None
    last: float | None
    signals: list[SignalShown]


class LineShown(SignalShown):
    """A signal over the window; `points` are [at, least, mean, most, how many], a point without a value left out."""

    source: Literal["raw", "minute", "half hour"]
    points: list[tuple[float, float, float, float, int]]


class Answer(BaseModel):
    """The window as it was understood, its signals, and what people were told in it, in wall time."""

    since: float
    until: float
    signals: list[LineShown]
    alarms: list[dict[str, Any]]


class NoWindow(ValueError):
    """Nothing can lie between these two."""


def history_routes(page: Callable[[str], Response], past: Past) -> APIRouter:
    """`page` answers with a file of the dashboards."""
    router = APIRouter()
    turns = asyncio.Semaphore(AT_ONCE)

    async def answer(ask: Callable[[], bytes]) -> Response:
        try:
            async with turns:
                return Response(await asyncio.to_thread(ask), media_type="application/json")
        except JournalFault as fault:
            return JSONResponse({"error": fault.why, "do": fault.do}, 503)
        except NoWindow as wrong:
            return JSONResponse({"error": str(wrong), "do": "let since come before until"}, 422)

    @router.get("/history", include_in_schema=False)
    def index() -> Response:
        return page("history/index.html")

    @router.get("/api/history/signals", response_model=Signals)
    async def signals() -> Response:
        """Every signal the journal has, and the time it covers."""
        return await answer(lambda: _signals(past))

    @router.get("/api/history", response_model=Answer)
    async def history(
        signal: Annotated[list[str], Query(min_length=1, max_length=MOST_SIGNALS, description="again for each one")],
        since: Annotated[float | None, Query(ge=0, le=1e10, description="Unix seconds; else an hour earlier")] = None,
        until: Annotated[float | None, Query(ge=0, le=1e10, description="Unix seconds; else the newest kept")] = None,
        points: Annotated[int, Query(ge=1, le=MOST_POINTS, description="at most so many")] = 1000,
    ) -> Response:
        """Least, mean and most of signals in each point of a window: raw up to about an hour, else from a roll-up."""
        return await answer(lambda: _history(past, signal, since, until, points))

    return router


def _signals(past: Past) -> bytes:
    first, last = past.span() or (None, None)
    known = [{"name": each.name, "unit": each.unit} for each in past.signals()]
    return msgspec.json.encode({"first": first, "last": last, "signals": known})


def _history(past: Past, names: list[str], since: float | None, until: float | None, points: int) -> bytes:
    if until is None:
        span = past.span()
        until = 0.0 if span is None else span[1] + 1e-6
    since = max(until - HOUR_S, 0.0) if since is None else since
    if until <= since:
        raise NoWindow(f"a window from {since:g} to {until:g} holds no time")
    lines = [
        {"name": line.name, "unit": line.unit, "source": line.source, "points": line.points}
        for line in past.series(list(dict.fromkeys(names)), since, until, points)
    ]
    told = [change.line() for change in past.alarms(since, until)]
    return msgspec.json.encode({"since": since, "until": until, "signals": lines, "alarms": told})
