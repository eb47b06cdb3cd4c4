"""What ``holdwater check`` says of a rig file."""

import re
from pathlib import Path

import pytest

from monitor.quantities import L_PER_GAL
from monitor.rig.defaults import defaults
from monitor.rig.describe import describe
from monitor.rig.doubts import computed_heel_l, doubts
from monitor.rig.gains import gains
from monitor.rig.gains_words import WORDS
from monitor.rig.load import fairground, parse
from monitor.rig.model import Rig

METRIC = """
[rig]
name = "Anhänger"
units = "metric"
[tank]
capacity = "1000 L"
heel = "60 L"
tow_limit = "50 L"
outlet = { bore = "25 mm" }
strapping = [["0 mm", "0 L"], ["400 mm", "420 L"], ["950 mm", "995 L"]]
[[tank.level]]
reading = "tank/echo"
measures = "distance"
zero = "90 cm"
assumes = "20 °C"
ahead = "-30 cm"
[[tank.level]]
reading = "tank/loop"
measures = "current"
range = ["0 kPa", "10 kPa"]
offset = "20 mm"
[supply]
reading = "inlet/pulses"
measures = "pulses"
k_factor = "450 /L"
[[pump]]
draw = "30 L/min"
running = { reading = "one/tacho", above = "25 Hz" }
drawing = { reading = "one/flow", above = "1 L/min" }
bypass = { to = "tank" }
[[feed]]
recorded = "monday.jsonl"
speed = 8
[[feed]]
mqtt = "mqtt://broker.example:1884"
username = "rig"
password = "open sesame"
clock = "node"
[notices]
permit = true
"""


def example(old: str = "", new: str = "") -> Rig:
    text = fairground()
    assert old in text
    return parse(text.replace(old, new, 1) if old else text, Path("/nowhere/rig.toml"))


def metric(old: str = "", new: str = "") -> Rig:
    assert old in METRIC
    return parse(METRIC.replace(old, new, 1) if old else METRIC, Path("/nowhere/rig.toml"))


def told(rig: Rig) -> str:
    """The text in one line, however it is folded."""
    return " ".join(describe(rig).split())


def test_the_example_in_its_owners_units() -> None:
    text = told(example())
    for said in (
        "Fairground wash-down trailer: understood, no fault found.",
        "A horizontal cylinder, diameter 42.0 in, length 54.0 in, ends flat: it holds 324 gal up to its top at 42.0",
        "height volume one in more",
        "6.2 in 30 gal 7.0 gal heel",
        "12.4 in 80 gal 9.0 gal tow limit",
        "36.7 in 300 gal 6.5 gal full",
        "40.4 in 320 gal 3.7 gal capacity",
        "Heel given: 30 gal, at 6.2 in.",
        "Heel computed: 25 gal. An outlet of 1.50 in at 0.0 in wants 5.6 in of water over it when all",
        "pumps draw 13.0 gpm together (ANSI/HI 9.8, stretched to small bores: a guide).",
        "tank/level: the level, as a height",
        "inlet/total: the inflow, by its total",
        "a float valve starts to close at 270 gal and is shut at 300 gal",
        "Rides: draws 6.0 gpm, runs by rides/running, draws by rides/drawing; bypass to the inlet, for 3 min at most",
        "Stands: draws 3.0 gpm, running inferred, drawing inferred, suction by stands/suction",
        "mqtt 1: mqtt://127.0.0.1:1883, topics holdwater/+/readings; a reading's time counts from its arrival",
        "serial 1: /dev/ttyUSB0 at 115200 baud",
        "journal: /nowhere/holdwater.db",
        "page: http://127.0.0.1:8321/",
        "the permit for an owner's relay is off",
        "[[pump]] 2 bypass = to inlet, time 3 min",
    ):
        assert said in text


def test_water_at_the_tow_limit_is_weighed_and_its_hazard_named() -> None:
    """80 gal at 60 °F weigh 667 lb: 8.337 lb/gal (IAPWS-95)."""
    text = told(example())
    assert "weighs 667 lb" in text
    assert "the weight on the tongue: the makers' limits for trailer and hitch come first" in text


def test_a_metric_rig() -> None:
    text = told(metric())
    for said in (
        "By a strapping table of 3 rows: 1000 L up to 955 mm.",
        "The table ends at 995.0 L and was extended to the capacity.",
        "height volume one cm more",
        "tank/echo: the level, as a distance, looking down from 900 mm, 300 mm behind the tank's middle",
        "tank/loop: the level, as a current, 0.0 kPa at 4 mA and 10.0 kPa at 20 mA",
        "gauge, water temperature taken as 15 °C, counted from 20 mm",
        "inlet/pulses: the inflow, by its pulses, 450.0 /L",
        "Pump 1: draws 30 L/min, runs by one/tacho above 25 Hz, draws by one/flow above 1 L/min; bypass to the tank",
        "recorded 1: /nowhere/monday.jsonl, 8 times as fast as life",
        "a reading's time counts by the node's clock",
        "people read metric units",
        "published; it advises a relay and is no safety device",
    ):
        assert said in text
    assert "gal" not in text
    assert "open sesame" not in text


def test_every_default_is_said_to_be_one() -> None:
    taken = {f"{table} {key}": value for table, key, value in defaults(metric())}
    assert taken["[rig] timezone"] == "the system's"
    assert taken["[tank] full"] == "950 L"
    assert taken["[tank] band"] == "149 L, 594 L"
    assert taken["[tank] outlet.height"] == "0 mm"
    assert taken["[[pump]] 1 name"] == "Pump 1"
    assert taken["[[pump]] 1 bypass.time"] == "30 min"
    assert taken["[warn] act_time"] == "2 min"
    assert taken["[journal] file"] == "/nowhere/holdwater.db"
    assert taken["[page] listen"] == "127.0.0.1:8321"
    assert taken["[notices] mqtt"] == "the broker of the first mqtt feed"
    assert "[rig] units" not in taken
    assert "[tank] heel" not in taken
    assert "[[pump]] 1 draw" not in taken


def test_the_computed_heel_stands_beside_the_given_one() -> None:
    wanted_l = computed_heel_l(example())
    assert wanted_l is not None
    assert wanted_l / L_PER_GAL == pytest.approx(25, abs=0.5)
    assert computed_heel_l(example('outlet = { bore = "1.5 in", height = "0 in" }\n')) is None


@pytest.mark.parametrize(
    ("rig", "doubt"),
    [
        (example('heel = "30 gal"', 'heel = "10 gal"'), "heel 10 gal is less than the 25 gal at which the outlet may"),
        (example('outlet = { bore = "1.5 in", height = "0 in" }\n'), "outlet is not given"),
        (example('height = "0 in" }', 'height = "5 ft" }'), "outlet.height 60.0 in lies above the tank's top"),
        (
            example('length = "54 in"', 'length = "80 in"'),
            "holds 480 gal by its shape, far above its capacity of 320 gal",
        ),
        (example(), "from its low mark the water lasts 92 s with every pump open and no inflow"),
        (example('tow_limit = "80 gal"', 'tow_limit = "20 gal"'), "the pumps cannot bring the water down to it"),
        (example('shut = "300 gal"', 'shut = "310 gal"'), "float_valve shuts at 310 gal, above full (300 gal)"),
        (example('draw = "3 gpm"\n'), "Stands: draw is not given; 5.5 gpm is taken until it is learned"),
        (example('"tank/motion"', '"motion"'), "motion has no node in its name"),
        (example(), "/nowhere, where the journal should lie, is no folder"),
        (metric(), "tank/echo sees up to 900 mm, below full at"),
        (metric("ahead", "# ahead"), "they cannot tell how the trailer slopes"),
        (metric(), "permit is on, and will never be published while a feed is simulated or recorded"),
        (metric(), "The password for mqtt://broker.example:1884 goes over the network in the clear"),
        (metric(), "/nowhere/monday.jsonl is not there"),
        (metric(METRIC[METRIC.index("[[pump]]") : METRIC.index("[[feed]]")]), "No [[pump]] is named"),
    ],
)
def test_what_deserves_a_second_look(rig: Rig, doubt: str) -> None:
    assert sum(doubt in each for each in doubts(rig)) == 1


def test_a_sound_rig_leaves_nothing_to_doubt(tmp_path: Path) -> None:
    text = fairground().replace('band = ["50 gal"', 'band = ["60 gal"')
    rig = parse(text, tmp_path / "rig.toml")
    assert doubts(rig) == []
    assert "Worth a second look nothing" in told(rig)


def test_what_one_more_sensor_would_buy() -> None:
    now, drawing, running, slope = gains(example())
    assert "with 135 gal above the heel, every pump at work" in now
    assert "(drawing) on Stalls and Stands" in drawing
    assert "(running) on Stands" in running
    assert "With Rides alone at work" in running
    assert "1.0 in of error at the band's low mark is 8.0 gal, 37 s of all pumps" in slope


def test_it_is_said_in_both_languages_and_both_unit_systems() -> None:
    now, drawing, running, slope = gains(example(), "es", "metric")
    assert "con 511 L sobre el volumen muerto" in now
    assert "(drawing) en Stalls y Stands" in drawing
    assert "Con solo Rides trabajando" in running
    assert "25 mm de error en la marca baja de la franja son 30.4 L" in slope
    assert "Qué daría un sensor más Tal como está, con 511 L" in told(parse(in_spanish()))


def in_spanish() -> str:
    text = fairground()
    text = text.replace('units = "us"', 'units = "metric"').replace('language = "en"', 'language = "es"')
    assert 'language = "es"' in text
    assert 'units = "metric"' in text
    return text


def test_every_word_of_it_is_there_in_both_languages_with_the_same_figures() -> None:
    figures = [{key: sorted(re.findall(r"{\w+}", text)) for key, text in words.items()} for words in WORDS.values()]
    assert figures[0] == figures[1]


@pytest.mark.parametrize("many", [0, 5, 12])
def test_without_a_pump_or_with_a_crowd_that_no_signal_tells_apart_it_is_told_without_figures(many: int) -> None:
    text = fairground()
    pumps = "".join(f'[[pump]]\nname = "Pump {k}"\n' for k in range(many))
    rig = parse(text[: text.index("[[pump]]")] + pumps + text[text.index("[[feed]]") :])
    assert not any("With it" in gain or "As it is" in gain or "alone" in gain for gain in gains(rig))


def test_short_times_are_told_finely_enough_to_show_what_is_gained() -> None:
    thirsty = re.sub(r'draw = "[^"]+"', 'draw = "20 gpm"', fairground())
    assert re.search(r"known to be \d\.\d min to \d+(\.\d)? min", gains(parse(thirsty))[0])


def test_temperatures_are_worth_something_to_echo_and_pressure_sensors() -> None:
    air, water, *_ = [gain for gain in gains(metric()) if "temperature" in gain]
    assert "air temperature for tank/echo" in air
    assert "water temperature for tank/loop" in water


def test_a_rig_without_a_meter_is_told_what_a_meter_buys() -> None:
    text = fairground()
    text = text[: text.index("[supply]")] + text[text.index("[[pump]]") :]
    rig = parse(text)
    assert sum("A meter on the inflow" in gain for gain in gains(rig)) == 1
    assert "no meter on the inflow: it is judged by the level alone" in told(rig)


def test_a_rig_with_everything_gains_nothing() -> None:
    text = fairground().replace('motion = "tank/motion"', 'motion = "tank/motion"\nslope = "tank/slope"')
    for name in ("stalls", "stands"):
        text = text.replace(f'name = "{name.title()}"', f'name = "{name.title()}"\ndrawing = "{name}/drawing"')
    assert gains(parse(text)) == ["nothing that is known of"]


def test_no_line_is_too_long_to_read() -> None:
    assert max(map(len, describe(metric()).splitlines())) <= 104
