"""All that the pages show, as one object; SI units in the keys. Figures are rounded here, once."""

from typing import Any

from monitor.balance.filter import Belief
from monitor.balance.pumps import PumpWatch
from monitor.balance.supply import LEAST_L_MIN
from monitor.core.core import Core
from monitor.core.signals import Signal
from monitor.core.trend import STEADY_L_MIN, trend
from monitor.forecast.advice import Advice, InUse, Water, advise
from monitor.forecast.packing import Aboard, Packing, packing
from monitor.forecast.passage import Spread


def standing(core: Core, at: float) -> dict[str, Any]:
    """The state as of `at` on the daemon's time line; what only the daemon knows (feeds, journal) it adds itself."""
    belief = core.balance.belief
    forecast = core.outlook.now(at, core.judge.level.quality, core.judge.supply.quality, core.forecast)
    return {
        "at": round(at, 3),
        "wall": round(at + core.wall_offset_s, 3),
        "age_s": _level_age_s(core, at),
        "rig": rig_part(core),
        "forecast": {k: v for k, v in forecast.line().items() if k not in ("at", "event")},
        "water": _water(core, belief, forecast.net_l_min),
        "supply": _supply(core, belief),
        "pumps": _pumps(core, belief),
        "signals": [signal_part(core, at, s) for s in core.intake.signals.values()],
        "motion": core.intake.moving,
        "packing_up": core.judge.packing_up,
        "laid_up": core.judge.laid_up,
        **_decided(core, at),
    }


def _decided(core: Core, at: float) -> dict[str, Any]:
    """What changes with a tick, an act or a reject only: put together once for all the packs between two of them."""
    if core.decided is None or core.decided[0] != core.revision:
        core.decided = (core.revision, _decisions(core, at, core.balance.belief))
    return core.decided[1]


def _decisions(core: Core, at: float, belief: Belief | None) -> dict[str, Any]:
    return {
        "advice": _advice(core, at, belief),
        "packing": _packing(core, at, belief),
        "alarms": core.board.standing(),
        "rejects": {
            "total": sum(core.rejects.values()),
            "by_kind": dict(core.rejects),
            "latest": [r._asdict() for r in core.latest_rejects],
        },
        "unknown_names": dict(core.intake.unknown),
        "work": core.jobs.standing(),
        "chemical": _chemical(core, at, belief),
        "tonight": core.servicing.tonight(core.wall(at), core.intake.surroundings.get("air_temperature")),
    }


def rig_part(core: Core) -> dict[str, Any]:
    """What the pages need of the rig file; the same for as long as the file is."""
    if core.rig_part is None:
        core.rig_part = _rig(core)
    return core.rig_part


def _rig(core: Core) -> dict[str, Any]:
    rig, tank, table = core.rig, core.rig.tank, core.rig.tank.strapping
    return {
        "name": rig.about.name,
        "units": rig.about.units,
        "language": rig.about.language,
        "timezone": rig.about.timezone,
        "capacity_l": tank.capacity_l,
        "full_l": tank.full_l,
        "heel_l": tank.heel_l,
        "band_l": list(tank.band_l),
        "tow_limit_l": tank.tow_limit_l,
        "act_time_s": rig.warn.act_time_s,
        "outline": [[round(h, 4), round(w, 4)] for h, w in tank.outline],
        "heights": {
            "heel_m": table.height_m(tank.heel_l),
            "band_m": [table.height_m(v) for v in tank.band_l],
            "full_m": table.height_m(tank.full_l),
            "tow_m": None if tank.tow_limit_l is None else table.height_m(tank.tow_limit_l),
            "top_m": table.top_m,
        },
    }


def _level_age_s(core: Core, at: float) -> float | None:
    ages = [core.intake.signals[level.settings.reading].alive.age_s(at) for level in core.intake.levels]
    known = [age for age in ages if age is not None]
    return round(min(known), 3) if known else None


def _water(core: Core, belief: Belief | None, net: float | None) -> dict[str, Any]:
    if belief is None:
        return {"height_m": None, "trend": None, "full_in_s": None, "band_in_s": None}
    marks, volume = core.outlook.marks, belief.volume_l
    rising = net is not None and net > STEADY_L_MIN
    return {
        "height_m": round(core.balance.tank.height_m(volume), 4),
        "trend": trend(net, core.past[-13:], max((p.state_since or 0.0 for p in core.pumps), default=0.0)),
        "full_in_s": round(60.0 * (marks.full - volume) / net, 1) if rising and net and volume < marks.full else None,
        "band_in_s": round(60.0 * (marks.band_low - volume) / net, 1)
        if rising and net and volume < marks.band_low
        else None,
    }


def _supply(core: Core, belief: Belief | None) -> dict[str, Any]:
    tap, verdicts = core.balance.tap, core.verdicts
    return {
        "state": _supply_state(core, belief),
        "tap_l_min": _rounded(tap.l_min),
        "tap_range_l_min": None if tap.low_l_min is None else [_rounded(tap.low_l_min), _rounded(tap.high_l_min)],
        "since": tap.since,
        "filling_past_meter": core.now is not None and core.now < verdicts.filling_until,
        "dumping": core.now is not None and core.now < verdicts.dumping_until,
    }


def _supply_state(core: Core, belief: Belief | None) -> str:
    meter = core.intake.meter
    if meter is None:
        return "absent"
    if core.verdicts.supply_silent():
        return "unknown"
    if meter.inflow.l_min > LEAST_L_MIN:
        return "flowing"
    full = belief is not None and belief.volume_l > 0.98 * core.outlook.shut_l
    return "closed" if full and core.outlook.has_valve else "none"


def _pumps(core: Core, belief: Belief | None) -> list[dict[str, Any]]:
    draws = {} if belief is None else core.outlook.draws_l_min(belief)
    rates = [None] * len(core.pumps) if belief is None else list(belief.rates_l_min)
    return [
        {
            "name": pump.name,
            "state": _pump_state(pump),
            "certain": pump.drawing is not None or pump.running is False,
            "draw_l_min": _rounded(draws.get(pump.name)),
            "rate_l_min": _rounded(rate),
            "running_s_today": round(core.hours.today_s(pump.name), 1),
            "state_since": pump.state_since,
            "bypass_s": round(pump.bypass_s, 1),
            "line_s": _line_s(core.soaping.hose_l(pump.name), draws.get(pump.name) or rate),
        }
        for pump, rate in zip(core.pumps, rates, strict=True)
    ]


def _pump_state(pump: PumpWatch) -> str:
    """By its own signals as they stand now, as its draw is told; else as of the last whole second."""
    if pump.drawing is not None:
        return "draws" if pump.drawing else "bypass" if pump.running else "off"
    return "off" if pump.running is False else pump.state


def _line_s(hose_l: float | None, flow_l_min: float | None) -> float | None:
    """How long the line still carries what stood in it, at what the pump takes now, or else when it draws."""
    return None if hose_l is None or not flow_l_min else round(60.0 * hose_l / flow_l_min, 1)


def _chemical(core: Core, at: float, belief: Belief | None) -> list[dict[str, Any]]:
    heads_pa = core.intake.pressures_pa(at)
    if belief is None:
        return core.soaping.standing({}, {}, heads_pa)
    names = [pump.name for pump in core.pumps]
    drawing, rates = (dict(zip(names, each, strict=True)) for each in (belief.drawing, belief.now_l_min))
    return core.soaping.standing(drawing, rates, heads_pa)


def _advice(core: Core, at: float, belief: Belief | None) -> dict[str, Any] | None:
    if belief is None:
        return {"say": "unknown", "with": {}}
    coming = core.outlook.coming_in(belief)
    if coming is None:
        return {"say": "unmetered", "with": {}}
    marks = core.outlook.marks
    water = Water(belief.volume_l, marks.heel, marks.band_low, marks.full, coming.mean)
    stopped = {pump.name for pump in core.pumps if pump.running is False}  # nobody is told to stop a stopped engine
    in_use = [InUse(name, rate) for name, rate, _ in core.outlook.in_use(at) if name not in stopped]
    said: Advice = advise(water, in_use)
    figures = {k: _rounded(v) if isinstance(v, float) else v for k, v in said.figures.items()}
    return {"say": said.say, "with": figures}


def _packing(core: Core, at: float, belief: Belief | None) -> dict[str, Any] | None:
    """When to shut the tap so that the last rinse lands at the tow limit; None where the rig has no such limit."""
    outlook, limit_l = core.outlook, core.outlook.marks.tow_limit
    if limit_l is None:
        return None
    if belief is None:
        return {**dict.fromkeys(Packing._fields), "tow_limit_l": limit_l}
    rates = zip(core.pumps, belief.rates_l_min, belief.rates_sd_l_min, strict=True)
    in_use = [Spread(rate, sd) for pump, rate, sd in rates if pump.in_use(at)]
    aboard = Aboard(Spread(belief.volume_l, belief.volume_sd_l), limit_l, outlook.marks.heel)
    found = packing(aboard, outlook.coming_in(belief), outlook.draw_sum_l_min(belief), in_use)
    span_s = found.lasts_range_s
    return {
        "shut_tap_in_s": _rounded(found.shut_tap_in_s),
        "lasts_s": _rounded(found.lasts_s),
        "lasts_range_s": None if span_s is None else [_rounded(each) for each in span_s],
        "volume_then_l": _rounded(found.volume_then_l),
        "tow_limit_l": limit_l,
    }


def signal_part(core: Core, at: float, signal: Signal) -> dict[str, Any]:
    """One signal as every page shows it."""
    age = signal.alive.age_s(at)
    quality = signal.quality
    if quality is None:
        quality = "uncertain" if age is None else "bad" if core.intake.lost(at, signal) else "good"
    return {
        "name": signal.name,
        "node": signal.node,
        "kind": signal.kind,
        "value": signal.value,
        "unit": signal.unit,
        "age_s": None if age is None else round(age, 3),
        "count": signal.alive.count,
        "quality": "unknown" if age is None else quality,
        "why": signal.why or None,
        "stale": signal.stale,
    }


def past(core: Core, minutes: int) -> dict[str, Any]:
    """The volume of the last minutes, a point every ten seconds."""
    points = core.past[-6 * minutes :]
    return {"step_s": 10.0, "points": [[at, _rounded(v), _rounded(sd)] for at, v, sd in points]}


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2) + 0.0
