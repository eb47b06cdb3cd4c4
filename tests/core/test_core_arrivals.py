"""What arrives: stale, old, late, twice, from a clock that is wrong, from a node that restarts, from nobody known."""

import pytest
from trailer import BEGIN, Trailer, Watched, rig

from monitor.core import Core
from monitor.core.standing import standing
from monitor.readings import Act, Alive, Pack, Record, Reject, WallStep


def level(height_m, stamp=0.0):
    return Record("tank/level", "m", height_m, stamp=stamp)


def total(litres, stamp=0.0):
    return Record("inlet/total", "l", litres, stamp=stamp)


def count(node, seq):
    return Record(f"{node}/seq", "count", float(seq))


class Meter:
    """Only the inlet's node, with packs as one likes; `water` is all that the core believes to have come."""

    def __init__(self, clock="arrival"):
        self.core = Core(rig(clock))
        self.at, self.water = BEGIN, 0.0

    def sends(self, *records, after_s=1.0, retained=False, feed="mqtt 1"):
        self.at += after_s
        self.core.take(Pack(self.at, feed, "inlet", records, retained))
        return self

    @property
    def came_l(self):
        """What the meter is believed to have passed and has not yet been taken in by a tick."""
        return self.core.intake.meter._came_l


# -- retained, old, late ---------------------------------------------------------------------------------------------


def test_a_retained_reading_is_shown_and_is_no_reading_of_now():
    core = Core(rig())
    core.take(Pack(BEGIN, "mqtt 1", "tank", (level(0.5),), retained=True))
    core.advance(BEGIN + 30.0)
    assert core.balance.belief is None
    (shown,) = [s for s in standing(core, BEGIN + 30.0)["signals"] if s["name"] == "tank/level"]
    assert (shown["value"], shown["stale"], shown["age_s"]) == (0.5, True, None)


def test_a_retained_reading_in_the_midst_does_not_prove_life():
    watched = Watched().runs(60)
    before_l = watched.belief.volume_l
    for _ in range(30):
        watched.send(0.5, "tank", level(0.1), retained=True, counted=False)
        watched.runs(1, silent=("tank",))
    assert watched.belief.volume_l == pytest.approx(before_l, abs=1.0)
    assert watched.core.judge.level.quality == "bad"
    assert watched.stands("node-lost", "tank")


def test_a_retained_total_starts_no_count():
    meter = Meter().sends(total(10.0), retained=True).sends(total(5000.0)).sends(total(5001.0))
    assert meter.core.intake.meter.totals.last == 5001.0
    assert meter.came_l == 1.0


def test_a_level_older_than_some_seconds_is_no_level_of_now():
    watched = Watched().runs(60)
    before_l = watched.belief.volume_l
    for _ in range(10):
        watched.send(0.5, "tank", level(0.9, stamp=-30.0), counted=False)
        watched.runs(1, silent=("tank",))
    assert watched.belief.volume_l == pytest.approx(before_l, abs=1.0)


def test_a_level_is_as_old_as_the_moment_it_speaks_of():
    """Heard just now, and measured a while ago: no freshness is claimed that it lacks."""
    core = Core(rig())
    core.take(Pack(BEGIN, "mqtt 1", "tank", (level(0.5),)))
    core.take(Pack(BEGIN + 60.0, "mqtt 1", "tank", (level(0.6, -40.0), level(0.6, -3.0), level(0.6, -9.0))))
    assert standing(core, BEGIN + 61.0)["age_s"] == pytest.approx(4.0)


def test_readings_older_than_ten_minutes_serve_for_totals_only():
    watched = Watched().runs(60)
    watched.send(0.5, "rides", Record("rides/drawing", "bool", True, stamp=-700.0), counted=False)
    assert not watched.core.pumps[0].drawing
    watched.send(0.5, "inlet", total(watched.total_l + 3.0, stamp=-700.0), counted=False)
    assert watched.core.intake.meter._came_l == 0.0  # older than the last total: it tells nothing
    meter = Meter().sends(total(10.0, stamp=-1000.0)).sends(total(12.0, stamp=-900.0))
    assert meter.came_l == 2.0


def test_a_backlog_in_one_burst_loses_no_water_and_moves_no_level():
    """The radio was away for five minutes and then sends all it kept, oldest first."""
    watched = Watched(500.0).runs(60, tap=12.0)
    kept = []
    for _ in range(300):
        watched.runs(1, tap=12.0, silent=("inlet", "tank"))
        kept.append((watched.at, watched.total_l, watched.volume_l))
    for then, litres, volume_l in kept:
        watched.send(0.5, "inlet", total(litres, then - watched.at - 0.5), counted=False)
        watched.send(0.5, "tank", level(volume_l / 1000, then - watched.at - 0.5), counted=False)
    watched.runs(30, tap=12.0)
    assert abs(watched.off_l) < 3.0 * watched.belief.volume_sd_l
    assert watched.core.outlook.inflow_l_min(watched.belief) == pytest.approx(12.0, rel=0.1)


@pytest.mark.parametrize("seq_first", [True, False])
def test_a_pack_older_by_its_count_is_no_reboot_of_the_meter(seq_first):
    """Packs 4 and 5 are swapped on the way; nothing carries a stamp. The count may stand anywhere in the pack."""

    def pack(seq, litres):
        return (count("inlet", seq), total(litres)) if seq_first else (total(litres), count("inlet", seq))

    meter = Meter()
    for seq, litres in ((1, 1.0), (2, 2.0), (3, 3.0), (5, 5.0), (4, 4.0), (6, 6.0)):
        meter.sends(*pack(seq, litres), after_s=0.01)
    assert meter.came_l == pytest.approx(5.0)
    assert meter.core.intake.meter.restarts == 0
    assert meter.core.intake.nodes["inlet"].recent_reboots(meter.at) == 0


def test_a_pack_that_comes_twice_is_one():
    meter = Meter()
    for seq, litres in ((1, 1.0), (2, 2.0), (2, 2.0), (3, 3.0), (2, 2.0)):
        meter.sends(count("inlet", seq), total(litres), after_s=0.01)
    assert meter.came_l == pytest.approx(2.0)
    assert meter.core.intake.meter.restarts == 0


def test_a_late_total_leaves_the_flow_alone():
    watched = Watched(500.0).runs(90, tap=12.0)
    watched.send(0.5, "inlet", total(watched.total_l - 3.0, stamp=-30.0), counted=False)
    assert watched.core.intake.meter.inflow.l_min == pytest.approx(12.0, rel=0.1)


# -- reboots -----------------------------------------------------------------------------------------------------------


def test_a_count_that_falls_back_is_a_reboot_and_lost_packs_are_counted():
    meter = Meter()
    for seq in (1, 2, 3, 7, 8, 1, 2):
        meter.sends(count("inlet", seq), total(1.0))
    node = meter.core.intake.nodes["inlet"]
    assert node.recent_reboots(meter.at) == 1
    assert node.lost_packs == 3


def test_an_uptime_that_falls_is_a_reboot():
    meter = Meter()
    for uptime_s in (100.0, 101.0, 102.0, 1.0, 2.0):
        meter.sends(Record("inlet/uptime", "s", uptime_s), total(1.0))
    assert meter.core.intake.nodes["inlet"].recent_reboots(meter.at) == 1


def test_a_node_that_reboots_again_and_again_is_lost():
    watched = Watched()
    for _ in range(5):
        watched.runs(30)
        watched.seq["rides"] = 0
    assert "node-lost" in watched.raised()
    assert watched.stands("node-lost", "rides")
    watched.runs(1300)
    assert not watched.stands("node-lost", "rides")


def test_a_meter_that_restarts_again_and_again_invents_no_water_and_loses_none_for_long():
    watched = Watched(300.0)
    watched.runs(60)
    for _ in range(8):
        watched.runs(120, tap=15.0)
        watched.total_l = 0.0
        watched.seq["inlet"] = 0
    assert abs(watched.off_l) < 3.0 * watched.belief.volume_sd_l


# -- clocks ------------------------------------------------------------------------------------------------------------


def test_an_absolute_stamp_counts_only_where_the_feed_says_so():
    honoured, ignored = Meter("node"), Meter("arrival")
    for meter in (honoured, ignored):
        meter.sends(total(1.0, stamp=BEGIN - 100.0)).sends(total(2.0, stamp=BEGIN - 99.0))
    assert honoured.core.intake.meter.totals.last_s == BEGIN - 99.0
    assert ignored.core.intake.meter.totals.last_s == BEGIN + 2.0


def test_the_second_feed_has_its_own_say():
    meter = Meter("node").sends(total(1.0, stamp=BEGIN - 100.0), feed="serial 1")
    assert meter.core.intake.meter.totals.last_s == BEGIN + 1.0


def test_a_clock_that_runs_ahead_three_packs_running_is_a_fault_and_arrival_counts():
    meter = Meter("node")
    for litres in (1.0, 2.0):
        meter.sends(total(litres, stamp=meter.at + 100.0))
    node = meter.core.intake.nodes["inlet"]
    assert not node.clock_fault
    meter.sends(total(3.0, stamp=meter.at + 100.0))
    assert node.clock_fault
    meter.sends(total(4.0, stamp=meter.at + 100.0))
    assert meter.core.intake.meter.totals.last_s == meter.at
    meter.sends(total(5.0, stamp=meter.at))
    assert not node.clock_fault


def test_a_stepped_wall_clock_changes_no_forecast():
    steady, stepped = Watched(), Watched()
    steady.runs(120, "Rides")
    stepped.runs(55, "Rides")
    stepped.put(WallStep(stepped._moment(0.95), BEGIN + 86_400.0))
    stepped.runs(65, "Rides")
    assert [f.line() for f in stepped.forecasts] == [f.line() for f in steady.forecasts]
    assert standing(stepped.core, stepped.at)["wall"] == pytest.approx(stepped.at + 86_400 - 55, abs=1.0)


# -- what nobody knows, what nobody can read ---------------------------------------------------------------------------


def test_names_nobody_refers_to_are_counted_and_otherwise_left_alone():
    watched = Watched().runs(30)
    for _ in range(3):
        watched.send(0.5, "tank", Record("tank/humidity", "%RH", 40.0), counted=False)
    watched.send(0.5, "shed", Record("shed/door", "bool", True), counted=False)
    assert standing(watched.core, watched.at)["unknown_names"] == {"tank/humidity": 3, "shed/door": 1}
    watched.runs(60)
    assert "node-lost" not in watched.raised()  # a node nobody refers to may go as it came


def test_a_flood_of_unknown_names_is_bounded():
    core = Core(rig())
    for k in range(1000):
        core.take(Pack(BEGIN + k / 1000, "mqtt 1", "x", (Record(f"x/{k}", "m", 1.0),)))
    assert len(core.intake.unknown) <= 200


def test_rejects_are_counted_by_kind_and_the_latest_are_kept():
    core = Core(rig())
    for k in range(50):
        core.take(Reject(BEGIN + k, "serial 1", "crc" if k % 2 else "no-json", "why", f"{k}"))
    shown = standing(core, BEGIN + 50)["rejects"]
    assert (shown["total"], shown["by_kind"]) == (50, {"no-json": 25, "crc": 25})
    assert shown["latest"][-1]["raw"] == "49"
    assert len(shown["latest"]) == 20


@pytest.mark.parametrize("record", [
    Record("tank/level", "Pa", 5000.0), Record("tank/level", "m", True), Record("tank/level", "m", None),
    Record("tank/level", "m", -0.5), Record("tank/level", "m", 40.0),
])  # fmt: skip
def test_a_level_that_is_no_height_in_the_tank_is_not_taken(record):
    watched = Watched().runs(30)
    before_l = watched.belief.volume_l
    for _ in range(10):
        watched.send(0.5, "tank", record, counted=False)
        watched.runs(1, silent=("tank",))
    assert watched.belief.volume_l == pytest.approx(before_l, abs=1.0)
    assert watched.core.judge.level.quality == "bad"


def test_of_two_levels_the_one_that_has_frozen_is_left_out():
    """A second sensor shows the same digits for ten minutes while a pump draws: only the first one counts."""
    two = rig(levels=("[tank.level]", '[[tank.level]]\nreading = "aft/level"\nmeasures = "height"\n[[tank.level]]'))
    watched = Watched(800.0, core=Core(two))
    for second in range(660):
        frozen_m = 0.8 if second >= 60 else watched.volume_l / 1000 + watched.random.gauss(0, 0.002)
        watched.send(0.05, "aft", Record("aft/level", "m", frozen_m))
        watched.runs(1, *(("Rides",) if second >= 60 else ()))
    assert watched.state("level-signal", "aft/level") in ("unacknowledged", "suppressed by design")
    assert watched.state("level-signal", "tank/level") == "normal"
    assert watched.core.judge.level.quality == "good"
    assert abs(watched.off_l) < 15.0


# -- nodes that go -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("node", ["tank", "inlet", "rides"])
def test_a_silent_node_is_lost_within_ten_seconds(node):
    watched = Watched().runs(60)
    watched.runs(10, silent=(node,))
    assert watched.stands("node-lost", node)
    assert watched.raised() == ["node-lost"]


def test_a_will_says_so_at_once_and_a_word_takes_it_back():
    watched = Watched().runs(60)
    watched.says("rides", up=False)
    watched.runs(1, silent=("rides",))
    assert watched.stands("node-lost", "rides")
    watched.says("rides", up=True)
    watched.runs(15)
    assert not watched.stands("node-lost", "rides")


def test_a_retained_up_revives_nobody():
    watched = Watched().runs(60)
    watched.says("rides", up=False)
    watched.put(Alive(watched._moment(0.95), "mqtt 1", "rides", True, retained=True))
    watched.runs(2, silent=("rides",))
    assert watched.stands("node-lost", "rides")


def test_what_follows_from_a_lost_node_is_listed_under_it():
    watched = Watched().runs(60)
    watched.runs(40, silent=("tank",))
    shown = {a["alarm"]: a for a in watched.core.board.standing()}
    assert shown["node-lost"]["state"] == "unacknowledged"
    assert shown["node-lost"]["followers"] == ["level-signal"]
    assert shown["level-signal"]["state"] == "suppressed by design"
    assert watched.raised() == ["node-lost"]


def test_a_node_not_heard_once_since_the_start_is_told_when_it_is_overdue_with_what_hangs_on_it():
    watched = Watched()
    watched.runs(25, silent=("tank", "stalls"))
    assert watched.raised() == []  # it may still be starting
    watched.runs(10, silent=("tank", "stalls"))
    shown = {(a["alarm"], a["node"]): a for a in watched.core.board.standing()}
    assert shown["node-lost", "tank"]["variant"] == shown["node-lost", "stalls"]["variant"] == "never heard"
    assert shown["node-lost", "tank"]["followers"] == ["level-signal"]
    assert shown["level-signal", "tank"]["state"] == "suppressed by design"
    watched.runs(15)
    assert not watched.stands("node-lost", "tank")


def test_a_level_not_heard_once_from_a_node_that_speaks_is_not_trusted():
    """Nothing else would tell that the tank is watched by nobody."""
    watched = Watched()
    for _ in range(35):
        watched.send(0.5, "tank", Record("tank/wrong-name", "m", 0.5))
        watched.runs(1, silent=("tank",))
    assert watched.stands("level-signal", "tank/level")
    assert watched.raised() == ["level-signal"]


def test_pumps_over_water_that_nobody_has_seen_are_warned_of_until_somebody_looks():
    watched = Watched()
    watched.runs(60, silent=("tank",))
    assert not watched.stands("dry-soon")  # nothing runs: there is nothing to save
    watched.runs(15, "Rides", tap=9.0, silent=("tank",))
    assert watched.stands("dry-soon")
    warning = next(a for a in watched.core.board.standing() if a["alarm"] == "dry-soon")
    assert warning["variant"] == "no level"
    assert watched.core.forecast.volume_l is None
    assert watched.core.forecast.inflow_l_min == pytest.approx(9.0, abs=0.5)  # the meter counts
    watched.does("it-stands-here", volume_l=600.0)
    watched.runs(90, "Rides", silent=("tank",))
    assert not watched.stands("dry-soon")
    assert watched.core.balance.belief.volume_l < 600.0


def test_an_act_nobody_knows_and_one_with_nonsense_do_no_harm():
    watched = Watched().runs(20)
    before = watched.belief
    for act in (
        Act(watched._moment(0.91), "dance"), Act(watched._moment(0.92), "shelve", "", "no-such-alarm"),
        Act(watched._moment(0.93), "it-stands-here"),
        *(Act(watched._moment(0.94 + k / 1000), "it-stands-here", detail={"volume_l": nonsense})
          for k, nonsense in enumerate((None, "nan", "much", [1], {}, float("inf"), -1e9, 1e9))),
    ):  # fmt: skip
        watched.put(act)
    assert watched.core.balance.filter.belief((0.0, 0.0)).volume_l == pytest.approx(before.volume_l, abs=0.1)
    watched.runs(5)
    assert abs(watched.off_l) < 5.0


def test_a_trailer_is_what_it_says():
    """The helper's own sums: a minute of the big pump and a tap."""
    trailer = Trailer(500.0).runs(60, "Rides", tap=10.0)
    assert trailer.volume_l == pytest.approx(488.0)
    assert trailer.total_l == pytest.approx(4010.0)
