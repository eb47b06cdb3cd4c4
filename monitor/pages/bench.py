"""The bench: a simulated day seen from behind, its truth beside what the monitor believes, and hands put into it.

It is there only while the feed is simulated; on a rig every address of it answers 404.
"""

import asyncio
import shlex
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from typing import Any, Literal, Protocol

import msgspec
from fastapi import APIRouter, HTTPException, Query
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from monitor.changes import AlarmChange, Change, Forecast

KEPT = 1080
"""Points of belief, one every ten seconds: three hours of the day."""
ANSWER_S = 5.0
STOPPED = {"error": "the simulated day does not answer", "do": "see /healthz, and start the demo again"}


class World(Protocol):
    """What the bench asks of a simulated feed: from the event loop's thread, answered at once."""

    clock: Any

    @property
    def day(self) -> Any: ...
    @property
    def now(self) -> Any: ...
    def points(self, since: float) -> list[Any]: ...
    def happened(self, since: float) -> list[dict[str, Any]]: ...
    def fault(self, name: str, on: bool, params: dict[str, Any]) -> Future[None]: ...
    def hand(self, what: str, how: dict[str, Any]) -> Future[None]: ...
    def turn(self, speed: float) -> Future[None]: ...


class Bench:
    """Keeps what the monitor believed beside what the world was. Belongs to the event loop's thread."""

    def __init__(self, world: World) -> None:
        self.world = world
        self._belief: deque[list[Any]] = deque(maxlen=KEPT)
        self._alarms: deque[AlarmChange] = deque(maxlen=KEPT)

    def believe(self, changes: Iterable[Change]) -> None:
        """What the monitor has made of the day since the last call."""
        for change in changes:
            if isinstance(change, Forecast):
                self._belief.append(_point(change))
            elif isinstance(change, AlarmChange):
                self._alarms.append(change)

    def seen(self, since: float) -> dict[str, Any] | None:
        """The day, how it stands, and all series after a time (Unix seconds); None before the day has begun."""
        world = self.world
        if world.day is None or world.now is None:
            return None
        return {
            "day": world.day._asdict() | {"speed": world.clock.speed, "again": self._again()},
            "now": world.now._asdict(),
            "truth": world.points(since),
            "belief": [point for point in self._belief if point[0] > since],
            "happened": world.happened(since),
            "alarms": [change.line() for change in self._alarms if change.at > since],
        }

    def _again(self) -> str:
        """The command that lives this day again, without the hands put in."""
        day = self.world.day
        return f"holdwater demo {shlex.quote(day.scenario)} --seed {day.seed} --speed {self.world.clock.speed:g}"


def _point(forecast: Forecast) -> list[Any]:
    """[at, volume, its spread, inflow, time to dry early, likely, late, draws by pump]"""
    line = forecast.line()
    dry = line["dry_s"] or {}
    return [
        *(line[key] for key in ("at", "volume_l", "volume_sd_l", "inflow_l_min")),
        *(dry.get(key) for key in ("p05", "p50", "p95")),
        line["draw_l_min"],
    ]


class FaultBody(BaseModel):
    """A fault to throw or to lift, and at what."""

    model_config = ConfigDict(extra="forbid")

    what: str = Field(max_length=40)
    on: bool
    pump: str | None = Field(None, max_length=200)
    node: str | None = Field(None, max_length=200)
    reading: str | None = Field(None, max_length=200)


class HandBody(BaseModel):
    """Something to do by hand."""

    model_config = ConfigDict(extra="forbid")

    what: Literal["tap", "trigger", "engine", "give-back"]
    pump: str | None = Field(None, max_length=200)
    on: bool | None = None
    open: bool | None = None
    share: float | None = Field(None, ge=0, le=1)


class SpeedBody(BaseModel):
    """How fast the day is to go on."""

    model_config = ConfigDict(extra="forbid")

    speed: float = Field(ge=0.1, le=1000)


def bench_routes(page: Callable[[str], Response], find: Callable[[], Bench | None]) -> APIRouter:
    """`page` answers with a file of the dashboards, `find` gives the bench, None on a rig."""
    router = APIRouter()
    encode: Callable[[Any], bytes] = msgspec.json.Encoder().encode

    def bench() -> Bench:
        found = find()
        if found is None:
            raise HTTPException(404)
        return found

    @router.get("/bench", include_in_schema=False)
    def index() -> Response:
        bench()
        return page("bench/index.html")

    @router.get("/api/bench")
    async def seen(since: float = Query(0.0, ge=0)) -> Response:
        """Only in a simulated day: its truth beside what is believed, on the same instants."""
        said = bench().seen(since)
        return JSONResponse(STOPPED, 503) if said is None else Response(encode(said), media_type="application/json")

    @router.post("/api/bench/fault", status_code=204)
    async def fault(body: FaultBody) -> Response:
        """Only in a simulated day: throws a fault, or lifts it."""
        how = body.model_dump(exclude_none=True, exclude={"what", "on"})
        return await _answer(bench().world.fault(body.what, body.on, how))

    @router.post("/api/bench/hand", status_code=204)
    async def hand(body: HandBody) -> Response:
        """Only in a simulated day: the tap, a trigger, an engine; a gun given back to the crew."""
        how = body.model_dump(exclude_none=True, exclude={"what"})
        return await _answer(bench().world.hand(body.what, how))

    @router.post("/api/bench/speed", status_code=204)
    async def speed(body: SpeedBody) -> Response:
        """Only in a simulated day: how many times as fast as life it goes on."""
        return await _answer(bench().world.turn(body.speed))

    return router


async def _answer(done: Future[None]) -> Response:
    """When the world has done it; the world does it between two of its own steps."""
    try:
        await asyncio.wait_for(asyncio.wrap_future(done), ANSWER_S)
    except ValueError as refused:
        return JSONResponse({"error": str(refused), "do": "look at /api/bench for what this rig has"}, 422)
    except TimeoutError:
        return JSONResponse(STOPPED, 503)
    return Response(status_code=204)
