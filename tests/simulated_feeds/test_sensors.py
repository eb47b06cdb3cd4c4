"""Sensors say what they are set to say: their pace, noise and steps, and the physics of what they measure."""

from itertools import pairwise
from statistics import mean, pstdev

import pytest
from playing import minutes, readings, story_of, story_with

from simulated_feeds.level_sensor import sound_m_s, water_kg_m3

QUIET = '[crew]\nday = [["break", "9 h"]]\n[water]\nstart = "150 gal"\n[tap]\nflow = "0 gpm"\n'
STILL = "slosh = 0.0\nstrays = 0.0\ndropouts = 0.0\n"


@pytest.mark.parametrize(("every_s", "count"), [(0.1, 6000), (0.5, 1200), (2.0, 300)])
def test_the_level_keeps_its_pace(every_s: float, count: int) -> None:
    story = story_of(f'{QUIET}[sensor."tank/level"]\nevery = {every_s}\ndropouts = 0.0')
    stamps = [at for at, _ in readings(minutes(story, 10), "tank/level")]
    assert len(stamps) == pytest.approx(count, abs=2)
    assert mean(b - a for a, b in pairwise(stamps)) == pytest.approx(every_s, rel=0.01)


@pytest.mark.parametrize("noise_mm", [1.0, 4.0])
def test_the_level_is_as_noisy_as_set(noise_mm: float) -> None:
    story = story_of(f'{QUIET}[sensor."tank/level"]\nnoise = "{noise_mm} mm"\nstep = "0.1 mm"\n{STILL}')
    values = [v for _, v in readings(minutes(story, 30), "tank/level")]
    assert pstdev(values) == pytest.approx(noise_mm / 1000, rel=0.06)


def test_the_level_moves_in_its_steps() -> None:
    story = story_of(f'{QUIET}[sensor."tank/level"]\nstep = "5 mm"\nnoise = "8 mm"\n')
    values = {v for _, v in readings(minutes(story, 10), "tank/level")}
    assert len(values) > 3
    assert all(round(v * 1000) % 5 == 0 for v in values)


def test_samples_go_missing_and_stray_as_often_as_set() -> None:
    story = story_of(f'{QUIET}[sensor."tank/level"]\ndropouts = 0.2\nstrays = 0.02\n')
    values = [v for _, v in readings(minutes(story, 60), "tank/level")]
    assert len(values) == pytest.approx(0.8 * 7200, rel=0.03)
    middle = sorted(values)[len(values) // 2]
    assert 0.015 < sum(abs(v - middle) > 0.03 for v in values) / len(values) < 0.06


def test_a_sensor_off_the_middle_reads_low_with_the_nose_up() -> None:
    story = story_of(f'{QUIET}[sensor."tank/level"]\nahead = "500 mm"\n{STILL}')
    story.world.place.slope = 0.02
    level = mean(v for _, v in readings(minutes(story, 5), "tank/level"))
    assert level == pytest.approx(story.truth(story.start_at + 60).height_m - 0.010, abs=5e-4)


# IAPWS-95 (CoolProp, iapws): density in kg/m³
def test_density_of_water() -> None:
    for water_c, kg_m3 in ((10, 999.702), (15, 999.103), (20, 998.207), (25, 997.048), (30, 995.649), (40, 992.216)):
        assert water_kg_m3(water_c) == pytest.approx(kg_m3, rel=2e-4)


# ISO 9613-1 (from memory; within 0.05 % of CoolProp's dry air)
@pytest.mark.parametrize(("air_c", "m_s"), [(-20, 318.93), (0, 331.29), (20, 343.2), (40, 354.71)])
def test_speed_of_sound(air_c: float, m_s: float) -> None:
    assert sound_m_s(air_c) == pytest.approx(m_s, rel=1e-3)


def _level_of(keys: str, **setting: float) -> tuple[float, float]:
    """(mean reading, true height) of a level sensor that measures something else."""
    rows = "\n".join(f"{key} = {value}" for key, value in setting.items())
    story = story_with(f'{QUIET}[sensor."tank/level"]\n{STILL}{rows}', 'measures = "height"', keys)
    story.world.place.slope = 0.0
    values = [v for _, v in readings(minutes(story, 5), "tank/level")]
    return mean(values), story.truth(story.start_at + 60).height_m


def test_distance_follows_the_sound_of_the_air() -> None:
    plain, height_m = _level_of('measures = "distance"\nzero = "1.5 m"')
    assert plain == pytest.approx(1.5 - height_m, abs=5e-4)
    assuming, _ = _level_of('measures = "distance"\nzero = "1.5 m"\nassumes = "0 °C"')
    assert assuming / plain == pytest.approx(331.3 / 341.5, rel=0.01)  # the morning air has some 17 °C


def test_pressure_is_the_weight_of_the_water() -> None:
    gauge, height_m = _level_of('measures = "pressure"')
    assert gauge == pytest.approx(998.8 * 9.80665 * height_m, rel=2e-3)
    absolute, _ = _level_of('measures = "pressure"\nabsolute = true')
    assert absolute - gauge == pytest.approx(101_325, abs=100)


def test_a_current_loop_has_its_range() -> None:
    amps, height_m = _level_of('measures = "current"\nrange = ["0 mm", "1000 mm"]')
    assert amps == pytest.approx(0.004 + 0.016 * height_m, abs=1e-5)


def test_volume_is_volume() -> None:
    litres, _ = _level_of('measures = "volume"')
    assert litres == pytest.approx(150 * 3.7854, abs=1.5)


def test_the_meter_counts_what_runs_in_with_its_own_gain() -> None:
    text = '[crew]\nday = [["work", "1 s"], ["break", "9 h"]]\n[water]\nstart = "60 gal"\n'
    story = story_of(text + '[sensor."inlet/total"]\ngain = 1.05')
    total = readings(minutes(story, 30), "inlet/total")[-1]
    ran_in_l = story.truth(total[0]).volume_l - 60 * 3.785411784
    assert total[1] == pytest.approx(1.05 * ran_in_l, abs=0.5)


def test_the_meter_counts_what_ran_in_before_the_tap_was_shut() -> None:
    text = '[crew]\nday = [["work", "1 s"], ["break", "9 h"]]\n[tap]\nflow = "40 l/min"\n[water]\nstart = "60 gal"\n'
    story = story_of(text + '[sensor."inlet/total"]\nstep = "0.01 l"')
    story.advance(story.start_at + 2.0)
    for n in range(30):
        story.hand("tap", open=n % 2 == 1)
        story.advance(story.start_at + 2.0 + 3.0 * (n + 1))
    story.hand("tap", open=False)
    total = readings(story.advance(story.start_at + 100.0), "inlet/total")[-1]
    assert total[1] == pytest.approx(story.truth(total[0]).volume_l - 60 * 3.785411784, abs=0.1)


def test_a_trickle_under_the_cut_off_is_not_counted() -> None:
    text = '[crew]\nday = [["work", "1 s"], ["break", "9 h"]]\n[tap]\nflow = "0.6 l/min"\n[water]\nstart = "60 gal"'
    story = story_of(text + '\n[sensor."inlet/total"]\ncutoff = 1.0')
    assert readings(minutes(story, 30), "inlet/total")[-1][1] == 0.0
    assert story.truth(story.start_at + 1800).volume_l > 60 * 3.7854 + 15


@pytest.mark.parametrize(("keys", "expected"), [
    ('measures = "pulses"\nk_factor = "45 /L"', 45.0),
    ('measures = "rate"', None),
])  # fmt: skip
def test_pulses_and_rates(keys: str, expected: float | None) -> None:
    text = '[crew]\nday = [["work", "1 s"], ["break", "9 h"]]\n[water]\nstart = "60 gal"'
    story = story_with(text, 'measures = "total"', keys)
    begins_l = story.world.water.volume_l
    values = readings(minutes(story, 20), "inlet/total")
    ran_in_l = story.truth(values[-1][0]).volume_l - begins_l
    if expected is not None:
        assert values[-1][1] == pytest.approx(expected * ran_in_l, abs=expected)
    else:
        assert sum(v for _, v in values) / 60 == pytest.approx(ran_in_l, rel=0.01)


def test_running_and_drawing_follow_engine_and_trigger() -> None:
    story = story_of('[crew]\nday = [["work", "9 h"]]\n[water]\nstart = "250 gal"')
    events = minutes(story, 20)
    for name, truth_of in (("running", "engine"), ("drawing", "trigger")):
        said = readings(events, f"rides/{name}")
        right = sum(getattr(story.truth(at), truth_of)["Rides"] == on for at, on in said)
        assert right / len(said) > 0.97
        assert {on for _, on in said} == {True, False}


def test_thresholds_stand_well_over_and_under() -> None:
    story = story_of('[crew]\nday = [["work", "9 h"]]\n[water]\nstart = "1000 L"', rig="midway")
    events = minutes(story, 20)
    for reading, above in (("rear/tacho", 10.0), ("rear/head", 4e6)):
        values = [v for _, v in readings(events, reading)]
        assert all(v > 1.5 * above or v < 0.4 * above for v in values)
        assert min(values) < above < max(values)


def test_suction_falls_while_a_pump_draws_and_collapses_when_it_is_blocked() -> None:
    story = story_of('[crew]\nday = [["break", "9 h"]]\n[water]\nstart = "200 gal"')
    still = mean(v for _, v in readings(minutes(story, 2), "stands/suction"))
    story.hand("trigger", pump="Stands", on=True)
    draws = mean(v for _, v in readings(minutes(story, 4), "stands/suction")[-60:])
    story.set_fault("outlet-shut", True, pump="Stands")
    blocked = mean(v for _, v in readings(minutes(story, 6), "stands/suction")[-60:])
    assert still - 3000 < draws < still - 1000
    assert blocked < -40_000


def test_temperatures_and_slope_are_those_of_the_place() -> None:
    weather = '[weather]\nlow = "10 °C"\nhigh = "20 °C"\nmain = "8 °C"\n'
    story = story_of(weather + '[crew]\nday = [["break", "9 h"]]', rig="midway")
    events = minutes(story, 30)
    assert mean(v for _, v in readings(events, "tank/air")) == pytest.approx(story.weather.air_c(900), abs=0.3)
    assert mean(v for _, v in readings(events, "tank/water")) == pytest.approx(story.weather.water_c(900), abs=0.3)
    assert mean(v for _, v in readings(events, "tank/slope")) == pytest.approx(story.world.place.slope, abs=2e-4)
