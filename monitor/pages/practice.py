"""The practice page: drills to choose, what a new hand does in them, and how it went. On a rig it says how to begin."""

import asyncio
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, Literal, Protocol

from fastapi import APIRouter, HTTPException
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

ANSWER_S = 5.0


class Practice(Protocol):
    """What the page asks of a daemon that practises."""

    attempt: Any

    def choose(self, drill: str) -> None: ...
    def do(self, hand: str) -> Future[None] | None: ...


class BeginBody(BaseModel):
    """The drill to begin; whatever runs is ended."""

    model_config = ConfigDict(extra="forbid")

    drill: Literal["kinked-tap", "two-guns", "no-soap"]


class DoBody(BaseModel):
    """What the new hand does."""

    model_config = ConfigDict(extra="forbid")

    hand: str = Field(max_length=40)


def practice_routes(page: Callable[[str], Response], find: Callable[[], Practice | None]) -> APIRouter:
    """`page` answers with a file of the dashboards; `find` gives the practice, None on a rig."""
    router = APIRouter()

    def practice() -> Practice:
        found = find()
        if found is None:
            raise HTTPException(404)
        return found

    @router.get("/practice", include_in_schema=False)
    def index() -> Response:
        return page("practice/index.html")

    @router.get("/api/practice")
    async def standing() -> dict[str, Any]:
        """How the drill stands; null on a rig."""
        found = find()
        return {"practice": None if found is None else found.attempt.standing()}

    @router.post("/api/practice/begin", status_code=204)
    async def begin(body: BeginBody) -> Response:
        """Only in practice: begins a drill anew."""
        practice().choose(body.drill)
        return Response(status_code=204)

    @router.post("/api/practice/do", status_code=204)
    async def do(body: DoBody) -> Response:
        """Only in practice: does something in the simulated world."""
        try:
            done = practice().do(body.hand)
            if done is not None:
                await asyncio.wait_for(asyncio.wrap_future(done), ANSWER_S)
        except LookupError:
            return JSONResponse({"error": "this drill has no such thing", "do": "see /api/practice"}, 422)
        except (ValueError, TimeoutError) as fault:
            return JSONResponse({"error": str(fault) or "the day does not answer", "do": "begin the drill anew"}, 503)
        return Response(status_code=204)

    return router
