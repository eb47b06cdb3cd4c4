"""Each fault does what it says, from its onset to its end, and no other thing."""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from statistics import mean, pstdev

import pytest
from playing import minutes, packs, readings, story_of

from simulated_feeds.faults import FAULTS
from simulated_feeds.story import Story
from simulated_feeds.units import BadScenario

WORK = '[crew]\nday = [["work", "9 h"]]\n[water]\nstart = "260 gal"\n[tap]\nflow = "5 gpm"\n'
STILL = '[crew]\nday = [["work", "1 s"], ["break", "9 h"]]\n[water]\nstart = "150 gal"\n[tap]\nflow = "4 gpm"\n'
BEGINS_S, ENDS_S = 600.0, 1200.0


def fault(what: str, more: str = "", day: str = STILL, settings: str = "") -> Story:
    """A story in which it goes wrong from ten to twenty minutes."""
    return story_of(f'{day}{settings}\n[[fault]]\nwhat = "{what}"\nat = "10 min"\nfor = "10 min"\n{more}')


def error_m(story: Story, events: list[dict[str, object]], since_s: float, until_s: float) -> list[float]:
    """Level read less level true, over a span."""
    low_at, high_at = story.start_at + since_s, story.start_at + until_s
    tilt_m = -0.1 * story.world.place.slope
    seen = [(at, v) for at, v in readings(events, "tank/level") if low_at < at < high_at]
    return [v - story.truth(at, 0).height_m - tilt_m for at, v in seen]


def span(story: Story, events: list[dict[str, object]], reading: str, since_s: float, until_s: float) -> list[float]:
    return [v for at, v in readings(events, reading) if since_s < at - story.start_at < until_s]


def test_level_stuck_to_the_digit_or_trembling() -> None:
    story = fault("level-stuck")
    assert len(set(span(story, minutes(story, 30), "tank/level", 601, 1200))) == 1
    story = fault("level-stuck", "trembles = true")
    trembles = span(story, minutes(story, 30), "tank/level", 601, 1200)
    assert 0.001 < pstdev(trembles) < 0.004
    story = fault("level-stuck")
    assert abs(mean(error_m(story, minutes(story, 30), 1210, 1700))) < 0.002


@pytest.mark.parametrize(("what", "reading"), [
    ("level-lost", "tank/level"), ("meter-lost", "inlet/total"), ("reading-lost", "rides/drawing"),
])  # fmt: skip
def test_a_lost_reading_leaves_the_packs(what: str, reading: str) -> None:
    story = fault(what, f'reading = "{reading}"')
    events = minutes(story, 30)
    assert span(story, events, reading, 601, 1200) == []
    assert span(story, events, reading, 0, 600)
    assert span(story, events, reading, 1201, 1800)
    node = reading.partition("/")[0]
    assert len([p for p in packs(events, node) if BEGINS_S < p["at"] - story.start_at < ENDS_S]) >= 599


def test_level_drifts_and_comes_back() -> None:
    story = fault("level-drifts", 'by = "120 mm/h"')
    events = minutes(story, 30)
    assert mean(error_m(story, events, 1140, 1200)) == pytest.approx(0.0195, abs=0.001)
    assert mean(error_m(story, events, 1260, 1320)) == pytest.approx(0.0, abs=0.001)


def test_level_jumps() -> None:
    story = fault("level-jumps", 'by = "-70 mm"')
    assert mean(error_m(story, minutes(story, 20), 601, 1199)) == pytest.approx(-0.07, abs=0.001)


def test_a_false_echo_is_steady() -> None:
    story = fault("false-echo", 'height = "34 in"')
    seen = span(story, minutes(story, 20), "tank/level", 601, 1199)
    assert mean(seen) == pytest.approx(34 * 0.0254, abs=0.001)
    assert pstdev(seen) < 0.002


def test_level_out_of_range_is_no_height_a_tank_has() -> None:
    story = fault("level-out-of-range")
    assert max(span(story, minutes(story, 20), "tank/level", 601, 1199)) < 0.0


@pytest.mark.parametrize(("what", "more", "share"), [
    ("meter-dead", "", 0.0), ("meter-stuck", "", 0.0), ("meter-slips", "to = 0.6", 0.6),
    ("meter-over-reads", "to = 1.3", 1.3),
])  # fmt: skip
def test_the_meter_counts_wrongly(what: str, more: str, share: float) -> None:
    story = fault(what, more)
    counted = span(story, minutes(story, 30), "inlet/total", 600, 1200)
    ran_in_l = story.truth(story.start_at + 1200).volume_l - story.truth(story.start_at + 600).volume_l
    assert counted[-1] - counted[0] == pytest.approx(share * ran_in_l, abs=1.0)


def test_a_meter_reset_falls_to_zero_and_counts_on() -> None:
    story = fault("meter-reset")
    counted = span(story, minutes(story, 12), "inlet/total", 0, 720)
    assert max(counted) > 100
    assert counted[-1] == pytest.approx(2 * 15.14, abs=2.0)


def test_a_meter_jumps_once_and_counts_on() -> None:
    story = fault("meter-jumps", 'by = "200 l"')
    totals = span(story, minutes(story, 20), "inlet/total", 500, 1100)
    steps = [b - a for a, b in pairwise(totals)]
    assert [step > 100 for step in steps].count(True) == 1
    assert max(steps) == pytest.approx(200.0, abs=1.0)


def test_a_stuck_signal_says_what_it_said_and_then_the_truth_again() -> None:
    story = fault("signal-stuck", 'reading = "rides/drawing"', day=WORK)
    events = minutes(story, 30)
    said = span(story, events, "rides/drawing", 601, 1200)
    assert len(set(said)) == 1
    late = [(at, v) for at, v in readings(events, "rides/drawing") if at - story.start_at > 1205]
    truths = [story.truth(at, 0) for at, _ in late]
    true = [truth.engine["Rides"] and truth.trigger["Rides"] for truth in truths]
    assert {v for _, v in late} == {True, False}
    assert sum(a != b for (_, a), b in zip(late, true, strict=True)) < 0.05 * len(late)


def test_node_reboots_start_counters_again() -> None:
    story = fault("node-reboots", 'node = "inlet"\nevery = "2 min"')
    events = minutes(story, 30)
    seqs = [r["v"] for p in packs(events, "inlet") for r in p["pack"] if r["n"] == "seq"]
    falls = sum(b < a for a, b in pairwise(seqs))
    assert 4 <= falls <= 8
    totals = [v for _, v in readings(events, "inlet/total")]
    assert sum(b < a - 1 for a, b in pairwise(totals)) == falls
    words = [e["alive"] for e in events if e.get("node") == "inlet" and "alive" in e]
    assert words == ["up", *["gone", "up"] * falls]


def test_a_lost_node_is_silent_and_its_will_is_told() -> None:
    story = fault("node-lost", 'node = "tank"')
    events = minutes(story, 30)
    assert not [p for p in packs(events, "tank") if BEGINS_S + 0.5 < p["at"] - story.start_at < ENDS_S]
    words = [(e["alive"], e["at"] - story.start_at) for e in events if e.get("node") == "tank" and "alive" in e]
    assert [word for word, _ in words] == ["up", "gone", "up"] or [w for w, _ in words] == ["up", "gone", "gone", "up"]
    assert 605 < words[1][1] < 620
    assert readings(events, "tank/level")[-1][0] > story.start_at + 1790


def test_a_backlog_comes_in_one_burst_with_its_age() -> None:
    story = fault("backlog", 'node = "tank"')
    events = minutes(story, 30)
    assert not [p for p in packs(events, "tank") if BEGINS_S + 0.5 < p["at"] - story.start_at < ENDS_S]
    burst = [p for p in packs(events, "tank") if "bt" in p["pack"][0]]
    assert len(burst) == pytest.approx(1200, abs=3)
    assert burst[-1]["at"] - burst[0]["at"] < 30
    first = burst[0]
    assert first["at"] - story.start_at + first["pack"][0]["bt"] == pytest.approx(600, abs=1.0)
    seqs = [r["v"] for p in packs(events, "tank") for r in p["pack"] if r["n"] == "seq"]
    assert sorted(seqs) == list(range(1, len(seqs) + 1))


def test_a_wrong_clock_stamps_its_packs() -> None:
    story = fault("clock-wrong", 'node = "tank"\nby = "90 s"')
    stamped = [p for p in packs(minutes(story, 30), "tank") if "bt" in p["pack"][0]]
    assert len(stamped) == pytest.approx(1200, abs=3)
    assert mean(p["pack"][0]["bt"] - p["at"] for p in stamped) == pytest.approx(90.0, abs=0.1)


def test_lossy_air_loses_and_doubles_and_delays() -> None:
    story = fault("lossy-air", "loses = 0.2\ndoubles = 0.1\nlate = 0.05")
    seqs = [r["v"] for p in packs(minutes(story, 20), "tank") for r in p["pack"] if r["n"] == "seq"]
    assert len(set(seqs)) == pytest.approx(1200 + 1200 * 0.8, rel=0.04)
    assert len(seqs) - len(set(seqs)) == pytest.approx(1200 * 0.08, rel=0.4)
    assert seqs != sorted(seqs)


def test_cold_air() -> None:
    story = fault("freezing", "by = 20")
    cold = []
    for at_s in (300, 900, 1500):
        story.advance(story.start_at + at_s)
        cold.append(story.weather.air_c(at_s) < 3)
    assert cold == [False, True, False]


Check = Callable[[Story], float]
INFLOW: Check = lambda s: s.truth(s.start_at + 900).inflow_l_min  # noqa: E731
LOST: Check = lambda s: s.truth(s.start_at + 900).lost_l_min  # noqa: E731


@pytest.mark.parametrize(("what", "more", "check", "before", "during"), [
    ("tap-shut", "", INFLOW, 15.1, 0.0),
    ("tap-weak", "to = 0.5", INFLOW, 15.1, 8.5),
    ("leak", 'flow = "2 l/min"', LOST, 0.0, 2.0),
    ("burst-line", 'flow = "70 l/min"', LOST, 0.0, 70.0),
    ("fills-past-meter", 'flow = "40 l/min"', INFLOW, 15.1, 55.1),
])  # fmt: skip
def test_the_water_goes_elsewhere(what: str, more: str, check: Check, before: float, during: float) -> None:
    assert check(story_of(STILL)) == pytest.approx(before, abs=1.5)
    assert check(fault(what, more)) == pytest.approx(during, abs=1.5)


def test_filling_past_the_meter_is_not_counted() -> None:
    story = fault("fills-past-meter", 'flow = "40 l/min"', day=STILL.replace("150 gal", "60 gal"))
    counted = span(story, minutes(story, 20), "inlet/total", 600, 1200)
    assert counted[-1] - counted[0] == pytest.approx(151, abs=10)


def test_a_stuck_float_fills_past_the_mark() -> None:
    story = story_of(STILL.replace("150 gal", "290 gal") + '[[fault]]\nwhat = "float-stuck"')
    assert story.truth(story.start_at + 1800).volume_l > 310 * 3.785


@pytest.mark.parametrize(("what", "more", "share"), [
    ("outlet-shut", "", 0.0), ("strainer-blocked", "to = 0.3", 0.3), ("pump-weak", "to = 0.7", 0.7),
    ("pump-fast", "to = 1.25", 1.25),
])  # fmt: skip
def test_a_pump_draws_less_or_more(what: str, more: str, share: float) -> None:
    story = story_of(STILL)
    story.advance(story.start_at + 60)
    story.hand("trigger", pump="Rides", on=True)
    story.advance(story.start_at + 120)
    usual = story.truth(story.start_at + 120).draw_l_min["Rides"]
    params = {"to": float(more.removeprefix("to = "))} if more else {}
    story.set_fault(what, True, pump="Rides", **params)
    events = story.advance(story.start_at + 180)
    assert story.truth(story.start_at + 180).draw_l_min["Rides"] == pytest.approx(share * usual)
    assert readings(events, "rides/drawing")[-1][1] is True
    story.set_fault(what, False, pump="Rides")
    story.advance(story.start_at + 240)
    assert story.truth(story.start_at + 240).draw_l_min["Rides"] == pytest.approx(usual)


def test_an_engine_left_running_on_bypass() -> None:
    story = fault("bypass-left", 'pump = "Rides"', day=WORK)
    minutes(story, 30)
    for second in range(601, 1200, 7):
        truth = story.truth(story.start_at + second)
        assert truth.engine["Rides"]
        assert not truth.trigger["Rides"]
        assert truth.draw_l_min["Rides"] == 0.0
    later = [story.truth(story.start_at + second).trigger["Rides"] for second in range(1200, 1800)]
    assert any(later)


def test_the_slope_flips_at_the_next_place() -> None:
    day = '[crew]\nday = [["work", "5 min"], ["pack", "1 min"], ["tow", "6 min"], ["setup", "9 h"]]\n'
    story = story_of(day + '[[fault]]\nwhat = "slope-flips"\nat = "1 min"')
    before, after = (story.truth(story.start_at + s).slope for s in (60, 900))
    assert before * after < 0
    assert abs(after) >= min(abs(before), 0.01)


def test_every_fault_has_a_title_and_is_tried_here() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    for name, kind in FAULTS.items():
        assert kind.title
        assert f'"{name}"' in text or f"'{name}'" in text, name


def test_faults_are_noted_while_they_last() -> None:
    story = fault("tap-shut")
    minutes(story, 11)
    assert story.faults_on == {"tap-shut"}
    story.set_fault("level-stuck", True)
    assert story.faults_on == {"tap-shut", "level-stuck"}
    minutes(story, 21)
    assert story.faults_on == {"level-stuck"}


@pytest.mark.parametrize(("text", "says"), [
    ('[[fault]]\nwhat = "gremlins"', 'found "gremlins", expected one of level-stuck'),
    ('[[fault]]\nwhat = "leak"\nwhere = "hose"', "found where, expected only at, for, flow"),
    ('[[fault]]\nwhat = "node-lost"\nnode = "roof"', 'found "roof", expected one of tank, inlet'),
    ('[[fault]]\nwhat = "level-stuck"\nreading = "tank/depth"', 'found "tank/depth", expected one of tank/level'),
    ('[[fault]]\nwhat = "pump-weak"\npump = "Roof"', 'found "Roof", expected one of Rides, Stalls, Stands'),
    ('[[fault]]\nwhat = "leak"\nat = "soon"', 'found "soon", expected a number'),
])  # fmt: skip
def test_a_wrong_fault_is_refused_at_once(text: str, says: str) -> None:
    with pytest.raises(BadScenario) as refused:
        story_of(text)
    assert says in str(refused.value)
