"""The world keeps every litre, holds the water at the heel, and throttles at the float valve."""

from itertools import pairwise
from math import inf

import pytest

from simulated_feeds import open_scenario
from simulated_feeds.oracle import Oracle
from simulated_feeds.shifts import FAMILIES, random_shift
from simulated_feeds.world import World


def _flowed_l(world: World) -> float:
    return sum(
        (s.inflow_l_min - sum(s.draw_l_min) - s.lost_l_min) * (s.end_s - s.start_s) / 60 for s in world.segments
    )


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", range(4))
def test_no_water_is_lost_or_made(family: str, seed: int) -> None:
    story = random_shift(seed, family, "drawing", "mixed")  # type: ignore[arg-type]
    world = story.world
    begins_l = world.water.volume_l
    world.run_to(8 * 3600.0)
    assert world.water.volume_l - begins_l == pytest.approx(_flowed_l(world), abs=1e-6)
    for before, after in pairwise(world.segments):
        assert after.start_s == before.end_s
        assert after.volume_l == pytest.approx(before.volume_at(before.end_s), abs=1e-6)


def test_no_water_is_lost_when_hands_are_put_in() -> None:
    story = open_scenario("fairground")
    begins_l = story.world.water.volume_l
    for minute, (what, how) in enumerate([
        ("trigger", {"pump": "Rides", "on": True}),
        ("tap", {"open": False}),
        ("leak", {"flow_l_min": 12.0}),
        ("tap", {"open": True, "share": 0.4}),
        ("fill", {"flow_l_min": 80.0}),
        ("engine", {"pump": "Rides", "on": False}),
        ("fill", {"flow_l_min": 0.0}),
        ("leak", {"flow_l_min": 0.0}),
        ("give-back", {"pump": "Rides"}),
    ]):
        story.advance(story.start_at + 60 * minute + 30.5)
        story.hand(what, **how)
    story.advance(story.start_at + 1200)
    world = story.world
    assert world.water.volume_l - begins_l == pytest.approx(_flowed_l(world), abs=1e-6)


def test_at_the_heel_the_pumps_draw_air_and_the_level_stands() -> None:
    world = open_scenario("slow-tap").world
    world.run_to(5400)
    starved = [s for s in world.segments if s.starved]
    assert starved
    for segment in starved:
        assert segment.volume_l == pytest.approx(world.water.heel_l, abs=1e-6)
        assert segment.net_l_min == pytest.approx(0.0, abs=1e-9)
        assert sum(segment.draw_l_min) < sum(p.rate_l_min for p in world.pumps)


def test_the_crew_waits_for_water_and_goes_on() -> None:
    story = open_scenario("slow-tap", seed=5)
    world = story.world
    world.run_to(1800)
    assert world.foreman.phase == "wait"
    world.run_to(2 * 3600)
    assert world.foreman.phase == "work"


def test_the_float_valve_throttles_and_shuts() -> None:
    story = open_scenario("overfilled")
    story.world.misfortunes.forget()
    story.world.run_to(3600)
    segments = [s for s in story.world.segments if s.start_s > 60]
    assert max(s.volume_at(s.end_s) for s in segments) <= 300 * 3.7855
    flows = [s.inflow_l_min for s in segments]
    assert flows[0] > 17
    assert flows[-1] < 4
    assert max(s.end_s - s.start_s for s in segments if s.volume_l > 271 * 3.7854) <= 1.0


def test_a_tank_runs_over_at_its_capacity() -> None:
    story = open_scenario("overfilled")
    story.world.run_to(3600)
    last = story.world.segments[-1]
    assert last.volume_l == pytest.approx(320 * 3.785411784, rel=1e-6)
    assert last.lost_l_min == pytest.approx(last.inflow_l_min)


def test_the_hose_is_off_on_the_road() -> None:
    world = open_scenario("fairground").world
    world.run_to(8 * 3600)
    on_road = [s for s in world.segments if s.moving]
    assert on_road
    assert all(s.inflow_l_min == 0.0 and not any(s.engine) for s in on_road)


def test_the_families_pause_as_they_are_said_to() -> None:
    def pauses(family: str) -> list[float]:
        world = random_shift(3, family).world  # type: ignore[arg-type]
        world.run_to(8 * 3600)
        out: list[float] = []
        since: float | None = None
        for s in world.segments:
            if s.engine[0] and not s.trigger[0]:
                since = s.start_s if since is None else since
            elif since is not None:
                out.append(s.start_s - since)
                since = None
        return sorted(out)

    timetable, heavy = pauses("timetable"), pauses("heavy")
    assert timetable[len(timetable) // 2] == pytest.approx(timetable[9 * len(timetable) // 10], abs=0.2)
    assert heavy[int(0.95 * len(heavy))] > 3 * heavy[len(heavy) // 2]


def test_the_truth_foretells_what_then_happens() -> None:
    told = random_shift(0, "tuning", "level")
    dry_at = told.truth(told.start_at + 3600).dry_at
    assert dry_at < inf
    lived = random_shift(0, "tuning", "level")
    lived.advance(dry_at - 1)
    heel_l = lived.world.water.heel_l
    assert lived.truth(dry_at - 1).volume_l > heel_l
    lived.advance(dry_at + 0.5)
    assert lived.truth(dry_at).volume_l == pytest.approx(heel_l, abs=1e-6)
    assert told.truth(told.start_at + 1800.5) == lived.truth(lived.start_at + 1800.5)


def test_a_hand_put_in_changes_the_future_and_not_the_past() -> None:
    story = open_scenario("slow-tap")
    story.advance(story.start_at + 300)
    before, past = story.truth(story.start_at + 300).dry_at, story.truth(story.start_at + 200).volume_l
    story.hand("fill", flow_l_min=100.0)
    assert story.truth(story.start_at + 300).dry_at != before
    assert story.truth(story.start_at + 200).volume_l == past


def test_a_crew_that_reacts_stops_when_warned_and_others_do_not() -> None:
    for reacts, phase in ((None, "work"), ("20 s", "wait")):
        story = open_scenario("slow-tap")
        if reacts is not None:
            story.world.foreman.ways.reacts_s = 20.0
        story.advance(story.start_at + 300)
        story.hand("warned")
        story.advance(story.start_at + 330)
        assert story.world.foreman.phase == phase


def test_the_oracle_is_right_as_often_as_it_says() -> None:
    below = {0.05: 0, 0.5: 0, 0.95: 0}
    asked = 0
    for seed in range(10):
        story = random_shift(seed, "tuning", "level")
        oracle = Oracle(story.scenario, story.seed)
        for minute in range(20, 480, 15):
            truth = story.truth(story.start_at + 60 * minute)
            dry_s = truth.dry_at - truth.at
            if not (truth.net_l_min < 0 and 0 < dry_s < 900):
                continue
            times = oracle.dry_times_s(60.0 * minute, plays=20)
            asked += 1
            for share in below:
                below[share] += dry_s <= times[int(share * 20)]
    assert asked >= 15
    assert below[0.05] / asked < 0.25
    assert 0.3 < below[0.5] / asked < 0.75
    assert below[0.95] / asked > 0.8


def test_chemical_is_drawn_while_soaping_and_reaches_the_gun_after_the_hose() -> None:
    world = open_scenario("fairground").world
    world.run_to(4 * 3600)
    (line,) = world.lines
    assert 0.0 <= line.left_l < 5 * 3.785
    line.soap_at_gun = False
    line.left_l = 10.0
    flush_s = line.hose_l / 22.7 * 60  # 150 ft of 3/8 in at 6 gpm: 8.6 s, common practice
    assert flush_s == pytest.approx(8.6, abs=0.1)
    line.pass_water(22.7, False, 60.0)
    line.pass_water(22.7, True, flush_s * 0.9)
    assert not line.soap_at_gun
    line.pass_water(22.7, True, flush_s * 0.2)
    assert line.soap_at_gun
    assert line.left_l == pytest.approx(10.0 - line.injects_l_min * flush_s * 1.1 / 60)
