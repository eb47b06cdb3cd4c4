"""Half-open connections, slow bodies, crowds from one address, ten thousand streams: the page still answers others."""

import asyncio
import contextlib
import os
import socket
from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest
from test_pages_roles import Desk

from monitor.pages import guard, patience
from monitor.pages.app import create_app
from monitor.pages.guard import Guard
from monitor.pages.live import MOST_STREAMS, Live
from monitor.pages.serving import listen, serve

STREAMS = int(os.environ.get("FUZZ_STREAMS", "1000"))
"""`make fuzz` asks for ten thousand."""
HEAD = b"GET /api/live HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n"


def served(check: Callable[[int, Live], Awaitable[None]]) -> None:
    """A page on a free port, in the test's own loop, while `check` has its port and its streams."""

    async def run() -> None:
        sock, stop, live = listen("127.0.0.1", 0), asyncio.Event(), Live(lambda: b"{}")
        serving = asyncio.create_task(serve(Guard(create_app(Desk(), live)), sock, stop))
        try:
            await asyncio.wait_for(check(sock.getsockname()[1], live), 60 + STREAMS / 10)
        finally:
            live.close()
            stop.set()
            await serving

    asyncio.run(run())


async def healthy(port: int) -> bool:
    async with httpx.AsyncClient() as client:
        return (await client.get(f"http://127.0.0.1:{port}/healthz", timeout=20)).status_code == 200


async def closed(reader: asyncio.StreamReader) -> bool:
    """What is left of an answer is read to its end."""
    with contextlib.suppress(ConnectionError):
        await reader.read()
    return True


@pytest.mark.parametrize("said", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx: "])
def test_who_does_not_finish_asking_is_not_waited_for(said: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "ASKS_WITHIN_S", 0.2)

    async def check(port: int, _: Live) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(said)
        assert await closed(reader)
        assert await healthy(port)
        writer.close()

    served(check)


def test_a_body_that_never_comes_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "BODY_S", 0.2)

    async def check(port: int, _: Live) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(b"POST /api/act HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: application/json\r\n"
                     b"content-length: 90\r\n\r\n{")  # fmt: skip
        assert b"HTTP/1.1" in await reader.read(20) or reader.at_eof()
        assert await healthy(port)
        writer.close()

    served(check)


def test_one_address_has_so_many_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "MOST_OF_ONE", 3)

    async def check(port: int, _: Live) -> None:
        kept = [await asyncio.open_connection("127.0.0.1", port) for _ in range(3)]
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        assert await closed(reader)
        for _, each in [*kept, (reader, writer)]:
            each.close()

    served(check)


def test_asked_for_far_too_many_streams_the_page_still_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    """All that get in are never read from."""
    monkeypatch.setattr(patience, "MOST_OF_ONE", 10_000)
    most = 0

    async def check(port: int, live: Live) -> None:
        nonlocal most
        held: list[socket.socket] = []
        loop = asyncio.get_running_loop()
        for _ in range(STREAMS):
            sock = socket.socket()
            sock.setblocking(False)
            await loop.sock_connect(sock, ("127.0.0.1", port))
            await loop.sock_sendall(sock, HEAD)
            held.append(sock)
            if len(held) > 150:
                held.pop(0).close()
            most = max(most, len(live._waiting))
        for sock in held:
            sock.close()
        while not await healthy(port):
            await asyncio.sleep(0)

    served(check)
    assert 0 < most <= MOST_STREAMS


def test_a_web_socket_is_refused() -> None:
    sent: list[Any] = []

    async def never(*_: Any) -> None:
        sent.append(_)

    asyncio.run(Guard(never)({"type": "websocket"}, never, never))  # type: ignore[arg-type]
    assert sent == []
