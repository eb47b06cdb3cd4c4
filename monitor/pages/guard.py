"""What every request passes first: who may ask, from where, and how much; and the headers every answer carries."""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from fastapi.responses import JSONResponse

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BODY = 16_384
LOOPBACK_NAMES = {"localhost", "127.0.0.1", "::1", "[::1]"}
HEADERS = {
    b"content-security-policy": b"default-src 'self'; img-src 'self' data:; frame-ancestors 'none'; base-uri 'none'",
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-resource-policy": b"same-origin",
}


class Guard:
    """An ASGI wrapper: only loopback host names (a page elsewhere can't rebind its name to us), changes only from our
    own pages, bodies of a bounded size."""

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1"): v.decode("latin-1") for k, v in scope["headers"]}
        refusal = _refusal(scope["method"], headers)
        if refusal is not None:
            status, error, do = refusal
            await JSONResponse({"error": error, "do": do}, status)(scope, receive, _with_headers(send))
            return
        await self.app(scope, _bounded(receive), _with_headers(send))


def _refusal(method: str, headers: dict[str, str]) -> tuple[int, str, str] | None:
    host = _name(headers.get("host", ""))
    if host not in LOOPBACK_NAMES:
        return 421, f"this page is not served under the name {host[:60]!r}", "open it by http://127.0.0.1 and its port"
    if method in ("GET", "HEAD", "OPTIONS"):
        return None
    origin = headers.get("origin")
    if origin is not None and urlsplit(origin).netloc != headers.get("host"):
        return 403, "a change must come from Holdwater's own page", "do it on the page itself"
    length = headers.get("content-length", "0")
    if not length.isdigit() or int(length) > MOST_BODY:
        return 413, f"what was sent is larger than {MOST_BODY} bytes", "send less"
    if not headers.get("content-type", "").startswith("application/json"):
        return 415, "a change is sent as JSON", "set the content type application/json"
    return None


def _name(host: str) -> str:
    """The host without its port; IPv6 keeps its brackets."""
    return host if host.endswith("]") else host.rpartition(":")[0] or host


def _bounded(receive: Receive) -> Receive:
    taken = 0

    async def bounded() -> MutableMapping[str, Any]:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BODY:
            return {"type": "http.disconnect"}
        return message

    return bounded


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {k.lower() for k, _ in message.get("headers", [])}
            added = [(k, v) for k, v in HEADERS.items() if k not in own]
            message = {**message, "headers": [*message.get("headers", []), *added]}
        await send(message)

    return sending
