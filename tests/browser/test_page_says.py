"""Numbers as people say them, no finer than they are known."""

from typing import Any

import fluids.geometry
import pytest
from conftest import Held
from stub_server import load

pytestmark = pytest.mark.browser

GAL = 3.785411784


def said(held: Held, call: str, *values: Any, units: str = "us", language: str = "en") -> Any:
    script = """async ([call, values, units, language]) => {
      const say = await import("/static/crew/say.js");
      const { loadWords } = await import("/static/shared/words.js");
      await loadWords(language);
      say.setUnits(units);
      return say[call](...values);
    }"""
    found = held.page.evaluate(script, [call, list(values), units, language])
    return found.replace("\u00a0", " ") if isinstance(found, str) else found


def dry(p05: float | None, p50: float | None, p95: float | None) -> dict[str, float | None]:
    return {"p05": p05, "p50": p50, "p95": p95}


@pytest.mark.parametrize(
    ("forecast", "kind", "minutes", "early"),
    [
        (None, "none", None, None),
        (dry(660, 840, 1200), "about", 14, 11),
        (dry(30, 150, 300), "about", 3, 0),
        (dry(60, 119, 300), "under", 2, None),
        (dry(0, 0, 0), "dry", 0, None),
        (dry(None, None, None), "over", None, None),
        (dry(3000, None, None), "over", None, 50),
        (dry(170, 185, 200), "about", 3, 2),
        (dry(190, 200, 210), "about", 3, None),  # an early bound that says the same is left out
        (dry(1500, 2580, None), "about", 40, 20),  # known to half an hour either way: tens of minutes
        (dry(1500, 2280, 2700), "about", 40, 25),  # to ten minutes: fives
    ],
)
def test_time_to_dry(tablet: Held, forecast: Any, kind: str, minutes: int | None, early: int | None) -> None:
    assert said(tablet, "timeToDry", forecast) == {"kind": kind, "minutes": minutes, "early": early}


def test_the_early_bound_is_never_later_than_it_is(tablet: Held) -> None:
    all_of_them = """async (forecasts) => {
      const { timeToDry } = await import("/static/crew/say.js");
      return forecasts.map((dry) => timeToDry(dry).early);
    }"""
    bounds = [7.0 * i for i in range(514)]
    early = tablet.page.evaluate(all_of_them, [dry(p05, p05 + 600.0, p05 + 900.0) for p05 in bounds])
    assert any(early)
    assert all(minutes is None or 60 * minutes <= p05 for p05, minutes in zip(bounds, early, strict=True))


@pytest.mark.parametrize(
    ("litres", "sd_l", "us", "metric"),
    [
        (112 * GAL, 2.0, "112 gal", "425 L"),
        (112 * GAL, 34.0, "110 gal", "400 L"),
        (112 * GAL, 8.0, "110 gal", "420 L"),
        (112 * GAL, None, "112 gal", "425 L"),
        (0.0, 2.0, "0 gal", "0 L"),
        (None, None, "? gal", "? L"),
    ],
)
def test_a_volume_is_no_finer_than_its_spread(
    tablet: Held, litres: float | None, sd_l: float | None, us: str, metric: str
) -> None:
    assert said(tablet, "volume", litres, sd_l) == us
    assert said(tablet, "volume", litres, sd_l, units="metric") == metric


def test_flows(tablet: Held) -> None:
    assert said(tablet, "flow", 6 * GAL) == "6.0 gpm"
    assert said(tablet, "flow", 22.7, units="metric") == "23 L/min"
    assert said(tablet, "flow", 6.2 * GAL, True) == "≈ 6.0 gpm"
    assert said(tablet, "flow", None) == "? gpm"
    assert said(tablet, "flow", -0.0) == "0.0 gpm"


def test_spans_and_weights(tablet: Held) -> None:
    assert said(tablet, "span", 60) == "under 2 min"
    assert said(tablet, "span", 14 * 60) == "about 14 min"
    assert said(tablet, "span", 47 * 60) == "about 45 min"
    assert said(tablet, "span", 80 * 60) == "about 1 h 20 min"
    assert said(tablet, "wait", 57) == "1 min"
    assert said(tablet, "wait", 121) == "3 min"
    assert said(tablet, "counted", 7800) == "2 h 10 min"
    assert said(tablet, "weight", 80 * GAL) == "670 lb"  # 8.34 lb/gal at 60 °F: 667
    assert said(tablet, "weight", 300, units="metric") == "300 kg"


def test_names_are_joined_as_the_language_joins_them(tablet: Held) -> None:
    assert said(tablet, "names", ["Rides", "Stalls"]) == "Rides and Stalls"
    assert said(tablet, "names", ["Rides", "Islas"], language="es") == "Rides e Islas"


def test_decimals_are_written_as_the_reader_writes_them(tablet: Held) -> None:
    assert said(tablet, "clock", 1795600000.0, "America/Chicago") == "3:46 AM"
    assert said(tablet, "clock", 1795600000.0, "Europe/Madrid", units="metric", language="es") == "10:46"
    assert said(tablet, "clock", 1795600000.0, "Nowhere/Land")


TANK = """async ([rig, volumes]) => {
  const { Tank } = await import("/static/crew/tank.js");
  const tank = new Tank(rig);
  return volumes.map((v) => [tank.height_m(v), tank.volume_l(tank.height_m(v))]);
}"""


def test_the_drawn_water_stands_where_the_volume_stands(tablet: Held) -> None:
    """Against fluids.geometry.TANK for the same lying cylinder: within 4 mm everywhere, and back again."""
    rig = load("falling")["rig"]
    inch = 0.0254
    cylinder = fluids.geometry.TANK(D=42 * inch, L=54 * inch, horizontal=True)
    volumes = [10 + 30 * i for i in range(38)]
    for volume_l, (height_m, back_l) in zip(volumes, tablet.page.evaluate(TANK, [rig, volumes]), strict=True):
        assert height_m == pytest.approx(cylinder.h_from_V(volume_l / 1000), abs=0.004)
        assert back_l == pytest.approx(volume_l, abs=1.0)


def test_a_figure_stays_with_its_unit(tablet: Held) -> None:
    """Whatever the line is broken for, never between a figure and what it counts."""
    script = """async () => {
      const { loadWords, t } = await import("/static/shared/words.js");
      await loadWords("en");
      return t("advice.wait_then", { wait: "12 min", volume: "50 gal" });
    }"""
    said_ = tablet.page.evaluate(script)
    assert said_ == "Stop all pumps and wait 12\u00a0min: then 50\u00a0gal stands in the tank."
