"""Makes dashboards/states/*.json: the example states that feed the tests, the gallery and the pictures.

Invented data for the fairground rig. Every number follows from the few given ones (water, flows, who draws), so that
a state agrees with itself; `test_states.py` checks that with formulas of its own.

    python tests/browser/states_maker.py        writes the files anew
"""

import json
import math
from pathlib import Path
from typing import Any

from monitor.alarms.catalogue import ALARMS, AlarmName

GAL = 3.785411784
HERE = Path(__file__).resolve().parents[2] / "dashboards" / "states"
AT = 1795600000.0
RADIUS_M, LENGTH_M = 21 * 0.0254, 54 * 0.0254
CAPACITY, FULL, HEEL, BAND, TOW = 320 * GAL, 300 * GAL, 30 * GAL, (50 * GAL, 180 * GAL), 80 * GAL
HORIZON_S = 3600.0
HOSE_L = math.pi / 4 * (0.375 * 0.0254) ** 2 * 150 * 0.3048 * 1000
RATES = {"Rides": 6 * GAL, "Stalls": 4 * GAL, "Stands": 3 * GAL}

State = dict[str, Any]


def cylinder_l(height_m: float) -> float:
    """Volume under `height_m` in the lying cylinder, in litres."""
    up = RADIUS_M - min(max(height_m, 0.0), 2 * RADIUS_M)
    segment = RADIUS_M**2 * math.acos(up / RADIUS_M) - up * math.sqrt(max(RADIUS_M**2 - up**2, 0.0))
    return 1000 * LENGTH_M * segment


def height_m(volume_l: float) -> float:
    low, high = 0.0, 2 * RADIUS_M
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if cylinder_l(middle) < volume_l else (low, middle)
    return round((low + high) / 2, 4)


def outline() -> list[list[float]]:
    heights = [RADIUS_M * (1 - math.cos(math.pi * i / 32)) for i in range(33)]
    return [[round(h, 4), round(2 * math.sqrt(max(h * (2 * RADIUS_M - h), 0.0)), 4)] for h in heights]


def rig(**changed: Any) -> State:
    plain = {
        "name": "Fairground wash-down trailer", "units": "us", "language": "en", "timezone": "America/Chicago",
        "capacity_l": CAPACITY, "full_l": FULL, "heel_l": HEEL, "band_l": list(BAND), "tow_limit_l": TOW,
        "act_time_s": 120.0, "outline": outline(),
        "heights": {
            "heel_m": height_m(HEEL), "band_m": [height_m(BAND[0]), height_m(BAND[1])], "full_m": height_m(FULL),
            "tow_m": height_m(TOW), "top_m": round(2 * RADIUS_M, 4),
        },
    }  # fmt: skip
    return {**plain, **changed}


def pump(name: str, state: str, draw: float | None, rate: float | None, today_s: float, **changed: Any) -> State:
    hose = name in ("Rides", "Stalls") and rate
    plain = {"name": name, "state": state, "certain": True, "draw_l_min": draw, "rate_l_min": rate,
             "running_s_today": today_s, "state_since": AT - 240.0, "bypass_s": 240.0 if state == "bypass" else 0.0,
             "line_s": round(60 * HOSE_L / rate, 1) if hose else None}  # fmt: skip
    return {**plain, **changed}


def pumps(drawing: tuple[str, ...] = (), rates: dict[str, float] = RATES, **states: str) -> list[State]:
    """One entry a pump: those in `drawing` draw at their own rate, `states` names any other state than off."""
    hours = (7800.0, 5520.0, 1200.0, 600.0, 0.0, 0.0)
    made = []
    for (name, rate), today_s in zip(rates.items(), hours, strict=False):
        state = "draws" if name in drawing else states.get(name, "off")
        draw = {"draws": rate, "off": 0.0, "bypass": 0.0}.get(state)
        made.append(pump(name, state, draw, rate, today_s))
    return made


def signals(volume: float | None, tap: float | None, **changed: Any) -> list[State]:
    level = {"name": "tank/level", "node": "tank", "value": None if volume is None else height_m(volume),
             "unit": "m", "age_s": 0.4, "count": 41230, "quality": "good", "why": None}  # fmt: skip
    inlet = {"name": "inlet/total", "node": "inlet", "value": 2210.4, "unit": "l", "age_s": 0.7, "count": 8120,
             "quality": "good" if tap is not None else "unknown", "why": None}  # fmt: skip
    return [{**level, **changed}, inlet]


def capped(seconds: float | None) -> float | None:
    return None if seconds is None or seconds > HORIZON_S else round(seconds, 1)


def flat_out_s(volume: float, tap: float, used: list[State]) -> float | None:
    """Seconds to the heel if every pump that draws or bypasses now draws without a pause."""
    net = tap - sum(p["rate_l_min"] for p in used if p["state"] in ("draws", "bypass"))
    return round(60 * (volume - HEEL) / -net, 1) if net < 0 else None


def forecast(volume: float, sd: float, tap: float | None, used: list[State], dry: Any, quality: str) -> State:
    draws = {p["name"]: p["draw_l_min"] for p in used}
    total = None if None in draws.values() else sum(draws.values())
    net = None if total is None or tap is None else tap - total
    kept = 60 * (volume - HEEL) / -net if net is not None and net < -0.6 else None
    if dry == "spread":
        spread = {"p05": 0.78, "p50": 1.04, "p95": 1.4}
        dry = None if kept is None else {name: capped(kept * share) for name, share in spread.items()}
    return {
        "volume_l": volume, "volume_sd_l": sd, "inflow_l_min": tap, "net_l_min": net, "draw_sum_l_min": total,
        "draw_l_min": draws, "draw_rate_l_min": {p["name"]: p["rate_l_min"] for p in used}, "dry_s": dry,
        "dry_if_kept_s": None if kept is None else round(kept, 1),
        "dry_flat_out_s": None if tap is None else flat_out_s(volume, tap, used),
        "level_quality": quality, "supply_quality": "good" if tap is not None else "unknown",
    }  # fmt: skip


def water(volume: float | None, net: float | None) -> State:
    if volume is None:
        return {"height_m": None, "trend": None, "full_in_s": None, "band_in_s": None}
    trend = None if net is None else "falling" if net < -0.6 else "rising" if net > 0.6 else "holding"
    up = net is not None and trend == "rising"
    return {
        "height_m": height_m(volume), "trend": trend,
        "full_in_s": round(60 * (FULL - volume) / net, 1) if up and volume < FULL else None,
        "band_in_s": round(60 * (BAND[0] - volume) / net, 1) if up and volume < BAND[0] else None,
    }  # fmt: skip


def supply(state: str, tap: float | None, **changed: Any) -> State:
    learned = 4.2 * GAL
    plain = {"state": state, "tap_l_min": learned, "tap_range_l_min": [3.9 * GAL, 4.6 * GAL], "since": AT - 5820.0,
             "filling_past_meter": False, "dumping": False}  # fmt: skip
    if state in ("absent", "unknown"):
        plain |= {"tap_l_min": None, "tap_range_l_min": None, "since": None}
    return {**plain, **changed}


def past(volume: float | None, sd: float | None, net: float | None, minutes: int = 60) -> State:
    """The last hour, ending at `volume` with the slope `net`; before that the water wandered within the tank."""
    points: list[list[float | None]] = []
    for back in range(minutes * 6, -1, -1):
        ago_s = back * 10.0
        value = None
        if volume is not None:
            recent = -(net or 0.0) * min(ago_s, 240.0) / 60
            older = max(ago_s - 240.0, 0.0)
            drift = -(net or 0.0) * 0.55 * older / 60 + 14 * math.sin(older / 260) + 9 * (math.cos(older / 97) - 1)
            value = round(min(max(volume + recent + drift, HEEL * 0.98), FULL * 1.005 if volume < FULL else volume), 2)
        points.append([AT - ago_s, value, None if value is None else sd])
    return {"step_s": 10, "points": points}


def alarm(name: AlarmName, state: str = "unacknowledged", **changed: Any) -> State:
    known = ALARMS[name]
    plain = {"alarm": name, "priority": known.priority, "state": state, "since": AT - 22.0, "pump": None,
             "signal": None, "node": None, "variant": None, "followers": [], "under": None, "shelved_until": None,
             "time_s": None if state.startswith("returned") else known.respond_s,
             "shelve_max_s": known.shelve_max_s}  # fmt: skip
    return {**plain, **changed}


def state(title: str, gallons: float | None, tap_gpm: float | None = 4.2, used: list[State] | None = None, *,
          sd: float = 4.0, dry: Any = "spread", quality: str = "good", **changed: Any) -> State:  # fmt: skip
    """A whole state. `title` is for the gallery; `changed` replaces what follows from the given figures."""
    used = pumps() if used is None else used
    volume = None if gallons is None else round(gallons * GAL, 2)
    tap = None if tap_gpm is None else round(tap_gpm * GAL, 2)
    said = forecast(volume, sd, tap, used, dry, quality) if volume is not None else unknown_forecast(used)
    minutes = changed.pop("past_minutes", 60)
    flowing = "unknown" if tap is None else "flowing" if tap > 0 else "none"
    made = {
        "title": title, "at": AT, "wall": AT, "age_s": 0.4, "speed": 1.0, "source": "live", "scenario": None,
        "seq": 123, "started_s": 11400.0, "rig": rig(), "forecast": said, "water": water(volume, said["net_l_min"]),
        "supply": supply(flowing, tap), "pumps": used, "advice": {"say": "unknown", "with": {}},
        "packing": packing(said, used), "alarms": [], "work": {"site": "", "job": None, "sites": []},
        "signals": signals(volume, tap),
        "feeds": [{"name": "mqtt 1", "ok": True, "why": "", "do": "", "packs": 49350, "rejects": 0}],
        "rejects": {"total": 0, "by_kind": {}, "latest": []}, "unknown_names": {}, "dropped": 0,
        "journal": {"ok": True, "why": None, "waiting": 0},
        "notices": part("notices"), "permit": None, "horn": None,
        "motion": False, "packing_up": False, "laid_up": False, "faults": [], "chemical": [],
        "tonight": {"word": "unknown", "tonight": [], "air_c": None, "coldest_c": None},
    }  # fmt: skip
    made |= changed
    made["past"] = past(volume, sd, said["net_l_min"], minutes)
    return made


def packing(said: State, used: list[State]) -> State:
    """When to shut the tap and how long the water above the tow limit then lasts, 5 to 95 %: only the volume varies."""
    volume, net = said["volume_l"], said["net_l_min"]
    if volume is None:
        return {**dict.fromkeys(("shut_tap_in_s", "lasts_s", "lasts_range_s", "volume_then_l")), "tow_limit_l": TOW}
    off = 1.645 * said["volume_sd_l"]
    room = TOW - off - volume
    shut = 0.0 if room <= 0 else 60 * room / net if net is not None and net > 0.05 else None
    then = volume + max(room, 0.0) if shut is not None else volume
    draw = sum(p["rate_l_min"] or 0.0 for p in used if p["state"] in ("draws", "bypass"))
    lasts = [0.0] * 3 if then + off - TOW < 0.01 else None
    if lasts is None and draw:
        lasts = [round(60 * max(0.0, then + d - TOW) / draw, 2) for d in (-off, 0.0, off)]
    return {
        "shut_tap_in_s": None if shut is None else round(shut, 2), "lasts_s": None if lasts is None else lasts[1],
        "lasts_range_s": None if lasts is None else lasts[::2], "volume_then_l": round(then, 2), "tow_limit_l": TOW,
    }  # fmt: skip


def unknown_forecast(used: list[State]) -> State:
    nothing = {p["name"]: None for p in used}
    keys = ("volume_l", "volume_sd_l", "inflow_l_min", "net_l_min", "draw_sum_l_min")
    return {
        **dict.fromkeys(keys), "draw_l_min": nothing, "draw_rate_l_min": {p["name"]: p["rate_l_min"] for p in used},
        "dry_s": None, "dry_if_kept_s": None, "dry_flat_out_s": None, "level_quality": "bad", "supply_quality": "bad",
    }  # fmt: skip


def part(name: str, why: str = "", do: str = "") -> State:
    """How a part of the monitor is; with a `why` it fails."""
    return {"name": name, "ok": not why, "why": why, "do": do, "packs": 11400, "rejects": 0, "waiting": 0}


def say(key: str, **values: Any) -> State:
    return {"say": key, "with": values}


def time_left_s(gallons: float, sd_l: float, net_gpm: float) -> float:
    """To the heel by the lower bound of the volume, 10 %: the standard normal's lower tenth lies at -1.2816."""
    return round(max(0.0, 60 * ((gallons - 30) * GAL - 1.2816 * sd_l) / (-net_gpm * GAL)), 1)


def seconds_to(gallons: float, net_gpm: float) -> float:
    return round(60 * (gallons - 30) / -net_gpm, 1)


GRANDSTAND, FOOD = "Grandstand & carousel hot-water machine", "Food stalls along the north fence"
LONG = {GRANDSTAND: 22.0, FOOD: 15.0, "Stable block, cold, the old one": 11.0}
SIX = {"Rides": 22.7, "Stalls": 15.1, "Stands": 11.4, "Gates": 9.5, "Barns": 7.6, "Spare": 7.6}
METRIC = {"units": "metric", "timezone": "Europe/Madrid", "language": "es", "name": "Remolque de lavado del ferial"}
SLOW = 1.5 * GAL
SLOW_SITE = {"tap_l_min": SLOW, "tap_range_l_min": [1.4 * GAL, 1.7 * GAL]}


def calm_states() -> dict[str, State]:
    both, one = pumps(("Rides", "Stalls")), pumps(("Rides",))
    return {
        "falling": state("Two pumps draw more than the tap gives", 112, used=both,
                         advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "holding": state("The tap carries the pump in use; the permit is on", 128, 4.1, pumps(("Stalls",)),
                         permit={"on": True, "why": None}, advice=say("carries_all")),
        "filling": state("Pumps off, the tank fills", 140, advice=say("filling", full_s=60 * 160 / 4.2)),
        "over-an-hour": state("Falling slowly: dry in over an hour", 150, used=one,
                              advice=say("share", percent=70)),
        "forty-minutes": state("Dry in about 40 minutes, known to within ten", 98, used=one,
                               advice=say("share", percent=70)),
        "slow-tap": state("The tap carries no pump at all", 80, 1.5, both, supply=supply("flowing", SLOW, **SLOW_SITE),
                          advice=say("stop_buys", stop=["Rides"],
                                     gains_s=seconds_to(80, -2.5) - seconds_to(80, -8.5))),
        "pause": state("Triggers closed: holding now, but work will go on", 96, 4.1,
                       pumps(("Stalls",), Rides="bypass"),
                       advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=96 * GAL),
                       dry={"p05": 840.0, "p50": 1500.0, "p95": 2700.0}),
        "bypass": state("One pump on bypass, one draws", 104, 4.1, pumps(("Stalls",), Rides="bypass"),
                        advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=104 * GAL)),
        "full": state("Full, the float valve has shut", 300, 0.0, supply=supply("closed", 0.0), advice=say("full")),
        "idle": state("Nothing draws, nothing comes in", 160, 0.0, supply=supply("none", 0.0), advice=say("idle")),
        "no-meter": state("No meter in the rig file", 118, None, both, supply=supply("absent", None),
                          dry={"p05": 480.0, "p50": 840.0, "p95": 1500.0}, advice=say("unmetered")),
        "long-names": state("Three pumps with long names, metric, Spanish", 112, 4.2,
                            pumps((GRANDSTAND, FOOD), LONG), rig=rig(**METRIC),
                            advice=say("stop_to_hold", stop=[GRANDSTAND], keep=[FOOD], volume_l=112 * GAL)),
        "six-pumps": state("Six pumps, three draw", 150, 4.2, pumps(("Rides", "Stalls", "Gates"), SIX),
                           advice=say("stop_to_hold", stop=["Rides", "Gates"], keep=["Stalls"], volume_l=150 * GAL)),
        "simulated": state("The demo at ten times life", 112, used=both, source="simulated", scenario="fairground",
                           speed=10.0, advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
    }  # fmt: skip


def unknowing_states() -> dict[str, State]:
    both = pumps(("Rides", "Stalls"))
    blurred = [{**p, "state": "unknown", "certain": False, "draw_l_min": None} for p in pumps()]
    guessed = [{**p, "certain": p["name"] == "Rides"} for p in both]
    unsplit = state("The sum is known, the split is not", 112, 4.2, blurred,
                    advice=None, dry={"p05": 600.0, "p50": 900.0, "p95": 1620.0})
    unsplit["forecast"] |= {"draw_sum_l_min": 37.9, "net_l_min": round(4.2 * GAL, 2) - 37.9}
    kept = 60 * (unsplit["forecast"]["volume_l"] - HEEL) / -unsplit["forecast"]["net_l_min"]
    unsplit["forecast"] |= {"dry_if_kept_s": round(kept, 1)}
    unsplit["water"] = water(unsplit["forecast"]["volume_l"], unsplit["forecast"]["net_l_min"])
    unsplit["past"] = past(unsplit["forecast"]["volume_l"], 4.0, unsplit["forecast"]["net_l_min"])
    silent = {"age_s": None, "signals": [
        {"name": "tank/level", "node": "tank", "value": None, "unit": "m", "age_s": None, "count": 0,
         "quality": "unknown", "why": None},
        {"name": "inlet/total", "node": "inlet", "value": None, "unit": "l", "age_s": None, "count": 0,
         "quality": "unknown", "why": None}]}
    nothing_runs = [{**p, "running_s_today": 0.0, "state_since": None} for p in blurred]
    return {
        "guessed": state("Who draws is inferred, not told", 112, used=guessed,
                         advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "unsplit": unsplit,
        "level-uncertain": state("The level is not believed; the balance carries the volume", 112, used=both, sd=34.0,
                                 quality="uncertain", dry={"p05": 420.0, "p50": 870.0, "p95": 1620.0},
                                 alarms=[alarm("level-signal", signal="tank/level", node="tank")],
                                 advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL)),
        "stale": state("No level reading for 47 s", 104, used=both, sd=22.0, quality="bad", age_s=47.0,
                       dry={"p05": 480.0, "p50": 790.0, "p95": 1320.0},
                       signals=signals(104 * GAL, 4.2 * GAL, age_s=47.0, quality="bad", why="missing"),
                       alarms=[alarm("level-signal", "acknowledged", signal="tank/level", node="tank",
                                     since=AT - 41)],
                       advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=104 * GAL)),
        "no-data": state("Nothing has arrived since the start", None, None, nothing_runs,
                         supply=supply("unknown", None),
                         alarms=[alarm("node-lost", node="tank", followers=["level-signal"], since=AT - 300)],
                         started_s=310.0, **silent),
        "first-start": state("First start: some level, nothing learned yet", 190, None,
                             [{**p, "rate_l_min": None, "line_s": None} for p in nothing_runs], sd=12.0, dry=None,
                             supply=supply("unknown", None), started_s=9.0, past_minutes=0),
    }  # fmt: skip


def alarm_states() -> dict[str, State]:
    both = pumps(("Rides", "Stalls"))
    soon = {"alarms": [alarm("dry-soon", time_s=time_left_s(42, 3, -5.8), followers=["water-low"])],
            "permit": {"on": True, "why": None},
            "advice": say("wait_then", wait_s=60 * 8 / 4.2, volume_l=50 * GAL)}
    return {
        "water-low": state("Under the band", 46, used=both,
                           alarms=[alarm("water-low", time_s=time_left_s(46, 4, -5.8))],
                           advice=say("wait_then", wait_s=60 * 4 / 4.2, volume_l=50 * GAL)),
        "dry-soon": state("The heel may be reached within the act time", 42, used=both, sd=3.0, **soon),
        "under-two": state("Dry in under two minutes", 36, used=both, sd=3.0,
                           alarms=[alarm("dry-soon", time_s=time_left_s(36, 3, -5.8),
                                         followers=["water-low"])],
                           advice=say("wait_then", wait_s=60 * 14 / 4.2, volume_l=50 * GAL)),
        "dry-soon-heard": state("Critical and acknowledged; a second alarm stands too", 39, 0.0, both, sd=3.0,
                                supply=supply("none", 0.0), advice=say("no_supply", lasts_s=seconds_to(39, -10)),
                                alarms=[alarm("dry-soon", "acknowledged", time_s=time_left_s(39, 3, -10),
                                              since=AT - 31),
                                        alarm("supply-lost", since=AT - 80)]),
        "dry": state("At the heel with a pump drawing air", 30, 0.0, pumps(("Rides",)), sd=3.0,
                     supply=supply("none", 0.0), dry={"p05": 0.0, "p50": 0.0, "p95": 0.0},
                     advice=say("no_supply", lasts_s=0.0),
                     alarms=[alarm("dry", pump="Rides", variant="suction")]),
        "supply-lost": state("Water should be coming in and is not", 122, 0.0, both, supply=supply("none", 0.0),
                             alarms=[alarm("supply-lost")],
                             advice=say("no_supply", lasts_s=seconds_to(122, -10))),
        "pump-starved": state("A pump draws and the level stands still", 140, 0.0, pumps(("Rides",)),
                              supply=supply("none", 0.0), dry=None,
                              advice=say("no_supply", lasts_s=seconds_to(140, -6)),
                              alarms=[alarm("pump-starved", pump="Rides")]),
        "long-names-starved": state("A pump with a long name is starved, metric, Spanish", 140, 0.0,
                                    pumps((GRANDSTAND,), LONG), rig=rig(**METRIC), supply=supply("none", 0.0),
                                    dry=None, alarms=[alarm("pump-starved", pump=GRANDSTAND)],
                                    advice=say("no_supply", lasts_s=60 * 110 * GAL / 22)),
        "bypass-hot": state("A pump too long on bypass", 150, 4.2, pumps((), Rides="bypass"),
                            alarms=[alarm("bypass-hot", pump="Rides")],
                            advice=say("share", percent=70)),
        "overfill": state("Above the full mark and still coming in", 306, 4.2, advice=say("full"),
                          alarms=[alarm("overfill")]),
        "over-now": state("An alarm that went by itself, not yet seen by anybody", 128, 4.1, pumps(("Stalls",)),
                          advice=say("carries_all"),
                          alarms=[alarm("supply-lost", "returned to normal unacknowledged", since=AT - 400)]),
        "dry-soon-over": state("A critical alarm that went by itself, not yet seen by anybody", 60, 4.2,
                               advice=say("filling", full_s=60 * 240 / 4.2),
                               alarms=[alarm("dry-soon", "returned to normal unacknowledged",
                                             since=AT - 160)]),
        "many-alarms": state("Several things at once", 112, 4.2, both,
                             advice=say("stop_to_hold", stop=["Rides"], keep=["Stalls"], volume_l=112 * GAL),
                             alarms=[alarm("draw-low", pump="Rides", since=AT - 90),
                                     alarm("freeze", "acknowledged", since=AT - 3000),
                                     alarm("leak", "shelved", since=AT - 2000, shelved_until=AT + 1600),
                                     alarm("journal", since=AT - 700)]),
        "permit-stopped": state("The permit of the pumps has stopped and waits for a person", 128, 4.1,
                                permit={"on": False, "why": "dry-soon"}, notices=part("notices"),
                                advice=say("filling", full_s=60 * 172 / 4.1)),
        "parts-broken": state("Nothing is recorded, and the broker is gone", 128, 4.1, pumps(("Stalls",)),
                              journal=part("journal", "The disk is full.", "Make room on it."),
                              notices=part("notices", "The broker does not answer.", "See whether it runs."),
                              alarms=[alarm("journal", since=AT - 9)], advice=say("carries_all")),
        "packing-up": state("Packing up, too heavy to tow", 112, 4.2, packing_up=True,
                            alarms=[alarm("tow-heavy", variant="packing up")],
                            advice=say("filling", full_s=60 * 188 / 4.2)),
        "towing": state("On the road with too much water", 112, 0.0, motion=True, packing_up=True,
                        supply=supply("none", 0.0), alarms=[alarm("tow-heavy", variant="moving")],
                        advice=say("idle")),
    }  # fmt: skip


def all_states() -> dict[str, State]:
    made = {**calm_states(), **unknowing_states(), **alarm_states()}
    unmetered = made["no-meter"]  # the net flow is not known, and the volume falls
    volume = unmetered["forecast"]["volume_l"]
    unmetered["water"]["trend"] = "falling"
    unmetered["past"] = past(volume, 4.0, round(-(volume - HEEL) / 14, 2))
    for starved in (made["pump-starved"], made["long-names-starved"]):
        # the balance says falling, the level stands: nothing can be said
        starved["forecast"] |= {"net_l_min": None, "dry_if_kept_s": None, "dry_flat_out_s": None}
        starved["water"] |= {"trend": "holding", "full_in_s": None}
        starved["past"] = past(starved["forecast"]["volume_l"], 4.0, 0.0)
    return made


def written(state_: State) -> str:
    return json.dumps(state_, ensure_ascii=False, separators=(",", ":")) + "\n"


def main() -> None:
    HERE.mkdir(exist_ok=True)
    made = all_states()
    for name, state_ in made.items():
        (HERE / f"{name}.json").write_text(written(state_), encoding="utf-8")
    (HERE / "index.json").write_text(json.dumps(list(made), indent=0) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
