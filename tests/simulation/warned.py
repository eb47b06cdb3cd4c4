"""No run-dry without a warning, and none with a warning that leaves no time to act on it."""

import math
from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from monitor.daemon import Daemon
from simulated_feeds.truth import Truth

if TYPE_CHECKING:
    from tests.simulation.life import Life

STANDING = ("unacknowledged", "acknowledged")
FIRST_S = 15.0
"""A daemon that has just started has not heard enough yet."""
REMEMBERED_S = 120
KNOWN_S = 60
"""A pump that drew so long ago is known to be in use."""
SHARE = 0.75
"""Of the time to act: the warning stands when the pumps in use, all triggers held, would be dry within it."""
PATIENT_S = 15
STEADY_L_MIN = 2.0
OF_THE_TAP = frozenset({"tap-shut", "tap-weak"})
"""What is wrong with the tap for two minutes already is known, and moves no signal."""

NO_LEVEL = frozenset({"level-lost", "level-out-of-range"})


class Second(NamedTuple):
    """What was so: draws of those that drew, and what came in. `plain`: the level was good, the rig stood and was
    tight, and nothing was wrong aboard."""

    draw_l_min: dict[str, float]
    inflow_l_min: float
    plain: bool


class Warned:
    """Of one life, over the daemon's ends and starts."""

    def __init__(self, life: "Life") -> None:
        self.life = life
        self._was_dry = True
        self._past: deque[Second] = deque(maxlen=REMEMBERED_S)
        self._unwarned_s = 0
        faults = life.story.scenario.tables.get("fault", [])
        self._trembles = any(row["what"] == "level-stuck" and row.get("trembles") for row in faults)
        self._from_the_start: frozenset[str] | None = None

    def forget(self) -> None:
        """No daemon runs."""
        self._was_dry = True
        self._past.clear()
        self._unwarned_s = 0

    def wrong(self, daemon: Daemon) -> str | None:
        """Excepted are a start just made, level and supply both known to be bad, and what nobody could know."""
        truth, judge, faults = self.life.truth(), daemon.core.judge, self.life.story.faults_on
        self._from_the_start = frozenset(faults) if self._from_the_start is None else self._from_the_start
        board = daemon.core.board
        warned = board.state_of("dry-soon") in STANDING or board.state_of("dry") in STANDING
        draws = {name: l_min for name, l_min in truth.draw_l_min.items() if l_min > 0.0}
        sound = judge.level.quality == "good" and faults <= OF_THE_TAP
        plain = sound and not truth.moving and truth.lost_l_min == 0.0
        self._past.append(Second(draws, truth.inflow_l_min, plain))
        dry = truth.volume_l <= daemon.rig.tank.heel_l + 0.01 and bool(draws)
        begins, self._was_dry = dry and not self._was_dry, dry
        if self.life.loop.time() - self.life.process.started_s < FIRST_S:
            return None
        blind = judge.level.quality == "bad" and judge.supply.quality == "bad"
        if begins and not warned and not blind and not self._hidden(daemon):
            return f"dry without a warning: {judge.level} {judge.supply} faults {sorted(faults)}"
        return self._too_late(daemon, truth, warned)

    def _hidden(self, daemon: Daemon) -> bool:
        """What no program could know.

        A gauge that stands still and trembles shows what a crew would make of it that draws just what the tap gives,
        where no signal tells who draws. A level that had jumped before the daemon ever heard it is all it knows. And
        where none was ever in range or heard, and no signal tells of any pump, it knows neither of water nor of work,
        and says so.
        """
        faults = self.life.story.faults_on
        nobody_tells = all(pump.drawing is None for pump in daemon.rig.pumps)
        unwatched = nobody_tells and all(pump.running is None for pump in daemon.rig.pumps)
        as_if_balanced = self._trembles and "level-stuck" in faults and nobody_tells
        ever = (self._from_the_start or frozenset()) & faults
        never_any = unwatched and daemon.core.judge.level.quality == "bad" and ever & NO_LEVEL
        return as_if_balanced or "level-jumps" in ever or bool(never_any)

    def _too_late(self, daemon: Daemon, truth: Truth, warned: bool) -> str | None:
        """Where all has gone on as it was for two minutes, and still there is no warning."""
        left_s = math.inf if warned else self._left_s(truth, daemon.rig.tank.heel_l)
        late = left_s < SHARE * daemon.rig.warn.act_time_s
        self._unwarned_s = self._unwarned_s + 1 if late else 0
        return f"no warning {left_s:.0f} s before dry, triggers held" if self._unwarned_s > PATIENT_S else None

    def _left_s(self, truth: Truth, heel_l: float) -> float:
        """Until the heel, by the draws and the inflow of the last two minutes; inf where those were not plain."""
        past = self._past
        if len(past) < REMEMBERED_S or not all(each.plain for each in past):
            return math.inf
        inflows = [each.inflow_l_min for each in past]
        most_l_min = max(inflows)
        if most_l_min - min(inflows) > STEADY_L_MIN:
            return math.inf
        rates: dict[str, float] = {}
        for n, each in enumerate(past):
            for name, l_min in each.draw_l_min.items():
                if n < REMEMBERED_S - KNOWN_S or name in rates:
                    rates[name] = max(l_min, rates.get(name, 0.0))
        net_l_min = sum(rates.values()) - most_l_min
        if net_l_min <= STEADY_L_MIN:
            return math.inf
        return 60.0 * max(0.0, truth.volume_l - heel_l) / net_l_min
