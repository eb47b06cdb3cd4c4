"""What arrives, sorted to what it serves for: levels, the meter, pumps, motion, temperatures, signs of life."""

import math
from typing import NamedTuple

from monitor.balance.level import LevelSense
from monitor.balance.pumps import PumpWatch
from monitor.balance.supply import Inflow
from monitor.balance.totals import Totals
from monitor.core.heights import Surroundings, height_m
from monitor.core.nodes import OLD_S, Node
from monitor.core.signals import Signal
from monitor.readings import Alive, Pack, Record
from monitor.rig.model import Rig, Says
from monitor.rig.tank_tables import LevelSignal

LATE_S = 5.0  # a level older than this is no level of now
KEPT_UNKNOWN = 200
KEPT_NODES = 200
OF_ITSELF = ("rssi", "battery")
HELD_SHARE = 0.5  # of the water assumed while a meter is silent: one sd of it; all of it together, not second by second


class Metered(NamedTuple):
    """What one second's ticking has to take in (l): the water believed to have come, and water nobody counted."""

    litres: float
    unseen_l: float


class LevelInput:
    """One level sensor between the wire and the balance."""

    def __init__(self, settings: LevelSignal) -> None:
        self.settings = settings
        self.sense = LevelSense()
        self.when = -1e18
        self.out_of_range_since: float | None = None


class Meter:
    """The running total between two ticks: what came, and what has been assumed since it last reported."""

    def __init__(self, measures: str, k_factor_per_l: float | None, factor: float = 1.0) -> None:
        per = factor / k_factor_per_l if k_factor_per_l else factor
        self.totals = Totals(per, counts=measures == "pulses")
        self.factor = factor
        self.counted_l = 0.0
        self.measures = measures
        self.inflow = Inflow()
        self._came_l = self._unseen_l = self._assumed_l = 0.0
        self._reported = self._lapsed = False
        self._rate_at: float | None = None
        self.restarts = 0

    def take(self, when: float, record: Record) -> None:
        if record.total is not None and self.measures == "rate":
            self._total(when, record.total)
        elif isinstance(record.value, float):
            self._rate(when, record.value) if self.measures == "rate" else self._total(when, record.value)

    def _total(self, when: float, total: float) -> None:
        passed = self.totals.take(total, when, lambda: self.inflow.l_min)
        self._came(when, passed.litres)
        self._unseen_l += passed.unseen_l
        self.restarts += passed.restarted

    def _rate(self, when: float, l_min: float) -> None:
        if self._rate_at is not None and when > self._rate_at:
            self._came(when, self.factor * max(0.0, l_min) * min(when - self._rate_at, 60.0) / 60.0)
        self._rate_at = when

    def _came(self, when: float, litres: float) -> None:
        self._reported = True
        self._came_l += litres
        self.counted_l += litres
        self.inflow.passed(when, litres)

    def tick(self, at: float, dt_s: float, silent: bool, level_good: bool) -> Metered:
        """What to believe of this second. A report settles what was assumed before it; after a lapse that the level
        has bridged, what the meter counted meanwhile is in the level already."""
        unseen_l, self._unseen_l = self._unseen_l, 0.0
        if self._reported:
            litres = self._came_l - self._assumed_l
            if self._lapsed and level_good:
                litres = self.inflow.l_min * dt_s / 60.0
            self._came_l = self._assumed_l = 0.0
            self._reported = self._lapsed = False
            return Metered(litres, unseen_l)
        litres = self.inflow.l_min * dt_s / 60.0  # no report is no news: the flow of the last one goes on
        before_l, self._assumed_l = self._assumed_l, self._assumed_l + litres
        if silent:
            self._lapsed = True
            unseen_l = math.hypot(unseen_l, HELD_SHARE * math.sqrt(self._assumed_l**2 - before_l**2))
        return Metered(litres, unseen_l)


class Intake:
    """Knows by name what each reading is for. A reading nobody refers to is counted and otherwise left alone."""

    def __init__(self, rig: Rig, pumps: tuple[PumpWatch, ...]) -> None:
        self.rig, self.pumps = rig, pumps
        self.nodes: dict[str, Node] = {}
        self.signals: dict[str, Signal] = {}
        self.unknown: dict[str, int] = {}
        self.levels = tuple(LevelInput(level) for level in rig.tank.levels)
        supply = rig.supply
        metered = supply is not None and supply.reading is not None
        self.meter = Meter(supply.measures, supply.k_factor_per_l, supply.meter_factor) if supply and metered else None
        self.surroundings = Surroundings()
        self.moving: bool | None = None
        self._honoured = {name for name, feed in rig.named_feeds if getattr(feed, "clock", "arrival") == "node"}
        self._says: dict[str, Says] = {}
        self._register()

    def _register(self) -> None:
        rig = self.rig
        for level in rig.tank.levels:
            self._know(level.reading, "level")
        if self.meter is not None and rig.supply is not None and rig.supply.reading:
            self._know(rig.supply.reading, "supply")
        for pump in rig.pumps:
            self._know_says(pump.running, "running", pump.name)
            self._know_says(pump.drawing, "drawing", pump.name)
            if pump.suction:
                self._know(pump.suction, "suction", pump.name)
        self._know_says(rig.extra.motion, "motion")
        for kind in ("slope", "water_temperature", "air_temperature", "barometer"):
            name = getattr(rig.extra, kind)
            if name:
                self._know(name, kind)

    def _know(self, name: str, kind: str, subject: str = "") -> None:
        self.signals[name] = Signal(name, kind, subject)
        self.nodes.setdefault(self.signals[name].node, Node(self.signals[name].node))

    def _know_says(self, says: Says | None, kind: str, subject: str = "") -> None:
        if says is not None:
            self._know(says.reading, kind, subject)
            self._says[says.reading] = says

    def pressures_pa(self, at: float) -> dict[str, float]:
        """By pump, what is measured at its head now, where that is how the rig file tells whether it draws."""
        heads = [each for each in self.signals.values() if each.kind == "drawing" and each.unit == "Pa"]
        heard = [each for each in heads if not each.stale and each.usable(at)]
        return {each.subject: each.value for each in heard if isinstance(each.value, float)}

    # -- arrivals ---------------------------------------------------------------------------------------------

    def pack(self, pack: Pack) -> None:
        node = self._node(pack.node)
        if not pack.retained:
            node.hear(pack.at)
        honoured, late = pack.feed in self._honoured, False
        for record in pack.records:  # the node's count first, wherever it stands in the pack
            if record.name not in self.signals:
                late = self._of_the_node(node, pack, record) or late
        for record in pack.records:
            signal = self.signals.get(record.name)
            if signal is None:
                continue
            when = node.moment(pack.at, record.stamp, honoured)
            old = pack.retained or late or pack.at - when > OLD_S
            signal.hear(pack.at, record, old, when)
            if signal.kind == "supply" and self.meter is not None and not pack.retained and not late:
                self.meter.take(when, record)
            elif not old:
                self._take(pack.at, when, signal, record)

    def _node(self, name: str) -> Node:
        """Beyond the rig's own, so many are kept; what more names say is taken as from strangers."""
        node = self.nodes.get(name)
        if node is None:
            node = Node(name)
            if len(self.nodes) < KEPT_NODES:
                self.nodes[name] = node
        return node

    def _of_the_node(self, node: Node, pack: Pack, record: Record) -> bool:
        """The node's own readings; True where its count says that this pack is older than the last."""
        own = record.name[len(node.name) + 1 :]
        if isinstance(record.value, float) and not pack.retained:
            if own == "seq":
                return node.take_seq(pack.at, record.value)
            if own == "uptime":
                node.take_uptime(pack.at, record.value)
                return False
            if own in OF_ITSELF:
                node.own[own] = (record.value, record.unit)
                return False
        if record.name in self.unknown or len(self.unknown) < KEPT_UNKNOWN:
            self.unknown[record.name] = self.unknown.get(record.name, 0) + 1
        return False

    def alive(self, alive: Alive) -> None:
        node = self._node(alive.node)
        node.worded = True
        if not alive.up:
            node.gone = True
        elif not alive.retained:
            node.gone = False

    def _take(self, at: float, when: float, signal: Signal, record: Record) -> None:
        value, kind = record.value, signal.kind
        if kind == "level":
            self._level(at, when, signal, record)
        elif value is None:
            return
        elif kind in ("running", "drawing", "motion"):
            self._yes_or_no(at, signal, value)
        elif kind in ("slope", "water_temperature", "air_temperature", "barometer", "suction"):
            self.surroundings.take(kind, signal.subject, record)

    def _level(self, at: float, when: float, signal: Signal, record: Record) -> None:
        for level in self.levels:
            if level.settings.reading != signal.name or when < level.when or at - when > LATE_S:
                continue
            level.when = when
            height = height_m(level.settings, record, self.surroundings, self.rig.tank.strapping)
            if height is None:
                level.out_of_range_since = level.out_of_range_since or at
            else:
                level.out_of_range_since = None
                level.sense.take(at, height)

    def _yes_or_no(self, at: float, signal: Signal, value: float | bool) -> None:
        above = self._says[signal.name].above
        says = value is True if isinstance(value, bool) else value > (above.value if above else 0.5)
        if signal.kind == "motion":
            self.moving = says
            return
        for pump in self.pumps:
            if pump.name == signal.subject and signal.kind == "running":
                pump.tell(at, running=says)
            elif pump.name == signal.subject:
                pump.tell(at, drawing=says)

    # -- silence ----------------------------------------------------------------------------------------------

    def lost(self, at: float, signal: Signal) -> bool:
        """The signal was heard and is silent now, or its node is gone."""
        node = self.nodes[signal.node]
        return signal.alive.silent(at) or (node.gone and signal.alive.heard_s is not None)

    def forget_silent(self, at: float) -> None:
        """From a silent signal nobody knows anything any more."""
        for signal in self.signals.values():
            if signal.kind in ("running", "drawing") and self.lost(at, signal):
                for pump in self.pumps:
                    if pump.name == signal.subject:
                        pump.lose(at, running=signal.kind == "running", drawing=signal.kind == "drawing")
            elif signal.kind == "motion" and self.lost(at, signal):
                self.moving = None
