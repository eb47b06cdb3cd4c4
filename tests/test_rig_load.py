"""Rig files that are right: the contract's example to the letter, the smallest one, and each way to write a thing."""

from pathlib import Path

import pytest

from monitor.quantities import L_PER_GAL, PA_PER_PSI
from monitor.rig.feed_tables import MqttFeed, RecordedFeed, SerialFeed, SimulatedFeed
from monitor.rig.kinds import Threshold
from monitor.rig.load import fairground, load, parse
from monitor.rig.model import Rig, Signal
from monitor.tank.level import Range

HOME = Path("/etc/holdwater/rig.toml")
SMALLEST = """
[tank]
capacity = "300 gal"
heel = "20 gal"
shape = { kind = "box", length = "48 in", width = "36 in", height = "42 in" }
[tank.level]
reading = "tank/level"
measures = "height"
[[feed]]
simulated = "fairground"
"""


def smallest(*more: str) -> Rig:
    return parse("\n".join([SMALLEST, *more]), HOME)


def with_level(*lines: str) -> Rig:
    return parse(SMALLEST.replace('measures = "height"', "\n".join(lines)), HOME)


def test_the_contracts_example_is_read_in_the_programs_units() -> None:
    rig = parse(fairground(), HOME)
    assert rig.about.name == "Fairground wash-down trailer"
    assert (rig.about.units, rig.about.language, rig.about.timezone) == ("us", "en", "America/Chicago")
    tank = rig.tank
    assert tank.capacity_l == pytest.approx(320 * L_PER_GAL)
    assert tank.full_l == pytest.approx(300 * L_PER_GAL)
    assert tank.heel_l == pytest.approx(30 * L_PER_GAL)
    assert tank.band_l == pytest.approx((50 * L_PER_GAL, 180 * L_PER_GAL))
    assert tank.tow_limit_l == pytest.approx(80 * L_PER_GAL)
    assert tank.outlet is not None
    assert (tank.outlet.bore_m, tank.outlet.height_m) == (pytest.approx(0.0381), 0.0)
    assert tank.strapping.top_m == pytest.approx(42 * 0.0254)
    assert [(level.reading, level.measures) for level in tank.levels] == [("tank/level", "height")]


def test_the_contracts_example_names_its_signals_pumps_and_feeds() -> None:
    rig = parse(fairground(), HOME)
    assert rig.supply is not None
    assert rig.supply.float_valve is not None
    assert (rig.supply.reading, rig.supply.measures) == ("inlet/total", "total")
    assert rig.supply.float_valve.starts_closing_l == pytest.approx(270 * L_PER_GAL)
    assert rig.supply.float_valve.shut_l == pytest.approx(300 * L_PER_GAL)
    rides, stalls, stands = rig.pumps
    assert [pump.name for pump in rig.pumps] == ["Rides", "Stalls", "Stands"]
    assert [pump.draw_l_min for pump in rig.pumps] == pytest.approx([6 * L_PER_GAL, 4 * L_PER_GAL, 3 * L_PER_GAL])
    assert (rides.running, rides.drawing) == (Signal(reading="rides/running"), Signal(reading="rides/drawing"))
    assert (rides.bypass.to, rides.bypass.time_s) == ("inlet", 180.0)
    assert (stalls.drawing, stands.running, stands.suction) == (None, None, "stands/suction")
    assert rig.extra.motion == Signal(reading="tank/motion")
    assert rig.warn.act_time_s == 120.0
    assert [name for name, _ in rig.named_feeds] == ["mqtt 1", "serial 1"]
    mqtt, serial = rig.feeds
    assert isinstance(mqtt, MqttFeed)
    assert isinstance(serial, SerialFeed)
    assert (mqtt.host, mqtt.port, mqtt.tls, mqtt.topics) == ("127.0.0.1", 1883, False, ("holdwater/+/readings",))
    assert (serial.port, serial.baud, serial.clock) == ("/dev/ttyUSB0", 115200, "arrival")
    assert rig.journal.file == Path("/etc/holdwater/holdwater.db")
    assert (rig.page.host, rig.page.port) == ("127.0.0.1", 8321)
    assert rig.broker is mqtt
    assert rig.notices.permit is False


def test_everything_else_has_a_default() -> None:
    rig = smallest()
    assert (rig.about.units, rig.about.language, rig.about.timezone) == ("us", "en", None)
    assert rig.tank.full_l == pytest.approx(285 * L_PER_GAL)
    assert rig.tank.band_l == pytest.approx((46.5 * L_PER_GAL, 179 * L_PER_GAL))
    assert (rig.tank.tow_limit_l, rig.tank.outlet, rig.supply, rig.pumps) == (None, None, None, ())
    assert rig.warn.act_time_s == 120.0
    assert rig.journal.file == Path("/etc/holdwater/holdwater.db")
    assert (rig.page.host, rig.page.port) == ("127.0.0.1", 8321)
    assert rig.broker is None


def test_an_empty_pump_and_an_empty_supply_have_defaults_too() -> None:
    rig = smallest("[[pump]]", "[[pump]]", "[supply]", "[extra]", "[warn]", "[notices]", "[rig]")
    assert [pump.name for pump in rig.pumps] == ["Pump 1", "Pump 2"]
    assert all(pump.draw_l_min > 0 and pump.bypass.to == "inlet" for pump in rig.pumps)
    assert rig.supply is not None
    assert (rig.supply.reading, rig.supply.measures, rig.supply.float_valve) == (None, "total", None)


@pytest.mark.parametrize(
    ("length", "flow", "seconds"),
    # plug flow through 3/8 in of bore, 1 gal = 231 in3 by definition; 200 ft at 8 and 5.5 gpm is common practice's "ten
    # seconds until the line runs clear", no published source
    [("150 ft", 6.0, 8.6), ("150 ft", 4.0, 12.9), ("200 ft", 8.0, 8.606), ("200 ft", 5.5, 12.518)],
)
def test_a_hose_holds_its_water_back_for_seconds(length: str, flow: float, seconds: float) -> None:
    (pump,) = smallest("[[pump]]", f'hose = {{ bore = "3/8 in", length = "{length}", rated = "4000 psi" }}').pumps
    assert pump.hose is not None
    assert pump.hose.rated_pa == pytest.approx(4000 * PA_PER_PSI)
    assert pump.hose.clear_s(flow * L_PER_GAL) == pytest.approx(seconds, abs=0.051)


def test_a_pump_needs_no_hose() -> None:
    assert smallest("[[pump]]").pumps[0].hose is None


def test_a_table_just_short_of_capacity_is_extended() -> None:
    rows = 'strapping = [["0 in", "0 gal"], ["6 in", "28.4 gal"], ["42 in", "298 gal"]]'
    rig = parse(SMALLEST.replace(SMALLEST.splitlines()[4], rows), HOME)
    assert rig.tank.shape is None
    assert rig.tank.strapping.capacity_l == pytest.approx(300 * L_PER_GAL)
    assert rig.tank.strapping.volume_l(6 * 0.0254) == pytest.approx(28.4 * L_PER_GAL)
    assert rig.tank.outline[0][0] == 0.0


def test_a_table_may_go_on_above_capacity() -> None:
    rows = 'strapping = [["0 in", "0 gal"], ["42 in", "300 gal"], ["44 in", "320 gal"]]'
    rig = parse(SMALLEST.replace(SMALLEST.splitlines()[4], rows), HOME)
    assert rig.tank.strapping.capacity_l == pytest.approx(320 * L_PER_GAL)


@pytest.mark.parametrize(
    ("shape", "gallons"),
    [
        ('{ kind = "horizontal cylinder", diameter = "42 in", length = "54 in", ends = "dished" }', 375.8),
        ('{ kind = "horizontal cylinder", diameter = "42 in", length = "54 in", ends = "hemispherical" }', 491.9),
        ('{ kind = "vertical cylinder", diameter = "48 in", height = "40 in" }', 313.3),
        (
            '{ kind = "vertical cylinder", diameter = "4 ft", height = "40 in", '
            'bottom = "conical", bottom_depth = "1 ft" }',
            344.7,
        ),
        ('{ kind = "elliptical", width = "60 in", height = "36 in", length = "48 in" }', 352.5),
        ('{ kind = "obround", width = "60 in", height = "36 in", length = "48 in" }', 391.0),
        ('{ kind = "upright elliptical", length = "60 in", width = "36 in", height = "48 in" }', 352.5),
        ('{ kind = "upright obround", length = "60 in", width = "36 in", height = "48 in" }', 391.0),
    ],
)
def test_each_shape(shape: str, gallons: float) -> None:
    """Expected by elementary geometry at 231 in³ a gallon; the dished one with 0.0809 D³ an end (vessel handbooks)."""
    line = SMALLEST.splitlines()[4]
    rig = parse(SMALLEST.replace(line, f"shape = {shape}"), HOME)
    assert rig.tank.strapping.capacity_l / L_PER_GAL == pytest.approx(gallons, rel=1e-3)
    assert rig.tank.outline[-1][0] == pytest.approx(rig.tank.strapping.top_m)


def test_levels_that_are_converted() -> None:
    distance = with_level('measures = "distance"', 'zero = "44 in"', 'assumes = "68 °F"', 'ahead = "-20 in"')
    assert distance.tank.levels[0].zero_m == pytest.approx(44 * 0.0254)
    assert distance.tank.levels[0].assumed_c == pytest.approx(20.0)
    assert distance.tank.levels[0].ahead_m == pytest.approx(-0.508)
    current = with_level('measures = "current"', 'range = ["0 psi", "2 psi"]')
    assert current.tank.levels[0].range == Range(0.0, pytest.approx(2 * PA_PER_PSI), "pressure")
    falling = with_level('measures = "current"', 'range = ["1 m", "0 m"]')
    assert falling.tank.levels[0].range == Range(1.0, 0.0, "length")


def test_two_level_sensors_and_an_absolute_one_with_its_barometer() -> None:
    text = SMALLEST.replace("[tank.level]", "[[tank.level]]").replace(
        "[[feed]]", '[[tank.level]]\nreading = "tank/depth"\nmeasures = "pressure"\nabsolute = true\n[[feed]]'
    )
    rig = parse(text + '[extra]\nbarometer = "mast/pressure"', HOME)
    assert [(level.reading, level.absolute) for level in rig.tank.levels] == [
        ("tank/level", False),
        ("tank/depth", True),
    ]


@pytest.mark.parametrize(
    ("above", "threshold"),
    [
        ("20 psi", Threshold(pytest.approx(20 * PA_PER_PSI), "Pa")),
        ("0.5 gpm", Threshold(pytest.approx(0.5 * L_PER_GAL), "l/min")),
        ("600 Hz", Threshold(600.0, "Hz")),
    ],
)
def test_a_signal_may_be_a_reading_against_a_threshold(above: str, threshold: Threshold) -> None:
    rig = smallest("[[pump]]", f'running = {{ reading = "rides/tacho", above = "{above}" }}')
    assert rig.pumps[0].running is not None
    assert (rig.pumps[0].running.reading, rig.pumps[0].running.above) == ("rides/tacho", threshold)


def test_a_pulse_meter_has_its_k_factor() -> None:
    rig = smallest("[supply]", 'reading = "inlet/pulses"', 'measures = "pulses"', 'k_factor = "1700 /gal"')
    assert rig.supply is not None
    assert rig.supply.k_factor_per_l == pytest.approx(1700 / L_PER_GAL)


def test_every_kind_of_feed() -> None:
    rig = smallest(
        '[[feed]]\nmqtt = "mqtts://broker.example"\nca = "certs/ca.pem"\nclock = "node"',
        'username = "rig"\npassword = "secret"',
        '[[feed]]\nrecorded = "days/monday.jsonl"\nspeed = 4',
        '[[feed]]\nsimulated = "fairground"\nspeed = 2.5\nseed = 7',
    )
    first, mqtt, recorded, simulated = rig.feeds
    assert isinstance(first, SimulatedFeed)
    assert isinstance(mqtt, MqttFeed)
    assert isinstance(recorded, RecordedFeed)
    assert isinstance(simulated, SimulatedFeed)
    assert (mqtt.host, mqtt.port, mqtt.tls, mqtt.clock, mqtt.secret()) == (
        "broker.example",
        8883,
        True,
        "node",
        "secret",
    )
    assert mqtt.ca == Path("/etc/holdwater/certs/ca.pem")
    assert (recorded.file, recorded.speed) == (Path("/etc/holdwater/days/monday.jsonl"), 4.0)
    assert (simulated.scenario, simulated.speed, simulated.seed) == ("fairground", 2.5, 7)
    assert [name for name, _ in rig.named_feeds] == ["simulated 1", "mqtt 1", "recorded 1", "simulated 2"]
    assert "secret" not in repr(rig)


def test_a_password_is_the_first_line_of_its_file(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("open sesame\nsecond line\n", "utf-8")
    file = tmp_path / "rig.toml"
    file.write_text(
        SMALLEST + '[[feed]]\nmqtt = "mqtt://localhost"\nusername = "rig"\npassword_file = "secret"', "utf-8"
    )
    feed = load(file).feeds[1]
    assert isinstance(feed, MqttFeed)
    assert feed.secret() == "open sesame"


def test_notices_go_where_they_are_told() -> None:
    rig = smallest('[notices]\nmqtt = "mqtt://10.0.0.4:1884"\npermit = true')
    assert rig.broker is rig.notices
    assert (rig.notices.host, rig.notices.port, rig.notices.permit) == ("10.0.0.4", 1884, True)


@pytest.mark.parametrize("listen", ["127.0.0.1:80", "127.8.9.1:8321", "localhost:0", "[::1]:65535"])
def test_addresses_of_this_machine(listen: str) -> None:
    page = smallest(f'[page]\nlisten = "{listen}"').page
    assert f"{page.host}:{page.port}" == listen.replace("[", "").replace("]", "")


def test_a_file_with_a_byte_order_mark_and_carriage_returns(tmp_path: Path) -> None:
    file = tmp_path / "rig.toml"
    file.write_bytes(b"\xef\xbb\xbf" + SMALLEST.replace("\n", "\r\n").encode())
    assert load(str(file)).tank.capacity_l == pytest.approx(300 * L_PER_GAL)


def test_a_rig_cannot_be_changed() -> None:
    rig = smallest()
    with pytest.raises(ValueError, match="frozen"):
        rig.tank.heel_l = 0.0  # type: ignore[misc]
