"""The owner's page: signals, nodes, rejects, calibration, the checklist of the retrofit."""

from collections.abc import Callable
from typing import Any, Literal, Protocol

import msgspec
from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field


class OwnersDesk(Protocol):
    """What the owner's page asks of the daemon."""

    def owner(self) -> dict[str, Any]: ...


class CalibrateBody(BaseModel):
    """One step of a calibration."""

    model_config = ConfigDict(extra="forbid")

    step: Literal["begin", "end", "point", "keep", "drop", "undo"]
    what: Literal["fill", "bucket", "level", "draw"] | None = None
    of: str | None = Field(None, max_length=200)
    by: str = Field("", max_length=60)
    known_l: float | None = Field(None, gt=0, le=100_000, allow_inf_nan=False)
    start_l: float | None = Field(None, ge=0, le=100_000, allow_inf_nan=False)
    seconds: float | None = Field(None, gt=0, le=86_400, allow_inf_nan=False)
    height_m: float | None = Field(None, ge=0, le=100, allow_inf_nan=False)


def owner_routes(
    page: Callable[[str], Response], desk: OwnersDesk, act: Callable[[str, str, dict[str, Any]], Response]
) -> APIRouter:
    """`page` answers with a file of the dashboards; `act` does what a person did, or answers why not."""
    router = APIRouter()
    encode: Callable[[Any], bytes] = msgspec.json.Encoder().encode

    @router.get("/owner", include_in_schema=False)
    def index() -> Response:
        return page("owner/index.html")

    @router.get("/api/owner")
    async def owner() -> Response:
        """Every signal raw and converted, nodes, rejects, calibrations, the checklist of the retrofit."""
        return Response(encode(desk.owner()), media_type="application/json")

    @router.post("/api/owner/calibrate", status_code=204)
    async def calibrate(body: CalibrateBody) -> Response:
        """One step of a calibration: begin, end, a point, keep, drop, undo."""
        return act("calibrate", body.by, body.model_dump(exclude_none=True, exclude={"by"}))

    return router
