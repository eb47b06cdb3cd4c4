"""The nodes: heard or silent, up or gone, rebooting, and whether their clock can be believed."""

from collections import deque

from monitor.balance.liveness import Liveness

REBOOT_MEMORY_S = 1200.0
FUTURE_S = 5.0  # a stamp so long after its arrival is not from a clock that is right
FUTURE_PACKS = 3
ABSOLUTE = 2.0**28  # RFC 8428 section 4.5.3: below this a time is relative
OLD_S = 600.0
BEGINNING, LATE_PACKS = 5.0, 100.0  # a count under the first began again; one within the second was only late


class Node:
    """One node's liveness, sequence, uptime and clock."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.alive = Liveness()
        self.gone = False
        self.seq: float | None = None
        self.uptime_s: float | None = None
        self.reboots: deque[float] = deque(maxlen=50)
        self.early_packs = 0
        self.clock_fault = False
        self.lost_packs = 0
        self.late = False
        self.own: dict[str, tuple[float, str]] = {}
        """What it says of itself beside seq and uptime: signal strength and battery, with their units."""
        self.worded = False
        """It has said `up` or left its will: on MQTT it is missed at once when it dies."""

    def hear(self, at: float) -> None:
        self.gone = False
        self.alive.hear(at)

    def lost(self, at: float) -> bool:
        return self.gone or self.alive.silent(at)

    def take_seq(self, at: float, seq: float) -> bool:
        """True where the pack is older than the last one seen. A count that begins anew is a reboot."""
        last = self.seq
        self.late = last is not None and 0.0 <= last - seq <= (LATE_PACKS if seq > BEGINNING else 3.0)
        if self.late:
            return True
        self.seq = seq
        if last is not None and seq < last:
            self._reboot(at)
        elif last is not None and seq - last < 10_000:
            self.lost_packs += int(seq - last - 1)
        return False

    def take_uptime(self, at: float, uptime_s: float) -> None:
        if self.late:
            return
        if self.uptime_s is not None and uptime_s < self.uptime_s - 1.0:
            self._reboot(at)
        self.uptime_s = uptime_s

    def _reboot(self, at: float) -> None:
        if not self.reboots or at - self.reboots[-1] > 2.0:
            self.reboots.append(at)

    def recent_reboots(self, at: float) -> int:
        return sum(at - when <= REBOOT_MEMORY_S for when in self.reboots)

    def moment(self, at: float, stamp: float, honoured: bool) -> float:
        """The time a record speaks of, on the daemon's time line. `honoured`: absolute stamps count on this feed."""
        if stamp == 0.0:
            return at
        if abs(stamp) < ABSOLUTE:
            return min(at, at + stamp)
        self._judge_clock(stamp - at)
        return min(at, stamp) if honoured and not self.clock_fault else at

    def _judge_clock(self, ahead_s: float) -> None:
        self.early_packs = self.early_packs + 1 if ahead_s > FUTURE_S else 0
        if self.early_packs >= FUTURE_PACKS:
            self.clock_fault = True
        elif self.early_packs == 0:
            self.clock_fault = False
