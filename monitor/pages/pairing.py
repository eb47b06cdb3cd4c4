"""Pairing: a page that takes the short code, and the cookie it is exchanged for."""

from collections.abc import Callable

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from monitor.pages.door import COOKIE, Door

LASTS_S = 400 * 86400  # the most that browsers keep one for
FILES = {
    "pair.js": "pair/pair.js", "pair.css": "pair/pair.css", "theme.css": "shared/theme.css",
    "theme.js": "shared/theme.js", "en.json": "words/pair.en.json", "es.json": "words/pair.es.json",
}  # fmt: skip


class PairBody(BaseModel):
    """The code that ``holdwater pair`` shows, and what the device is to be called."""

    model_config = ConfigDict(extra="forbid")

    code: str = Field(max_length=40)
    name: str = Field("", max_length=60)


def pairing_routes(page: Callable[[str], Response], door: Door | None) -> APIRouter:
    """`page` answers with a file of the dashboards; `door` is None on loopback, where nothing is to be paired."""
    router = APIRouter()

    def there() -> Door:
        if door is None:
            raise HTTPException(404)
        return door

    @router.get("/pair", include_in_schema=False)
    def index() -> Response:
        there()
        return page("pair/index.html")

    @router.get("/pair/{file}", include_in_schema=False)
    def file(file: str) -> Response:
        """What the page needs, for a device that may see nothing else; and what it can be told to trust."""
        trust = there().certificate.trust
        if file == "trust.crt" and trust is not None:
            return Response(trust.read_bytes(), media_type="application/x-x509-ca-cert")
        if file not in FILES:
            raise HTTPException(404)
        return page(FILES[file])

    @router.post("/pair", status_code=204)
    def pair(body: PairBody, request: Request) -> Response:
        """Exchanges a code, once, for the cookie that lets this device in."""
        at = there()
        if not at.may_guess(request.client.host if request.client else ""):
            return JSONResponse({"error": "too many codes were tried", "do": "wait a minute"}, 429)
        paired = at.devices.pair(body.code, body.name)
        if paired is None:
            error = "this code is not good: mistyped, used already, or older than five minutes"
            return JSONResponse({"error": error, "do": "run holdwater pair again for a new one"}, 403)
        answer = Response(status_code=204)
        answer.set_cookie(COOKIE, paired[1], max_age=LASTS_S, path="/", secure=True, httponly=True, samesite="lax")
        return answer

    return router
