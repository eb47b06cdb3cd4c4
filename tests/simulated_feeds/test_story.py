"""A story is the same day every time, however it is stepped, and loses no water."""

import json
from itertools import pairwise

import pytest

from simulated_feeds import open_scenario
from simulated_feeds.shifts import random_shift


def _bytes(seed: int, step_s: float, upto_s: float) -> str:
    story = open_scenario("fairground", seed)
    out: list[dict[str, object]] = []
    at = story.start_at
    while at < story.start_at + upto_s:
        at = min(at + step_s, story.start_at + upto_s)
        out += story.advance(at)
    return "\n".join(json.dumps(event) for event in out)


def test_the_same_seed_gives_the_same_bytes_however_it_is_stepped() -> None:
    assert _bytes(3, 0.25, 900) == _bytes(3, 37.0, 900)


def test_another_seed_gives_another_day() -> None:
    assert _bytes(3, 60, 120) != _bytes(4, 60, 120)


def test_arrivals_come_in_strict_order_with_no_second_of_silence() -> None:
    story = open_scenario("fairground")
    stamps = [event["at"] for event in story.advance(story.start_at + 1200)]
    assert all(a < b <= a + 1.0 for a, b in pairwise(stamps))


def test_no_water_is_lost_or_made() -> None:
    story = open_scenario("fairground")
    world = story.world
    begins_l = world.water.volume_l
    world.run_to(8 * 3600.0)
    flowed_l = sum(
        (s.inflow_l_min - sum(s.draw_l_min) - s.lost_l_min) * (s.end_s - s.start_s) / 60 for s in world.segments
    )
    assert abs(world.water.volume_l - begins_l - flowed_l) < 1e-6


def test_the_fairground_runs_low_within_ten_to_twenty_minutes() -> None:
    for seed in range(8):
        story = open_scenario("fairground", seed)
        low_l = story.world.water.heel_l + 140 / 60 * (13.05 - 5) * 3.785
        low_s = next(t for t in range(3600) if story.truth(story.start_at + t).volume_l < low_l)
        assert 8 * 60 < low_s < 24 * 60, seed


def test_time_that_nobody_listens_to_passes_in_the_world() -> None:
    heard, skipped = (random_shift(4, sensors="level+meter", hours=1.0) for _ in range(2))
    heard.advance(heard.start_at + 1200.0)
    skipped.skip(skipped.start_at + 1200.0)
    assert skipped.truth(skipped.start_at + 1200.0) == heard.truth(heard.start_at + 1200.0)
    totals = []
    for story in (heard, skipped):
        events = story.advance(story.start_at + 1210.0)
        assert all(1200.0 <= event["at"] - story.start_at <= 1210.0 for event in events[1:])
        records = [record for event in events for record in event.get("pack", ())]
        totals.append(next(record["v"] for record in records if record["n"] == "flow"))
    assert totals[0] == pytest.approx(totals[1], rel=0.02)
