"""What the example states are made of: the fairground rig's tank, pumps, signals and water; each agrees with itself."""

import math
from typing import Any

from monitor.alarms.catalogue import ALARMS, AlarmName

GAL = 3.785411784
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
