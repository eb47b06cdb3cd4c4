"""What the meter has counted against what the daemon takes it to have counted: no water is invented."""

from typing import TYPE_CHECKING

from monitor.core.intake import Meter as Believed
from monitor.daemon import Daemon
from simulated_feeds.flow_sensor import Meter

if TYPE_CHECKING:
    from tests.simulation.life import Life

LATE_S = 20.0
"""So old may be the first total that a daemon hears after its start."""
WITHIN_L = 2.0
"""What may pass within the second in which a register begins again, and by which a register is rounded."""


class Counted:
    """`passed` is what the meter's register has gone up by since the life began, whatever it fell by meanwhile."""

    def __init__(self, life: "Life") -> None:
        self.life = life
        meters = [each for node in life.story.aboard.nodes for each in node.sensors if isinstance(each, Meter)]
        self._meter = meters[0] if meters else None
        self._register_l = self._meter.total_l if self._meter else 0.0
        self._passed_l = 0.0
        self._past: list[tuple[float, float]] = []
        """Of each second, the register and what had passed."""
        self._believed: Believed | None = None
        self._base_l = 0.0
        faults = {row["what"] for row in life.story.scenario.tables.get("fault", [])}
        self._tells_late = "backlog" in faults

    def look(self) -> None:
        if self._meter is None:
            return
        now_l = self._meter.total_l
        self._passed_l += now_l - self._register_l if now_l >= self._register_l else now_l
        self._register_l = now_l
        self._past.append((now_l, self._passed_l))

    def begins(self, daemon: Daemon) -> None:
        """A daemon that goes on counting from where it was, or from the first total it hears."""
        self.look()
        self._believed = believed = daemon.core.intake.meter
        if believed is None:
            return
        last = believed.totals.last
        if last is None:
            first = max(0, len(self._past) - round(LATE_S))
            base_l = self._past[first][1] if self._past else 0.0
        else:
            base_l = self._passed_at(last * believed.totals.l_per_count)
        self._base_l = base_l - believed.counted_l

    def _passed_at(self, register_l: float) -> float:
        """What had passed when the register last stood there, or a little less; 0 where nobody saw that."""
        assert self._meter is not None
        least_l = register_l - 2.0 * self._meter.step_l - WITHIN_L
        return next((passed for at, passed in reversed(self._past) if least_l <= at <= register_l), 0.0)

    def wrong(self, daemon: Daemon) -> str | None:
        believed = daemon.core.intake.meter
        if self._meter is None or believed is None or believed.measures == "rate" or self._tells_late:
            return None
        if believed is not self._believed:
            self.begins(daemon)
        most_l = self._passed_l - self._base_l + self._meter.step_l + WITHIN_L
        if believed.counted_l > most_l:
            return f"the meter counted {most_l:.1f} l at most, and is said to have counted {believed.counted_l:.1f}"
        return None
