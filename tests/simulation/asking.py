"""Asking the HTTP app in its own process: no socket, no thread."""

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from monitor.pages.guard import App


def _scope(method: str, path: str, body: bytes) -> dict[str, Any]:
    headers = [(b"host", b"127.0.0.1"), (b"content-type", b"application/json")]
    headers.append((b"content-length", str(len(body)).encode()))
    return {
        "type": "http", "http_version": "1.1", "method": method, "path": path, "raw_path": path.encode(),
        "query_string": b"", "headers": headers, "scheme": "http", "client": ("127.0.0.1", 1), "root_path": "",
        "server": ("127.0.0.1", 8321), "asgi": {"version": "3.0"},
    }  # fmt: skip


async def ask(app: App, method: str, path: str, said: Any = None) -> tuple[int, Any]:
    """The status, and what the answer's JSON says."""
    body = b"" if said is None else json.dumps(said).encode()
    parts: list[bytes] = []
    status = 0
    asked = False

    async def receive() -> dict[str, Any]:
        nonlocal asked
        if asked:
            await asyncio.Event().wait()
        asked = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status
        status = message.get("status", status)
        parts.append(message.get("body", b""))

    await app(_scope(method, path, body), receive, send)
    text = b"".join(parts)
    return status, json.loads(text) if text else None


async def follow(app: App, for_s: float) -> AsyncIterator[dict[str, Any]]:
    """A page's stream: the states it is sent, until it leaves or the stream ends."""
    came: asyncio.Queue[bytes | None] = asyncio.Queue()
    left = asyncio.Event()
    asked = False

    async def receive() -> dict[str, Any]:
        nonlocal asked
        if asked:
            await left.wait()
            return {"type": "http.disconnect"}
        asked = True
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        came.put_nowait(message.get("body", b""))

    async def listen() -> None:
        await app(_scope("GET", "/api/live", b""), receive, send)
        came.put_nowait(None)

    listening = asyncio.create_task(listen())
    loop = asyncio.get_running_loop()
    until_s = loop.time() + for_s
    try:
        while loop.time() < until_s and (part := await came.get()) is not None:
            if b"data: " in part:
                yield json.loads(part.partition(b"data: ")[2])
    finally:
        left.set()
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
