"""What the pages are told of the pumps and their lines."""

import pytest
from trailer import RATES, Watched, rig

from monitor.core import Core
from monitor.core.standing import standing
from monitor.readings import Record

HOSE = '[[pump]]\nhose = { bore = "3/8 in", length = "150 ft" }\nname = "Rides"'
LINE_L = 3.2577  # 150 ft of 3/8 in: pi/4 x 0.009525^2 x 45.72 m3


def lines(trailer: Watched) -> dict[str, float | None]:
    return {pump["name"]: pump["line_s"] for pump in standing(trailer.core, trailer.at)["pumps"]}


def test_a_line_is_as_long_as_its_hose_takes_at_what_the_pump_draws() -> None:
    trailer = Watched(core=Core(rig(hose=('[[pump]]\nname = "Rides"', HOSE)))).runs(300, "Rides")
    draw_l_min = standing(trailer.core, trailer.at)["forecast"]["draw_l_min"]["Rides"]
    assert lines(trailer)["Rides"] == pytest.approx(60 * LINE_L / draw_l_min, abs=0.06)
    assert lines(trailer)["Rides"] == pytest.approx(60 * LINE_L / RATES["Rides"], rel=0.05)


def test_with_the_trigger_closed_it_is_what_it_will_take() -> None:
    trailer = Watched(core=Core(rig(hose=('[[pump]]\nname = "Rides"', HOSE)))).runs(300, "Rides").runs(20)
    assert standing(trailer.core, trailer.at)["forecast"]["draw_l_min"]["Rides"] == 0.0
    assert lines(trailer)["Rides"] == pytest.approx(60 * LINE_L / RATES["Rides"], rel=0.05)


def test_without_a_hose_nothing_is_said() -> None:
    trailer = Watched(core=Core(rig(hose=('[[pump]]\nname = "Rides"', HOSE)))).runs(60, "Rides")
    assert lines(trailer)["Stalls"] is None


def test_a_pumps_state_and_its_draw_say_the_same_as_soon_as_its_signal_has_come() -> None:
    trailer = Watched().runs(120)
    trailer.send(0.5, "rides", Record("rides/running", "bool", True), Record("rides/drawing", "bool", True))
    rides = standing(trailer.core, trailer.at + 0.5)["pumps"][0]
    assert rides["state"] == "draws"
    assert rides["draw_l_min"] > 0
    trailer.send(0.6, "rides", Record("rides/drawing", "bool", False))
    rides = standing(trailer.core, trailer.at + 0.6)["pumps"][0]
    assert (rides["state"], rides["draw_l_min"]) == ("bypass", 0.0)


def test_packing_up_is_solved_from_what_is_believed() -> None:
    trailer = Watched(900.0).runs(300, "Rides")
    said = standing(trailer.core, trailer.at)
    packing = said["packing"]
    over_l = said["forecast"]["volume_l"] - packing["tow_limit_l"]
    assert packing["shut_tap_in_s"] == 0.0
    assert packing["volume_then_l"] == pytest.approx(said["forecast"]["volume_l"], abs=0.01)
    assert packing["lasts_s"] == pytest.approx(60 * over_l / said["forecast"]["draw_l_min"]["Rides"], rel=1e-3)
    low_s, high_s = packing["lasts_range_s"]
    assert low_s < packing["lasts_s"] < high_s


def test_before_any_level_nothing_is_said_of_packing_up() -> None:
    core = Core(rig())
    assert {value for key, value in standing(core, 0.0)["packing"].items() if key != "tow_limit_l"} == {None}


def test_without_a_tow_limit_there_is_nothing_to_pack_up_to() -> None:
    trailer = Watched(core=Core(rig(tow=('tow_limit = "300 L"\n', "")))).runs(60)
    assert standing(trailer.core, trailer.at)["packing"] is None


def test_without_a_meter_the_advice_counts_what_comes_in_once() -> None:
    meter = '[supply]\nreading = "inlet/total"\nmeasures = "total"\n'
    trailer = Watched(core=Core(rig(meter=(meter, "")))).runs(1500, "Rides", tap=11.0)
    said = standing(trailer.core, trailer.at)
    assert said["advice"]["say"] == "share"
    assert said["advice"]["with"]["percent"] == pytest.approx(50.0, abs=15.0)


def test_nobody_is_told_to_stop_an_engine_that_stands() -> None:
    """Both have drawn within ten minutes; the tap carries Stalls alone. Rides is to stop as long as its engine runs."""
    trailer = Watched(core=Core(rig())).runs(120, "Rides", "Stalls", tap=16.0)
    trailer.runs(30, "Stalls", tap=16.0, running=("Rides",))
    said = standing(trailer.core, trailer.at)["advice"]
    assert (said["say"], said["with"]["stop"]) == ("stop_to_hold", ["Rides"])
    trailer.runs(30, "Stalls", tap=16.0)
    assert standing(trailer.core, trailer.at)["advice"]["say"] == "carries_all"
