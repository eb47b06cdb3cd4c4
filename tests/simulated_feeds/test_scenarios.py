"""Every scenario that comes with the program can be played, and what it expects is what its world makes come true."""

from math import inf
from pathlib import Path

import pytest
from playing import story_of

from monitor.rig.load import load
from simulated_feeds import open_scenario, scenario_names
from simulated_feeds.scenario import ALARMS, MustRaise
from simulated_feeds.story import Story
from simulated_feeds.units import BadScenario, amount

ACT_TIME_S = 120.0
RULE_S = 140.0


@pytest.mark.parametrize("name", scenario_names())
def test_it_opens_and_runs_an_hour(name: str) -> None:
    story = open_scenario(name)
    events = story.advance(story.start_at + 3600)
    nodes = {event["node"] for event in events if "pack" in event}
    assert nodes == {node.name for node in story.aboard.nodes}
    assert len(events) > 3600
    assert story.title != name


@pytest.mark.parametrize("name", scenario_names())
def test_the_daemon_takes_its_rig_file(name: str, tmp_path: Path) -> None:
    story = open_scenario(name)
    file = tmp_path / "rig.toml"
    file.write_text(story.rig_toml, encoding="utf-8")
    rig = load(file)
    assert [pump.name for pump in rig.pumps] == [pump.name for pump in story.world.pumps]
    for share in (0.1, 0.4, 0.8):
        volume_l = share * rig.tank.capacity_l
        assert story.world.tank.height_m(volume_l) == pytest.approx(rig.tank.strapping.height_m(volume_l), abs=5e-4)


def _flat_out_s(story: Story, at_s: float, drew_s: dict[int, float]) -> float:
    """Truly, how long the water lasts if all pumps that run, or drew within ten minutes, draw without a pause."""
    world = story.world
    segment = world.at(at_s)
    drew_s.update({i: at_s for i, draw in enumerate(segment.draw_l_min) if draw > 0})
    used = [
        pump.rate_l_min * pump.wear
        for i, pump in enumerate(world.pumps)
        if segment.engine[i] or at_s - drew_s.get(i, -inf) < 600
    ]
    net = sum(used) + segment.lost_l_min - segment.inflow_l_min
    return max(segment.volume_at(at_s) - world.water.heel_l, 0.0) / net * 60 if net > 0 else inf


def _truly(story: Story) -> dict[str, float]:
    """When each alarm that the truth alone decides first comes due, in s; and so does any on the sure side of it."""
    due: dict[str, float] = {}
    rig = story.scenario.rig
    band_l, full_l = amount(rig["tank"]["band"][0]), amount(rig["tank"]["full"])
    drew_s: dict[int, float] = {}
    for second in range(int(story.scenario.hours * 3600)):
        segment = story.world.at(second)
        volume_l = segment.volume_at(second)
        flat_out_s = _flat_out_s(story, second, drew_s)
        for alarm, so in (
            ("dry-soon", flat_out_s < RULE_S),
            ("surely dry-soon", flat_out_s < ACT_TIME_S / 2),
            ("surely water-low", volume_l < 0.9 * band_l),
            ("surely overfill", volume_l > 1.02 * full_l),
            ("overfill", volume_l > 1.005 * full_l),
            ("surely tow-heavy", segment.moving and volume_l > 1.1 * amount(rig["tank"].get("tow_limit", full_l))),
        ):
            if so:
                due.setdefault(alarm, second)
    return due


@pytest.mark.parametrize("name", scenario_names())
def test_what_it_expects_is_what_happens(name: str) -> None:
    story = open_scenario(name)
    story.world.run_to(story.scenario.hours * 3600)
    due = _truly(story)
    for must in story.expect.must:
        assert must.after_s < must.before_s <= story.scenario.hours * 3600
        if must.alarm in ("dry-soon", "overfill"):
            assert must.after_s <= due[must.alarm] <= must.before_s - 60
        if must.alarm == "tow-heavy":
            assert must.after_s <= due["surely tow-heavy"] <= must.before_s
    for alarm in story.expect.must_not:
        assert f"surely {alarm}" not in due, f"{alarm} must not be raised, and has cause"


@pytest.mark.parametrize("name", scenario_names())
def test_a_must_names_a_fault_or_a_state_within_its_time(name: str) -> None:
    story = open_scenario(name)
    onsets = [amount(row.get("at", 0.0)) for row in story.scenario.tables.get("fault", [])]
    of_faults = {"supply-lost", "level-signal", "supply-signal", "node-lost", "leak", "pump-starved", "draw-low"}
    for must in story.expect.must:
        if must.alarm in of_faults:
            assert any(must.after_s <= onset <= must.before_s for onset in onsets), must


def test_the_rest_must_not_be_raised() -> None:
    story = story_of('[expect]\nmust = [{ alarm = "leak", between = ["1 min", "2 min"] }]\nmay = ["dry"]')
    assert story.expect.must == (MustRaise("leak", 60.0, 120.0),)
    assert set(story.expect.must_not) == set(ALARMS) - {"leak", "dry"}


def test_acts_of_people_come_in_their_place() -> None:
    story = story_of('[[act]]\nact = "acknowledge"\nalarm = "water-low"\nby = "Ana"\nat = "90 s"')
    events = story.advance(story.start_at + 120)
    (act,) = [event for event in events if "act" in event]
    assert act == {"at": story.start_at + 90, "act": "acknowledge", "alarm": "water-low", "by": "Ana"}


@pytest.mark.parametrize(("text", "says"), [
    ("title = 3 4", "is no TOML"),
    ('titel = "x"', "found titel, expected only act, begins"),
    ('begins = "half past"', 'begins: found "half past", expected hours and minutes'),
    ('water = { start = "lots" }', '[water] start: found "lots", expected a number, a space and a unit'),
    ('crew = { family = "circus" }', 'found "circus", expected tuning, timetable or heavy'),
    ('crew = { day = [["nap", "1 h"]] }', '[crew] day: found "nap", expected one of setup, work'),
    ('[[hand]]\npump = "Roof"', '[[hand]] pump: found "Roof", expected one of Rides, Stalls, Stands'),
    ('[sensor."tank/depth"]\nnoise = "1 mm"', "the rig has no such sensor, expected one of tank/level"),
    ('[node.roof]\nloses = 0.1', "the rig has no such node, expected one of tank, inlet"),
    ('begins = "25:00"', 'begins: found "25:00", expected hours and minutes'),
    ('water = { start = "5 gpm" }', '[water] start: found "5 gpm", expected a number, a space and a unit of gal'),
    ('water = { start = "5000 L" }', "[water] start: found 5000 L, expected what the tank holds, 0 to 1"),
    ('tap = { flow = "3 L" }', '[tap] flow: found "3 L", expected a number, a space and a unit of gpm'),
    ('[[fault]]\nwhat = "leak"\nat = "10 m"', '[[fault]] at: found "10 m", expected a number, a space and'),
    ('[[fault]]\nwhat = "leak"\nflow = "3 litres"', '[[fault]] leak, flow: found "3 litres", expected'),
    ('[[fault]]\nwhat = "tap-weak"\nto = "80 %"', 'tap-weak, to: found "80 %", expected a number such as 0.4'),
    ('[[fault]]\nwhat = "level-drifts"\nby = "60 mm"', '[[fault]] level-drifts, by: found "60 mm", expected'),
    ('[expect]\nmust = [{ alarm = "dry", between = ["50 min", "20 min"] }]', "expected the earlier time first"),
    ('[expect]\nmust = [{ alarm = "dry", between = [3000, 20] }]', "found 3000 and 20, expected the earlier"),
    ('[expect]\nmay = ["hungry"]', 'found "hungry", expected one of dry, dry-soon'),
])  # fmt: skip
def test_a_wrong_scenario_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(BadScenario) as refused:
        story_of(text)
    assert says in str(refused.value)


def test_a_missing_one_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(BadScenario, match='no scenario "circus": expected a file, or one of backlog'):
        open_scenario("circus")
    with pytest.raises(BadScenario, match="no scenario file"):
        open_scenario(tmp_path / "circus.toml")


def test_a_file_of_ones_own_with_a_rig_beside_it(tmp_path: Path) -> None:
    rig = open_scenario("level-alone").rig_toml.replace("A tank with a level sensor", "My tank")
    (tmp_path / "mine.toml").write_text(rig, encoding="utf-8")
    (tmp_path / "day.toml").write_text('title = "Mine"\nrig = "mine"\n', encoding="utf-8")
    assert "My tank" in open_scenario(tmp_path / "day.toml").rig_toml


def test_a_crew_that_says_so_touches_the_page() -> None:
    story = open_scenario("flipped-slope")
    acts = [(event["act"], event["at"] - story.start_at) for event in story.events() if "act" in event]
    assert acts == [("packing-up", 720.0), ("new-place", 1500.0)]
