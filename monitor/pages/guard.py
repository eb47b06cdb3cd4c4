"""What every request passes first: who may ask, from where, and how much; and the headers every answer carries."""

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from fastapi.responses import JSONResponse, RedirectResponse, Response

from monitor.pages.devices import Device, DevicesUnread
from monitor.pages.door import Door
from monitor.pages.roles import may, rule_of

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BODY = 16_384
BODY_S = 10.0
LOOPBACK_NAMES = {"localhost", "127.0.0.1", "::1", "[::1]"}
HEADERS = {
    b"content-security-policy": b"default-src 'self'; img-src 'self' data:; frame-ancestors 'none'; base-uri 'none'",
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-resource-policy": b"same-origin",
}


class Guard:
    """An ASGI wrapper: only host names of our own (a page elsewhere can't rebind its name to us), changes only from our
    own pages, bodies of a bounded size. On loopback everybody is the owner; with a `door`, each is what his device is
    paired as, and may what `roles` says."""

    def __init__(self, app: App, door: Door | None = None) -> None:
        self.app, self.door = app, door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return  # a web socket is refused by the server
        headers = {k.decode("latin-1"): v.decode("latin-1") for k, v in scope["headers"]}
        device = self.door.device_of(headers) if self.door else None
        refused = self._refused(scope, headers, device)
        if refused is not None:
            await refused(scope, receive, _with_headers(send))
            return
        scope["role"] = device.role if device else "owner"
        if device is None or self.door is None:
            await self.app(scope, _bounded(receive), _with_headers(send))
        else:
            await _while_paired(self.app, self.door, device, scope, _bounded(receive), _with_headers(send))

    def _refused(self, scope: Scope, headers: dict[str, str], device: Device | None) -> Response | None:
        known = self.door.knows if self.door else LOOPBACK_NAMES.__contains__
        client = (scope.get("client") or ("",))[0]
        if self.door is not None and not self.door.asks.take(device.id if device else client):
            return _no(429, "this device asks too often", "close pages that are open twice")
        refusal = _refusal(scope["method"], headers, known)
        if refusal is not None:
            return _no(*refusal)
        if self.door is None:
            return None
        return _unpaired(scope, headers, device)


def _no(status: int, error: str, do: str) -> Response:
    return JSONResponse({"error": error, "do": do}, status)


def _unpaired(scope: Scope, headers: dict[str, str], device: Device | None) -> Response | None:
    """Why a device is not let in there, or None where it is."""
    if may(device.role if device else None, rule_of(scope["method"], scope["path"])):
        return None
    if device is not None:
        return _no(403, "this is for the owner", "do it on a device that was paired as the owner's")
    if scope["method"] == "GET" and "text/html" in headers.get("accept", ""):
        return RedirectResponse("/pair", 303)
    return _no(401, "this device is not paired", "run holdwater pair on the rig's computer, then open /pair here")


async def _while_paired(app: App, door: Door, device: Device, scope: Scope, receive: Receive, send: Send) -> None:
    """An answer that is still going out, such as a stream, ends once its device is no longer let in."""
    ended = False

    async def sending(message: MutableMapping[str, Any]) -> None:
        nonlocal ended
        if message["type"] == "http.response.body" and not _still(door, device):
            ended = True
            await send({"type": "http.response.body", "body": b"", "more_body": False})
            raise ConnectionAbortedError("the device is no longer paired")
        await send(message)

    try:
        await app(scope, receive, sending)
    except Exception:
        if not ended:
            raise


def _still(door: Door, device: Device) -> bool:
    try:
        return door.devices.is_paired(device)
    except DevicesUnread:
        return False


def _refusal(method: str, headers: dict[str, str], known: Callable[[str], bool]) -> tuple[int, str, str] | None:
    host = _name(headers.get("host", ""))
    if not known(host):
        error = f"this page is not served under the name {host[:60]!r}"
        return 421, error, "open it by its address, or set [page] names"
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
    taken, more = 0, True

    async def bounded() -> MutableMapping[str, Any]:
        nonlocal taken, more
        try:
            message = await asyncio.wait_for(receive(), BODY_S if more else None)
        except TimeoutError:
            return {"type": "http.disconnect"}
        more = more and message.get("more_body", False)
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
