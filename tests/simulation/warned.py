"""No run-dry without a warning, and none with a warning that leaves no time to act on it."""

from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from monitor.daemon import Daemon

if TYPE_CHECKING:
    from tests.simulation.life import Life

STANDING = ("unacknowledged", "acknowledged")
FIRST_S = 15.0
"""A daemon that has just started has not heard enough yet."""
REMEMBERED_S = 120
LEADS_S = 45.0
"""So long before the heel the warning stands, of the two minutes to act, where all has gone on as it was."""
EASED_L_MIN = 2.0


class Second(NamedTuple):
    """What was so in one second, and what was known: the pumps that drew, and the flow that came in."""

    drew: frozenset[str]
    inflow_l_min: float
    lost_l_min: float
    plain: bool
    """The level was good, the rig stood, and nothing was wrong aboard."""
    warned: bool


class Warned:
    """Of one life, over the daemon's ends and starts."""

    def __init__(self, life: "Life") -> None:
        self.life = life
        self._was_dry = True
        self._past: deque[Second] = deque(maxlen=REMEMBERED_S)

    def forget(self) -> None:
        """No daemon runs."""
        self._was_dry = True
        self._past.clear()

    def wrong(self, daemon: Daemon) -> str | None:
        """Excepted are a start just made, and level and supply both known to be bad."""
        truth, judge = self.life.truth(), daemon.core.judge
        warned = any(daemon.core.board.state_of(name) in STANDING for name in ("dry", "dry-soon"))
        drew = frozenset(name for name, l_min in truth.draw_l_min.items() if l_min > 0.0)
        plain = judge.level.quality == "good" and not truth.moving and not self.life.story.faults_on
        self._past.append(Second(drew, truth.inflow_l_min, truth.lost_l_min, plain, warned))
        dry = truth.volume_l <= daemon.rig.tank.heel_l + 0.01 and bool(drew)
        begins, self._was_dry = dry and not self._was_dry, dry
        if not begins or self.life.loop.time() - self.life.process.started_s < FIRST_S:
            return None
        if not warned and not (judge.level.quality == "bad" and judge.supply.quality == "bad"):
            return f"dry without a warning: {judge.level} {judge.supply} faults {sorted(self.life.story.faults_on)}"
        return self._too_late()

    def _too_late(self) -> str | None:
        """Where for two minutes no other pump has begun to draw, and nothing that came in has stopped coming."""
        past = list(self._past)
        if len(past) < REMEMBERED_S or not all(each.plain and each.lost_l_min == 0.0 for each in past):
            return None
        lately = round(LEADS_S) + 15
        known = frozenset().union(*(each.drew for each in past[:-lately]))
        late = frozenset().union(*(each.drew for each in past[-lately:]))
        eased = max(each.inflow_l_min for each in past) - min(each.inflow_l_min for each in past) > EASED_L_MIN
        if not late <= known or eased:
            return None
        for_s = next((n for n, each in enumerate(reversed(past)) if not each.warned), len(past))
        return f"warned only {for_s} s before the heel" if for_s < LEADS_S else None
