"""Every reading the rig file names: its latest value, how often it comes, how far it is trusted."""

from collections import deque
from itertools import pairwise
from math import sqrt

from monitor.balance.liveness import Liveness
from monitor.balance.trust import Quality
from monitor.readings import Record

RECENT, ENOUGH = 60, 8


class Signal:
    """One named reading. `kind` says what it serves for: level, supply, running, drawing, motion, …"""

    def __init__(self, name: str, kind: str, subject: str = "") -> None:
        self.name, self.kind, self.subject = name, kind, subject
        self.node = name.partition("/")[0]
        self.alive = Liveness()
        self.value: float | bool | None = None
        self.unit = ""
        self.stale = False
        self.quality: Quality | None = None
        self.why = ""
        self.recent: deque[float] = deque(maxlen=RECENT)
        self.said: set[bool] = set()
        """Which of yes and no it has said so far."""

    def hear(self, at: float, record: Record, stale: bool, of_s: float | None = None) -> None:
        """A reading came, of `of_s`. A stale one (retained, or from long ago) is shown, and proves no life."""
        self.value, self.unit, self.stale = record.value, record.unit, stale
        if record.value is None:
            self.value = record.total
        if isinstance(self.value, bool):
            self.said.add(self.value)
        elif self.value is not None:
            self.recent.append(self.value)
        if not stale:
            self.alive.hear(at, record.every, of_s)

    @property
    def step(self) -> float | None:
        """The smallest difference between two of its latest values: how finely it reads; None where all are alike."""
        values = sorted(set(self.recent))
        return min((high - low for low, high in pairwise(values)), default=None)

    @property
    def noise(self) -> float | None:
        """The noise of its latest values, one sd, whatever they do besides: from second differences (their variance is
        six times the noise's). None for too few of them."""
        if len(self.recent) < ENOUGH:
            return None
        values = list(self.recent)
        bends = [late - 2 * middle + early for early, middle, late in zip(values, values[1:], values[2:], strict=False)]
        return sqrt(sum(bend * bend for bend in bends) / len(bends) / 6.0)

    def usable(self, at: float) -> bool:
        return self.alive.heard_s is not None and not self.alive.silent(at)
