"""Every reading the rig file names: its latest value, how often it comes, how far it is trusted."""

from monitor.balance.liveness import Liveness
from monitor.balance.trust import Quality
from monitor.readings import Record


class Signal:
    """One named reading. `kind` says what it serves for: level, supply, running, drawing, motion, …"""

    def __init__(self, name: str, kind: str, subject: str = "") -> None:
        self.name, self.kind, self.subject = name, kind, subject
        self.alive = Liveness()
        self.value: float | bool | None = None
        self.unit = ""
        self.stale = False
        self.quality: Quality | None = None
        self.why = ""

    @property
    def node(self) -> str:
        return self.name.partition("/")[0]

    def hear(self, at: float, record: Record, stale: bool) -> None:
        """A reading came. A stale one (retained, or from long ago) is shown, and proves no life."""
        self.value, self.unit, self.stale = record.value, record.unit, stale
        if record.value is None:
            self.value = record.total
        if not stale:
            self.alive.hear(at, record.every)

    def usable(self, at: float) -> bool:
        return self.alive.heard_s is not None and not self.alive.silent(at)
