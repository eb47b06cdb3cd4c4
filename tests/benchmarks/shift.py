"""One simulated shift through the core in process, and what is kept of it for the table: plain values, one JSON line.

Scored are the instants, every 30 s, at which the tank is being drained: the true volume is at least 1 l lower than a
minute before, stands at least 0.5 % of the tank over the heel, and the rig is not on the road. The definition looks
back only, so that it gives away nothing of the future. The outcome is the true time until the heel is next reached,
within an hour or not, nobody reacting.
"""

import math
from typing import Any, NamedTuple

from monitor.alarms.by_name import ByName
from monitor.changes import Forecast
from monitor.core import Core
from monitor.feeds.simulated import read
from monitor.replay import told
from monitor.rig.load import parse
from simulated_feeds.faults import FAULTS
from simulated_feeds.shifts import random_shift
from simulated_feeds.story import Story
from simulated_feeds.truth import Truth
from tests.benchmarks import limit
from tests.benchmarks.rivals import Rivals, Seen
from tests.benchmarks.scores import Span, Water, judge_warnings, run_dries, spans_of

HORIZON_S = 3600.0
EVERY_S = 30.0
BACK_S = 60
FELL_L, OVER_SHARE = 1.0, 0.005
STANDING = ("unacknowledged", "acknowledged")
SETTLE_S = 60.0
RECENT_S = 600.0
STEADY_S = 10
AT_THE_HEEL_L, SOAPING = 1.0, 0.9
OURS = "this daemon"


class Shift(NamedTuple):
    """Which shift to play; `oracle`: also ask for the limit."""

    seed: int
    family: str
    sensors: str
    fault: str | None
    oracle: bool

    @property
    def key(self) -> list[Any]:
        return [self.seed, self.family, self.sensors, self.fault]


class Heard(NamedTuple):
    """What the daemon said, and what the rivals did, every ten seconds; and its warnings."""

    forecasts: list[Forecast]
    points: list[list[float]]
    warnings: dict[str, list[Span]]


def play(shift: Shift) -> dict[str, Any]:
    """The record of one shift."""
    story = random_shift(shift.seed, shift.family, shift.sensors, shift.fault)  # type: ignore[arg-type]
    heard = _hear(story)
    truths = list(story.truths(1.0, HORIZON_S))
    water = _water(story, truths)
    dries = run_dries(water)
    faults = [row["what"] for row in story.scenario.tables["fault"]]
    return {
        "key": shift.key,
        "aboard": _aboard(story.rig_toml),
        "faults": faults,
        "signal_fault": any(not FAULTS[what].of_the_world for what in faults),
        "fault_at": [row["at"] for row in story.scenario.tables["fault"]],
        "hours": (story.end_at - story.start_at) / 3600.0,
        "instants": _instants(story, heard, truths, water, limit.Limit(story, shift.key) if shift.oracle else None),
        "warnings": {name: judge_warnings(spans, water, dries) for name, spans in heard.warnings.items()},
        "volume": _volumes(story, heard.forecasts, truths),
        "draw": _draws(story, heard.forecasts, truths, water),
    }


def _hear(story: Story) -> Heard:
    core = Core(parse(story.rig_toml))
    names = ByName(core.board)
    rivals = Rivals(core.rig.tank.heel_l, core.rig.tank.capacity_l)
    forecasts: list[Forecast] = []
    points: list[list[float]] = []
    standing: list[tuple[float, bool]] = []
    level_l = core.rig.tank.full_l
    for said in story.events():
        changes = core.take(read(said, "simulated 1"))
        for change in changes:
            if isinstance(change, Forecast):
                seen = _seen(core, change.at, story.start_at, level_l)
                level_l = seen.level_l
                forecasts.append(change)
                points.append(rivals.look(seen))
        for line in told(changes, names):
            if line["event"] == "alarm" and line["alarm"] == "dry-soon":
                standing.append((line["at"] - story.start_at, line["state"] in STANDING))
    end_s = story.end_at - story.start_at
    return Heard(forecasts, points, {OURS: spans_of(standing, end_s), **rivals.warnings(end_s)})


def _seen(core: Core, at: float, start_at: float, level_l: float) -> Seen:
    said = core.judge.situation(at)
    nominal = [pump.draw_l_min for pump in core.rig.pumps]
    running = said.nominal_l_min if core.rig.pumps[0].running else sum(nominal)
    level_l = level_l if said.raw_l is None else said.raw_l
    return Seen(at - start_at, level_l, sum(nominal), running, said.metered_l_min)


def _water(story: Story, truths: list[Truth]) -> Water:
    heel_l = story.world.water.heel_l
    usable = [truth.volume_l - heel_l for truth in truths]
    present = [
        60.0 * max(0.0, left) / -truth.net_l_min if truth.net_l_min < -0.05 else 0.0 if left <= 0.0 else math.inf
        for left, truth in zip(usable, truths, strict=True)
    ]
    dry = [truth.dry_at - truth.at for truth in truths]
    return Water(usable, dry, present, _in_use_s(story, truths, usable), story.world.water.capacity_l)


def _in_use_s(story: Story, truths: list[Truth], usable: list[float]) -> list[float]:
    rates = {pump.name: pump.rate_l_min for pump in story.world.pumps}
    used = dict.fromkeys(rates, -math.inf)
    times = []
    for t, truth in enumerate(truths):
        used |= {name: float(t) for name, engine in truth.engine.items() if engine}
        draws = sum(rate for name, rate in rates.items() if t - used[name] <= RECENT_S)
        net = truth.inflow_l_min - draws - truth.lost_l_min
        times.append(60.0 * max(0.0, usable[t]) / -net if net < -0.05 else math.inf)
    return times


def _drained(water: Water, truths: list[Truth], t: int) -> bool:
    return (
        t >= SETTLE_S
        and water.usable_l[t] > OVER_SHARE * water.capacity_l
        and water.usable_l[t - BACK_S] - water.usable_l[t] > FELL_L
        and not truths[t].moving
    )


def _instants(
    story: Story, heard: Heard, truths: list[Truth], water: Water, asked: limit.Limit | None
) -> list[list[Any]]:
    """Time, outcome, our quantiles (None: nothing said), the rivals' points, the oracle's quantiles (None: not asked).

    Infinity is kept as -1.
    """
    instants = []
    for forecast, points in zip(heard.forecasts, heard.points, strict=True):
        t = round(forecast.at - story.start_at)
        if t % EVERY_S or t >= len(truths) or not _drained(water, truths, t):
            continue
        said = forecast.dry_s and [math.inf if q is None else q for q in forecast.dry_s.values()]
        best = None
        if asked is not None and t % limit.EVERY_S == 0:
            best = asked.quantiles(t, water.usable_l[t], truths[t].lost_l_min)
        instants.append([t, _kept([water.dry_s[t]])[0], _kept(said), _kept(points), _kept(best)])
    if asked is not None:
        asked.keep()
    return instants


def _kept(values: list[float] | None) -> list[float] | None:
    return None if values is None else [round(v, 1) if math.isfinite(v) else -1.0 for v in values]


def _volumes(story: Story, forecasts: list[Forecast], truths: list[Truth]) -> list[list[float]]:
    """Time, error and stated spread of the volume, every minute."""
    kept = []
    for f in forecasts:
        t = round(f.at - story.start_at)
        if t % 60 == 0 and SETTLE_S <= t < len(truths) and f.volume_l is not None and f.volume_sd_l is not None:
            kept.append([t, round(f.volume_l - truths[t].volume_l, 2), round(f.volume_sd_l, 2)])
    return kept


def _draws(story: Story, forecasts: list[Forecast], truths: list[Truth], water: Water) -> dict[str, list[float]]:
    """Relative errors of each pump's told draw where it has drawn steadily for ten seconds, and of the sum in l/min.

    Apart from them those past a soap nozzle, of which this crew says nothing. At the heel, where pumps draw air and so
    much water as comes in, there is no draw to be known.
    """
    errors: dict[str, list[float]] = {"pump": [], "soaping": [], "untold": [], "sum": []}
    full = {pump.name: pump.rate_l_min for pump in story.world.pumps}
    for f in forecasts:
        t = round(f.at - story.start_at)
        if not SETTLE_S <= t < len(truths) - 1 or f.draw_sum_l_min is None or water.usable_l[t] <= AT_THE_HEEL_L:
            continue
        now = truths[t].draw_l_min
        errors["sum"].append(round(f.draw_sum_l_min - sum(now.values()), 2))
        for name, draw in now.items():
            if draw < 1.0 or any(abs(truths[t - back].draw_l_min[name] - draw) > 0.5 for back in range(1, STEADY_S)):
                continue
            told_l_min = f.draw_l_min.get(name)
            errors["untold"].append(float(told_l_min is None))
            if told_l_min:
                errors["soaping" if draw < SOAPING * full[name] else "pump"].append(round(told_l_min / draw - 1.0, 4))
    return errors


def _aboard(rig_toml: str) -> str:
    for sensor in ("drawing", "running"):
        if f"{sensor} = " in rig_toml:
            return sensor
    return "level+meter" if "inlet/flow" in rig_toml else "level"
