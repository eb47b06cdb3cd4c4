"""Random shifts: rigs the daemon takes, of the sizes promised; one world under several sets of sensors."""

from collections import Counter
from itertools import pairwise
from math import inf
from pathlib import Path

import pytest
from playing import readings

from monitor.rig.load import load
from simulated_feeds.shifts import FAMILIES, random_shift
from simulated_feeds.units import BadScenario

SHIFTS = [(seed, family) for family in FAMILIES for seed in range(12)]


@pytest.mark.parametrize(("seed", "family"), SHIFTS)
def test_the_daemon_takes_its_rig_and_measures_the_same_tank(seed: int, family: str, tmp_path: Path) -> None:
    story = random_shift(seed, family, "mixed", "mixed")  # type: ignore[arg-type]
    file = tmp_path / "rig.toml"
    file.write_text(story.rig_toml, encoding="utf-8")
    rig = load(file)
    assert rig.tank.heel_l == story.world.water.heel_l
    for share in (0.1, 0.5, 0.9):
        volume_l = share * rig.tank.capacity_l
        assert story.world.tank.height_m(volume_l) == pytest.approx(rig.tank.strapping.height_m(volume_l), abs=5e-4)


def test_the_world_does_not_know_what_measures_it() -> None:
    worlds = [random_shift(5, "tuning", sensors, fault).world for sensors, fault in (
        ("level", None), ("level+meter", None), ("running", "level-lost"), ("drawing", "node-reboots"))]  # fmt: skip
    for world in worlds:
        world.run_to(4 * 3600)
    told = [[(s.start_s, s.volume_l, s.trigger) for s in world.segments] for world in worlds]
    assert told[0] == told[1] == told[2] == told[3]


def test_another_family_is_another_day_and_the_same_seed_the_same() -> None:
    one, same, other = (random_shift(5, family, "level") for family in ("tuning", "tuning", "heavy"))
    first = one.advance(one.start_at + 600)
    assert first == same.advance(same.start_at + 600)
    assert first != other.advance(other.start_at + 600)


def test_sizes_are_as_promised() -> None:
    rigs = [random_shift(seed, "tuning").scenario.rig for seed in range(120)]
    capacities = [float(rig["tank"]["capacity"].split()[0]) for rig in rigs]
    assert 0.55 < sum(1000 <= c <= 2000 for c in capacities) / 120 < 0.85
    assert {len(rig["pump"]) for rig in rigs} == {2, 3}
    kinds = Counter(rig["tank"]["shape"]["kind"] for rig in rigs)
    assert len(kinds) == 6
    measures = {level["measures"] for rig in rigs for level in _levels(rig)}
    assert measures == {"height", "distance", "pressure", "current", "volume"}
    assert {rig["supply"].get("measures") for rig in rigs if "reading" in rig.get("supply", {})} == {
        "total", "pulses", "rate"}  # fmt: skip


def _levels(rig: dict) -> list[dict]:  # type: ignore[type-arg]
    level = rig["tank"]["level"]
    return level if isinstance(level, list) else [level]


def test_something_goes_wrong_in_46_of_100_and_only_then() -> None:
    struck = [bool(random_shift(seed, "tuning", "mixed", "mixed").scenario.tables["fault"]) for seed in range(200)]
    assert sum(struck) / 200 == pytest.approx(0.46, abs=0.1)
    assert not any(random_shift(seed, "tuning", "mixed").scenario.tables["fault"] for seed in range(20))


def test_a_fault_can_be_chosen() -> None:
    for seed in range(5):
        (row,) = random_shift(seed, "heavy", "drawing", "leak").scenario.tables["fault"]
        assert row["what"] == "leak"


def test_each_set_of_sensors_is_what_it_says() -> None:
    for sensors, has in (("level", 0), ("level+meter", 1), ("running", 2), ("drawing", 3)):
        story = random_shift(2, "tuning", sensors)
        events = story.advance(story.start_at + 30)
        seen = [bool(readings(events, name)) for name in ("inlet/flow", "north/running", "north/drawing")]
        assert seen == [has > i for i in range(3)]


def test_tanks_run_dry_and_fill_again_with_nobody_reacting() -> None:
    dries = 0
    for seed in range(12):
        world = random_shift(seed, "tuning").world
        world.run_to(8 * 3600)
        dries += sum(after - before > 300 for before, after in pairwise([-inf, *world.dry_at]))
        volumes = [s.volume_l for s in world.segments]
        assert max(volumes) > min(volumes) + 0.25 * world.water.capacity_l
    assert 12 <= dries <= 72


def test_tilt_is_about_twelve_millimetres() -> None:
    tilts = []
    for seed in range(60):
        story = random_shift(seed, "tuning")
        ahead_m = story.scenario.tables["sensor"]["tank/level"]["ahead"]
        tilts.append(ahead_m * story.world.place.slope)
    rms = (sum(t * t for t in tilts) / 60) ** 0.5
    assert 0.008 < rms < 0.018


@pytest.mark.parametrize(("kwargs", "says"), [
    ({"family": "circus"}, 'family: found "circus"'), ({"sensors": "eyes"}, 'sensors: found "eyes"'),
    ({"fault": "gremlins"}, 'fault: found "gremlins"'),
])  # fmt: skip
def test_wrong_wishes_are_refused(kwargs: dict[str, str], says: str) -> None:
    with pytest.raises(BadScenario) as refused:
        random_shift(1, **kwargs)  # type: ignore[arg-type]
    assert says in str(refused.value)
