"""When rounds of deciding begin, and what ends them."""

import asyncio
from collections.abc import Callable
from itertools import pairwise

import pytest

from monitor.rounds import LEAST_S, LONGEST_S, Rounds


def going(decide: Callable[[Rounds, int], None]) -> tuple[Rounds, list[float]]:
    """Rounds that note on the loop's clock when they are called, and the notes."""
    begun: list[float] = []

    def round_() -> None:
        begun.append(asyncio.get_running_loop().time())
        decide(rounds, len(begun))

    rounds = Rounds(round_)
    return rounds, begun


def test_with_nothing_coming_they_go_on_at_the_latest() -> None:
    rounds, begun = going(lambda rounds, count: rounds.stop() if count == 3 else None)
    asyncio.run(rounds.go_on())
    assert len(begun) == 3
    assert begun[2] - begun[0] >= 2 * LONGEST_S - 0.01


def test_what_comes_in_a_rush_is_decided_on_together_and_none_of_it_forgotten() -> None:
    async def rush() -> tuple[int, int]:
        came, taken = 0, 0

        def take() -> None:
            nonlocal taken
            taken = came

        rounds = Rounds(take)
        on_their_way = asyncio.create_task(rounds.go_on())
        await asyncio.sleep(0)
        for _ in range(50):
            came += 1
            rounds.wake()
            await asyncio.sleep(0)
        while taken < came:
            await asyncio.sleep(LEAST_S)
        rounds.stop()
        await on_their_way
        return came, taken

    assert asyncio.run(rush()) == (50, 50)


def test_however_much_comes_the_loop_has_time_between_two_rounds() -> None:
    rounds, begun = going(lambda rounds, count: rounds.stop() if count == 5 else rounds.wake())
    asyncio.run(rounds.go_on())
    assert all(after - before >= LEAST_S for before, after in pairwise(begun))


def test_what_a_round_raises_ends_them() -> None:
    def fail(_rounds: Rounds, count: int) -> None:
        if count == 2:
            raise RuntimeError("undecided")

    rounds, begun = going(fail)
    with pytest.raises(RuntimeError, match="undecided"):
        asyncio.run(rounds.go_on())
    assert len(begun) == 2


def test_stopped_before_they_began_and_woken_after_the_end_they_do_nothing() -> None:
    rounds, begun = going(lambda *_: None)
    rounds.wake()
    rounds.stop()
    asyncio.run(rounds.go_on())
    rounds.wake()
    assert begun == []
