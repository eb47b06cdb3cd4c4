"""The live stream: the newest to everybody, one place a listener, no silence."""

import asyncio
from collections.abc import AsyncIterator

import pytest

from monitor.pages import live as module
from monitor.pages.live import Live, TooManyStreams
from tests.simulation.loop import Loop


class Counter:
    """Renders a number that grows with each rendering."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self) -> bytes:
        self.count += 1
        return str(self.count).encode()


async def first(events: AsyncIterator[bytes]) -> bytes:
    return await asyncio.wait_for(anext(events), 10.0)


def test_a_listener_gets_the_state_at_once_and_again_without_any_change() -> None:
    async def lived() -> None:
        events = Live(Counter()).follow()
        assert (await first(events)).endswith(b"data: 1\n\n")
        assert await first(events) == b"data: 2\n\n"

    asyncio.run(lived())


def test_one_rendering_serves_all_and_a_slow_listener_gets_the_newest() -> None:
    async def lived() -> None:
        live = Live(Counter())
        quick, slow = live.follow(), live.follow()
        await first(quick)
        await first(slow)
        for number in (3, 4, 5):
            live.changed()
            assert await first(quick) == f"data: {number}\n\n".encode()
        assert await first(slow) == b"data: 5\n\n"

    asyncio.run(lived())


def test_a_burst_of_changes_is_one_push_at_once_and_one_later() -> None:
    async def lived() -> None:
        live = Live(Counter())
        events = live.follow()
        await first(events)
        for _ in range(1000):
            live.changed()
        assert live.pushes == 1
        assert await first(events) == b"data: 2\n\n"
        assert await first(events) == b"data: 3\n\n"
        assert live.pushes == 2

    asyncio.run(lived())


def test_a_listener_that_leaves_gives_its_place_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_STREAMS", 2)

    async def lived() -> None:
        live = Live(Counter())
        for _ in range(5):
            live.follow()  # asked for, and gone before the first event
        held = [live.follow(), live.follow()]
        for events in held:
            await first(events)
        with pytest.raises(TooManyStreams):
            live.follow()
        await held[0].aclose()
        live.follow()
        assert "1 streams" in repr(live)

    asyncio.run(lived())


def test_closing_ends_every_stream() -> None:
    async def lived() -> None:
        live = Live(Counter())
        events = live.follow()
        await first(events)
        live.close()
        live.changed()
        assert [event async for event in events] == []

    asyncio.run(lived())


def test_after_many_changes_there_is_still_one_push_in_each_pause() -> None:
    """On a clock that leaps: a timer left behind by each change would push for ever."""

    async def lived() -> None:
        live = Live(Counter())
        events = live.follow()
        await first(events)
        for _ in range(100):
            await asyncio.sleep(0.1)
            live.changed()
        before = live.pushes
        await asyncio.sleep(9.5)
        assert live.pushes == before + 10

    Loop().run_until_complete(lived())


def test_in_a_flood_there_are_ten_pushes_a_second_and_after_it_fifty_again() -> None:
    """Five thousand packs a second, then ten."""

    async def pushes(live: Live, packs: int, gap_s: float) -> int:
        before, end_s = live.pushes, asyncio.get_running_loop().time() + 2.0
        while asyncio.get_running_loop().time() < end_s:
            live.changed(packs)
            await asyncio.sleep(gap_s)
        return live.pushes - before

    async def lived() -> None:
        live = Live(Counter())
        events = live.follow()
        await first(events)
        flood, calm = await pushes(live, 25, 0.005), await pushes(live, 1, 0.021)
        assert 18 <= flood <= 22
        assert 90 <= calm <= 98

    Loop().run_until_complete(lived())
