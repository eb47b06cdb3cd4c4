"""Every fault that a rig can have can be thrown at all it may be thrown at, and lifted again as it was thrown."""

import pytest
from playing import story_of

from simulated_feeds.faults import FAULTS
from simulated_feeds.sensor import Sensor
from simulated_feeds.units import BadScenario

RIGS = ("bare", "fairground", "midway")


@pytest.mark.parametrize("rig", RIGS)
def test_every_choice_can_be_thrown_and_lifted(rig: str) -> None:
    story = story_of("", rig)
    story.advance(story.start_at + 5)
    for name, choices in story.choices().items():
        for key, named in list(choices.items()) or [("", [""])]:
            for at in named:
                story.set_fault(name, True, **({key: at} if at else {}))
                assert (name in story.faults_on) == FAULTS[name].lasting
                story.set_fault(name, False)
    story.advance(story.start_at + 10)
    assert story.faults_on == set()
    assert all(pump.wear == pump.suction == 1.0 for pump in story.world.pumps)
    assert not any(sensor.ills.lost or sensor.ills.stuck for sensor in story.aboard.sensors(Sensor, {}))


def test_a_rig_is_offered_only_what_it_can_have() -> None:
    assert set(story_of("", "fairground").choices()) == set(FAULTS) - {"freezing"}
    bare = story_of("", "bare")
    offered = bare.choices()
    assert ("float-stuck" in offered) == (bare.world.tap.float_valve is not None)
    assert not any("/" in each and each.split("/")[0] not in {n.name for n in bare.aboard.nodes}
                   for at in offered.values() for each in at.get("reading", ()))  # fmt: skip


def test_a_day_worked_by_hand_is_lived_again_from_the_rows_it_wrote_down() -> None:
    first = story_of("")
    told = first.advance(first.start_at + 300.4)
    first.set_fault("leak", True)
    first.hand("trigger", pump="Rides", on=True)
    told += first.advance(first.start_at + 400.4)
    first.set_fault("leak", False)
    first.set_fault("meter-jumps", True, reading="inlet/total")
    first.hand("tap", open=True, share=0.5)
    told += first.advance(first.start_at + 450.4)
    first.hand("give-back", pump="Rides")
    told += first.advance(first.start_at + 900)
    again = story_of(first.done_toml())
    assert again.advance(again.start_at + 900) == told
    assert again.truth(again.start_at + 880, 0) == first.truth(first.start_at + 880, 0)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ('what = "leak"\nflow_l_min = 2.0', 'found "leak", expected one of tap'),
        ('what = "engine"\npump = "Rides"', "found pump, expected"),
        ('what = "trigger"\npump = "Nobody"\non = true', 'found "Nobody"'),
        ('what = "tap"\nwide = true', "found wide"),
    ],
)
def test_a_wrong_row_by_hand_is_refused(row: str, says: str) -> None:
    with pytest.raises(BadScenario, match=says):
        story_of(f'[[by_hand]]\nat = "1 min"\n{row}\n')


def test_what_happened_is_told_with_its_time_whoever_did_it() -> None:
    story = story_of('[[fault]]\nwhat = "tap-shut"\nat = "30 s"\nfor = "10 s"\n')
    story.advance(story.start_at + 20)
    story.hand("engine", pump="Rides", on=True)
    assert story.handles().by_hand == {"Rides": True, "Stalls": False, "Stands": False}
    story.advance(story.start_at + 60)
    told = [(round(each.at - story.start_at), each.what, each.on) for each in story.happened]
    assert told == [(21, "engine", None), (30, "tap-shut", True), (40, "tap-shut", False)]
