"""What a core knows from before it was stopped, and holds on to once its clock begins again.

In a stop of minutes nobody fills or moves a tank unseen: the water stands where it stood, the level reads wrong by what
it did, and a gauge that had frozen is frozen still, until it shows other digits. After a longer stop the level leads.
"""

from typing import Any

from monitor.balance.balance import Balance, Left
from monitor.balance.filter import Belief
from monitor.balance.pumps import PumpWatch
from monitor.core.verdicts import Verdicts

SHORT_S = 300.0
CLOCKS_S = 2.0  # by so much two clocks may differ that were both right
UNSEEN_SHARE = 0.05  # of capacity: how well a volume of before a long stop is known at best
NAMES = ("volume_l", "bias_m", "wall", "used_s_ago", "rested_s", "levels")


class Resume:
    """Between a restart and the first moment after it; and what is saved for the next."""

    def __init__(self, pumps: tuple[PumpWatch, ...], balance: Balance, verdicts: Verdicts) -> None:
        self.pumps, self.balance, self.verdicts = pumps, balance, verdicts
        self._kept: dict[str, Any] = {}
        self._begun = False

    def restore(self, saved: dict[str, Any]) -> None:
        self._kept = {name: saved[name] for name in NAMES if saved.get(name) is not None}
        if "volume_l" in self._kept:
            volume_l, sd_l = self._kept["volume_l"]
            self.balance.remembered = volume_l, max(2.0 * sd_l, UNSEEN_SHARE * self.balance.tank.capacity_l)

    def save(self, at: float | None, wall: float, belief: Belief | None) -> dict[str, Any]:
        """As plain values. What nothing was learned of since the start is kept as it was."""
        kept = dict(self._kept)
        if at is not None:
            kept["used_s_ago"] = {p.name: at - p.used_at for p in self.pumps if p.used_at is not None}
            kept["rested_s"] = {p.name: p.rested_s for p in self.pumps}
            kept["levels"] = self.verdicts.save_levels(at)
        if at is not None and belief is not None:
            kept["volume_l"] = [belief.volume_l, belief.volume_sd_l]
            kept["bias_m"] = [belief.bias_m, belief.bias_sd_m]
            kept["wall"] = wall
        return kept

    def begins(self, at: float, wall: float) -> None:
        """The clock begins. Whether pumps were in use in a stop nobody can tell: it counts for nothing."""
        if self._begun:
            return
        self._begun = True
        for pump in self.pumps:
            pump.rested_s = self._kept.get("rested_s", {}).get(pump.name, 0.0)
            if (ago_s := self._kept.get("used_s_ago", {}).get(pump.name)) is not None:
                pump.used_at = at - ago_s
        stopped_s = wall - self._kept.get("wall", float("-inf"))
        if -CLOCKS_S <= stopped_s <= SHORT_S:
            volume_l, sd_l = self._kept["volume_l"]
            bias_m, bias_sd_m = self._kept["bias_m"]
            self.balance.left = Left(volume_l, sd_l, bias_m, bias_sd_m, max(0.0, stopped_s))
            self.verdicts.restore_levels(at, self._kept.get("levels", {}))
