"""Counted for the books: a row each quarter of an hour, the chemical line, each pump's draw by day."""

import json

import pytest
from trailer import BEGIN, RIG, Watched

from monitor.alarms.refusals import Refused
from monitor.changes import Tally
from monitor.core import Core
from monitor.core.standing import standing
from monitor.readings import Act
from monitor.rig.load import parse

SOAP = """draw = "22 L/min"
hose = { bore = "3/8 in", length = "100 ft" }
injector = { draws = "1 L/min", tank = "10 L" }"""
HOSE_L = 2.172  # 100 ft of 3/8 in: geometry


def rig():
    return parse(RIG.replace("CLOCK", "arrival").replace('draw = "22 L/min"', SOAP))


def tallies(watched):
    return [change for change in watched.alarms if isinstance(change, Tally)]


def line(watched, pump="Rides"):
    said = standing(watched.core, watched.core.now)["chemical"]
    return next(each for each in said if each["pump"] == pump)


def test_a_row_each_quarter_of_an_hour_with_all_the_water():
    watched = Watched(900.0).runs(600, "Rides", tap=10.0).runs(2000, "Stalls")
    rows = tallies(watched)
    assert {row.at % 900.0 for row in rows} == {1.0}, "given out with the second after"
    assert len(rows) >= 2
    counted = [row.figures["pumps_l"] for row in rows] + [(watched.core.tally.open or {"pumps_l": {}})["pumps_l"]]
    rides, stalls = (sum(each.get(name, 0.0) for each in counted) for name in ("Rides", "Stalls"))
    assert rides == pytest.approx(220.0, rel=0.03)  # ten minutes of 22 l/min
    assert stalls == pytest.approx(2000 * 14.0 / 60.0, rel=0.03)
    assert sum(row.figures["in_l"] for row in rows) == pytest.approx(100.0, abs=2.0)
    assert all(row.figures["used_l"] == pytest.approx(sum(row.figures["pumps_l"].values()), abs=0.01) for row in rows)


def test_a_row_that_was_begun_is_gone_on_with_after_a_restart():
    watched = Watched(600.0).runs(100, "Rides")
    begun = watched.core.tally.open["began"]
    kept = Core(rig(), json.loads(json.dumps(watched.core.save())))
    assert kept.tally.open["began"] == begun
    assert kept.tally.open["pumps_l"]["Rides"] == pytest.approx(36.0, rel=0.1)


def test_a_row_left_open_overnight_is_given_out_with_its_own_end():
    watched = Watched(600.0).runs(100, "Rides")
    ended = watched.core.tally.open["ended"]
    kept = Watched(600.0, saved=json.loads(json.dumps(watched.core.save())))
    kept.at += 50_000.0
    kept.runs(5)
    (row,) = tallies(kept)
    assert row.figures["ended"] == ended
    assert row.figures["pumps_l"]["Rides"] == pytest.approx(36.0, rel=0.1)


def test_soap_is_counted_down_by_what_flows_and_the_chemical_by_its_time():
    watched = Watched(900.0, core=Core(rig())).runs(60)
    watched.does("chemical-filled", pump="Rides", volume_l=10.0)
    watched.does("soaping", pump="Rides")
    assert line(watched)["to_go_s"] == pytest.approx(60.0 * HOSE_L / 22.0, rel=0.05)
    watched.runs(120, "Rides")
    soap = line(watched)
    assert (soap["mode"], soap["to_go_s"]) == ("soap", 0.0)
    assert soap["full_flow"] is True, "nothing restricts the flow here"
    assert "nozzle" in soap["look_at"]
    assert 8.0 < soap["left_l"] < 10.0
    watched.does("rinsing", pump="Rides")
    left_l = line(watched)["left_l"]
    watched.runs(60, "Rides")
    assert line(watched)["left_l"] == left_l


def test_a_restricted_flow_is_seen_by_the_level_and_draws_chemical():
    watched = Watched(900.0, core=Core(rig())).runs(240, "Rides")
    watched.does("chemical-filled", pump="Rides", volume_l=10.0)
    watched.does("soaping", pump="Rides")
    watched.rates = {"Rides": 15.0, "Stalls": 14.0}
    watched.runs(150, "Rides")
    soap = line(watched)
    assert soap["full_flow"] is False
    assert "nozzle" not in soap["look_at"]
    assert soap["left_l"] == pytest.approx(10.0 - 150 / 60.0, abs=0.3)  # 1 l/min
    watched.does("packing-up")
    assert line(watched)["mode"] == "clear"


def test_a_draw_down_and_hose_that_was_added_outlast_a_restart():
    watched = Watched(600.0, core=Core(rig())).runs(30)
    watched.does("drew-down", pump="Rides", volume_l=1.0, seconds=50.0)
    watched.does("hose-added", pump="Rides", length_m=30.48)
    kept = Core(rig(), json.loads(json.dumps(watched.core.save())))
    soaping = kept.soaping
    assert soaping.lines["Rides"].injects_l_min == pytest.approx(1.2)
    assert soaping.hose_l("Rides") == pytest.approx(2 * HOSE_L, rel=0.001)
    assert kept.soaping.standing({}, {}, {})[0]["look_at"][-1] != "hose", "what was added comes before the rest"


@pytest.mark.parametrize(
    ("act", "detail"),
    [
        ("soaping", {"pump": "Nobody"}), ("hose-added", {"pump": "Rides"}), ("drew-down", {"volume_l": 1.0}),
        ("drew-down", {"pump": "Rides", "volume_l": 0.0, "seconds": 9.0}), ("chemical-filled", {"pump": "Rides"}),
    ],
)  # fmt: skip
def test_what_says_too_little_is_refused(act, detail):
    with pytest.raises(Refused, match="Name a pump"):
        Core(rig()).acts.check(Act(BEGIN, act, "Ann", None, detail))


def test_a_pumps_draw_by_day_and_the_verdict_on_it():
    core = Watched(900.0).runs(500, "Rides").core
    (day, seen_s, rate), = core.season.draws.of["Rides"]
    assert day == BEGIN // 86_400.0
    assert seen_s > 250
    assert rate == pytest.approx(22.0, rel=0.05)
    core.season.draws.of["Rides"] = [[float(n), 900.0, 20.0 if n < 5 else 15.0] for n in range(10)]
    kept = Core(core.file_rig, json.loads(json.dumps(core.save())))
    rides, stalls = kept.season.standing(kept.pumps)
    assert rides["verdict"] == "fell at once"
    assert "strainer" in rides["look_at"]
    assert rides["change"] == pytest.approx(-0.25)
    assert stalls["verdict"] == "too few"


HOSE = """draw = "22 L/min"
pressure = "3000 psi"
hose = { bore = "3/8 in", length = "100 ft", rated = "4000 psi" }"""
GAUGE = """drawing = { reading = "rides/drawing", above = "300 psi" }"""
PSI = 6894.757


class Gauged(Watched):
    """A gauge at the head of the first pump tells whether it draws."""

    head_psi = 3000.0

    def send(self, after_s, node, *records, **how):
        told = [self._gauged(each) if each.name == "rides/drawing" else each for each in records]
        return super().send(after_s, node, *told, **how)

    def _gauged(self, record):
        return record._replace(unit="Pa", value=PSI * (self.head_psi if record.value else 40.0))


def gauged():
    text = RIG.replace("CLOCK", "arrival").replace('drawing = "rides/drawing"', GAUGE)
    return Gauged(900.0, core=Core(parse(text.replace('draw = "22 L/min"', HOSE))))


def test_the_pressure_measured_while_a_pump_draws_is_held_against_the_hoses_rating():
    watched = gauged().runs(60)
    said = line(watched)
    assert (said["pump_pa"], said["measured_pa"], said["rating"]) == (pytest.approx(3000 * PSI), None, "well under")
    for watched.head_psi, word in ((3700.0, "near"), (4100.0, "over"), (2000.0, "well under")):
        said = line(watched.runs(20, "Rides"))
        assert (said["measured_pa"], said["rating"]) == (pytest.approx(watched.head_psi * PSI), word)
        assert said["gun_pa"] < said["measured_pa"]
    assert line(watched.runs(20))["measured_pa"] is None, "the trigger is shut"


def test_pressure_that_goes_while_the_draw_stays_tells_of_a_worn_nozzle():
    watched = gauged().runs(500, "Rides")
    (day, seen_s, mean_pa), = watched.core.season.pressures.of["Rides"]
    assert day == BEGIN // 86_400.0
    assert seen_s > 400
    assert mean_pa == pytest.approx(3000 * PSI, rel=0.001)
    season = watched.core.season
    season.draws.of["Rides"] = [[float(n), 900.0, 22.0] for n in range(9)]
    season.pressures.of["Rides"] = [[float(n), 900.0, 2.0e7 - n * 5e5] for n in range(9)]
    rides, _ = watched.core.season.standing(watched.core.pumps)
    assert (rides["nozzle_worn"], rides["pressure_days"]) == (True, 9)
    assert rides["pressure_change"] == pytest.approx(1.65 / 1.95 - 1.0, abs=0.001)  # medians of first and last third
    season.draws.of["Rides"] = [[float(n), 900.0, 22.0 - n] for n in range(9)]
    assert season.standing(watched.core.pumps)[0]["nozzle_worn"] is False, "where the draw goes too, it is the pump"
    kept = Core(watched.core.file_rig, json.loads(json.dumps(watched.core.save())))
    assert kept.season.pressures.of == season.pressures.of


def test_what_an_older_program_kept_of_the_season_is_its_draws():
    core = Core(rig())
    core.season.restore({"Rides": [[20_000.0, 900, 22.0]]})
    assert core.season.draws.of == {"Rides": [[20_000.0, 900, 22.0]]}
    assert core.season.pressures.of == {}
