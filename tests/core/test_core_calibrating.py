"""Calibrations in the core: begun and ended by acts, kept in the state, replayed the same, undone."""

import pytest
from trailer import BEGIN, Watched, played, rig

from monitor.changes import Forecast
from monitor.core import Core
from monitor.core.calibrated import calibrated, in_force
from monitor.core.owner import owner
from monitor.rig.load import parse


class Rig(Watched):
    def step(self, step, what="", of="", **more):
        detail = {"step": step, "what": what, "of": of} | more
        assert self.core.calibrating.check(detail) is None, self.core.calibrating.check(detail)
        self.does("calibrate", **detail)
        return self.result

    @property
    def result(self):
        return self.core.calibrating.result

    def bucket(self, known_l, true_l):
        self.step("begin", "bucket")
        before = self.volume_l
        self.runs(30, tap=2 * true_l)
        self.volume_l = before
        self.runs(3)
        return self.step("end", known_l=known_l, seconds=30.0)


def test_a_bucket_test_sets_the_meter_right_and_can_be_undone():
    trailer = Rig()
    trailer.runs(20)
    for _ in range(3):
        found = trailer.bucket(20.0, 21.4)  # the meter counts 7 % too much
    assert found["after"] == pytest.approx(1 / 1.07, rel=found["spread"])
    assert (found["before"], trailer.core.rig.supply.meter_factor) == (1.0, 1.0)
    trailer.step("keep")
    assert trailer.core.rig.supply.meter_factor == pytest.approx(1 / 1.07, rel=0.02)
    assert trailer.core.file_rig.supply.meter_factor == 1.0
    begun_l = trailer.core.intake.meter.counted_l
    trailer.runs(60, tap=21.4)
    assert trailer.core.intake.meter.counted_l - begun_l == pytest.approx(20.0, rel=0.03)
    trailer.step("undo", "bucket")
    assert trailer.core.rig.supply.meter_factor == 1.0
    assert trailer.core.calibrating.kept == []


def test_a_draw_test_gives_the_pump_its_draw():
    trailer = Rig(800.0, rates={"Rides": 19.0, "Stalls": 14.0})
    trailer.runs(20)
    trailer.step("begin", "draw", "Rides")
    trailer.runs(330, "Rides")
    found = trailer.step("end")
    assert found["after"] == pytest.approx(19.0, abs=found["spread"])
    trailer.step("keep")
    trailer.runs(5, "Rides")
    assert trailer.core.rig.pumps[0].draw_l_min == pytest.approx(19.0, rel=0.03)
    assert trailer.belief.rates_l_min[0] == pytest.approx(19.0, rel=0.03)
    assert not [alarm for alarm in trailer.alarms if alarm.alarm == "level-signal"]


def test_another_pump_spoils_a_draw_test():
    trailer = Rig(800.0)
    trailer.runs(20)
    trailer.step("begin", "draw", "Rides")
    trailer.runs(200, "Rides", "Stalls")
    assert trailer.step("end")["refused"] == "another-pump-drew"
    assert trailer.core.calibrating.check({"step": "keep"}) == "nothing-to-keep"


def filled(trailer):
    """The rig file's table has a tank of 1.2 m² where it is one of 1 m²."""
    trailer.step("begin", "fill", start_l=0.0)
    trailer.runs(1800, tap=38.0)
    found = trailer.step("end")
    trailer.step("keep")
    return found


def wide():
    return rig(table=('["1200 mm", "1200 L"]', '["1000 mm", "1200 L"]'))


def test_a_fill_straps_the_tank():
    trailer = Rig(0.0, core=Core(wide()), noise_m=0.004)
    trailer.runs(20)
    found = filled(trailer)
    table = trailer.core.rig.tank.strapping
    assert table.volume_l(0.6) == pytest.approx(600.0, abs=30.0)
    assert found["figures"]["before_l"][10] == pytest.approx(1.2 * found["after"][10][1], rel=0.05)
    rows = zip(found["after"], found["spread"], strict=True)
    assert all(abs(volume - 1000 * height) <= spread for (height, volume), spread in rows if volume < 1100)
    trailer.runs(60)
    assert trailer.off_l == pytest.approx(0.0, abs=25.0)


def test_two_points_set_the_level_right():
    trailer = Rig(300.0, noise_m=0.001)
    trailer.runs(30)
    trailer.step("point", "level", "tank/level", height_m=0.28)
    trailer.runs(60, tap=300.0)
    trailer.runs(30)
    trailer.step("point", "level", "tank/level", height_m=0.57)
    trailer.step("keep")
    level = trailer.core.rig.tank.levels[0]
    assert level.scale == pytest.approx(0.29 / 0.3, rel=0.01)
    trailer.runs(20)
    assert trailer.core.intake.levels[0].sense.last_m == pytest.approx(0.57, abs=0.006)


def test_what_is_kept_survives_a_restart_and_a_replay_of_the_day_calibrates_the_same():
    trailer = Rig(800.0, rates={"Rides": 19.0, "Stalls": 14.0})
    trailer.runs(20)
    trailer.step("begin", "draw", "Rides")
    trailer.runs(330, "Rides")
    trailer.step("end")
    trailer.step("keep")
    trailer.runs(30, "Rides")
    again = Core(rig(), trailer.core.save())
    assert again.rig.pumps[0].draw_l_min == trailer.core.rig.pumps[0].draw_l_min
    replayed = [change.line() for change in played(trailer.events) if isinstance(change, Forecast)]
    assert replayed == [forecast.line() for forecast in trailer.forecasts]


def test_an_owner_who_changes_the_file_has_the_last_word():
    trailer = Rig(800.0)
    kept = [{"what": "draw", "of": "Rides", "file": 22.0, "before": 22.0, "after": 19.0, "spread": 0.5, "at": BEGIN}]
    assert calibrated(rig(), kept).pumps[0].draw_l_min == 19.0
    changed = rig(draw=('draw = "22 L/min"', 'draw = "25 L/min"'))
    assert in_force(changed, kept) == []
    assert calibrated(changed, kept).pumps[0].draw_l_min == 25.0
    gone = rig(name=('name = "Rides"', 'name = "Rodeo"'))
    assert in_force(gone, kept) == []
    assert trailer.core.rig == trailer.core.file_rig


@pytest.mark.parametrize(
    ("detail", "why"),
    [
        ({"step": "end"}, "nothing-begun"), ({"step": "keep"}, "nothing-to-keep"),
        ({"step": "undo"}, "nothing-to-undo"),
        ({"step": "begin", "what": "draw", "of": "Nobody"}, "no-such-thing"), ({"step": "begin"}, "no-such-thing"),
        ({"step": "point", "what": "level", "of": "tank/level"}, "no-height"), ({"step": "fly"}, "no-such-step"),
    ],
)  # fmt: skip
def test_a_step_out_of_turn_is_refused_and_changes_nothing(detail, why):
    trailer = Rig()
    trailer.runs(5)
    assert trailer.core.calibrating.check(detail) == why
    trailer.does("calibrate", **detail)
    assert trailer.core.calibrating.standing(trailer.at)["kept"] == []


def test_pulses_get_a_new_k_factor():
    pulses = rig(supply=('measures = "total"', 'measures = "pulses"\nk_factor = "100 /L"'))
    kept = [{"what": "bucket", "of": "", "file": 100.0, "before": 100.0, "after": 107.0, "spread": 0.01, "at": BEGIN}]
    assert calibrated(pulses, kept).supply.k_factor_per_l == 107.0


# -- the owner's object ---------------------------------------------------------------------------------------------


def test_the_owner_sees_raw_and_converted_noise_and_step_and_what_is_left_to_do():
    trailer = Rig(600.0, noise_m=0.003)
    trailer.runs(90, "Rides", tap=12.0)
    said = owner(trailer.core, trailer.at)
    level = next(signal for signal in said["signals"] if signal["name"] == "tank/level")
    assert level["means"]["height_m"] == pytest.approx(0.59, abs=0.03)
    assert level["noise"] == pytest.approx(0.003, rel=0.5)
    assert level["every_s"] == pytest.approx(1.0, abs=0.1)
    meter = next(signal for signal in said["signals"] if signal["kind"] == "supply")
    assert meter["means"]["flow_l_min"] == pytest.approx(12.0, rel=0.1)
    done = {(item["item"], item["of"]): item["done"] for item in said["checklist"]}
    assert done["heard", "tank/level"]
    assert done["counts", "tank"]
    assert not done["says-both", "rides/drawing"]
    assert not done["calibrated-bucket", ""]
    trailer.runs(5)
    trailer.runs(5, "Rides")
    done = {(item["item"], item["of"]): item["done"] for item in owner(trailer.core, trailer.at)["checklist"]}
    assert done["says-both", "rides/drawing"]


def test_a_rig_without_a_meter_is_told_to_set_the_level_instead():
    bare = parse(rig_text_without_supply())
    items = {item["item"] for item in owner(Core(bare), BEGIN)["checklist"]}
    assert "calibrated-level" in items
    assert "calibrated-fill" not in items


def rig_text_without_supply():
    from trailer import RIG

    head, rest = RIG.split("[supply]")
    return (head + "[[pump]]" + rest.split("[[pump]]", 1)[1]).replace("CLOCK", "arrival")


def test_what_one_more_sensor_buys_comes_in_both_languages_and_both_unit_systems() -> None:
    said = owner(Watched().core, BEGIN)["gains"]
    assert " gal above the heel" in said["en"]["us"][0]
    assert "450 L above the heel" in said["en"]["metric"][0]
    assert "450 L sobre el volumen muerto" in said["es"]["metric"][0]
