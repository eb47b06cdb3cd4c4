"""The chemical line of each pump: what stands in the hose, what was drawn, what the signals tell when no soap comes.

Nothing measures the chemical. What people say at the page (soaping, rinsing, a draw-down, a tank filled, hose added)
is counted on by the water that then flows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from monitor.balance.pumps import PumpWatch
from monitor.planning import hoses
from monitor.planning.chemical import DrawDown, Signs, accused, lasts_s, no_soap
from monitor.rig.model import Pump

LONGEST_SOAP_S = 1800.0  # who soaped so long without a pause has forgotten to say that he rinses; a stated guess
LEAST_SEEN_L = 30.0  # so much must be expected to have left the tank before the level tells full flow from restricted
FULL_SHARE, RESTRICTED_SHARE = 0.93, 0.88
NEVER = 0.02
STEADIES = 0.2  # of a new level in the mean of the last ones
ON_SOAP = ("soaping", "rinsing", "hose-added", "drew-down", "chemical-filled")


@dataclass
class Line:
    """One pump's. `mode`: "", "soap" or "clear"; `passed_l` water since it was changed; `left_l` None: not told."""

    mode: str = ""
    since: float = 0.0
    passed_l: float = 0.0
    flowed_s: float = 0.0
    injects_l_min: float | None = None
    measured: bool = False
    left_l: float | None = None
    extra_m: float = 0.0
    added: bool = False
    """Hose was added since the last soap that came."""


class Soaping:
    def __init__(self, pumps: Sequence[Pump]) -> None:
        self.pumps = {pump.name: pump for pump in pumps}
        self.lines = {pump.name: _line(pump) for pump in pumps}
        self._flow = {pump.name: FlowSeen() for pump in pumps}

    def check(self, act: str, detail: Mapping[str, object]) -> bool:
        """Whether an act speaks of a pump there is, and says what it has to."""
        pump = detail.get("pump")
        if act in ("soaping", "rinsing"):
            return pump is None or pump in self.lines
        needed = {"hose-added": ("length_m",), "drew-down": ("volume_l", "seconds"), "chemical-filled": ("volume_l",)}
        said = [_number(detail.get(key)) for key in needed[act]]
        return pump in self.lines and all(each is not None and each >= 0.0 for each in said) and not (
            act == "drew-down" and 0.0 in said
        )

    def take(self, act: str, detail: Mapping[str, object], at: float) -> None:
        pumps = [str(detail["pump"])] if detail.get("pump") else list(self.lines)
        for name in pumps:
            line = self.lines[name]
            if act in ("soaping", "rinsing"):
                self._turn(name, "soap" if act == "soaping" else "clear", at)
            elif act == "hose-added":
                line.extra_m, line.added = _number(detail["length_m"]) or 0.0, True
            elif act == "drew-down":
                self._measured(name, _number(detail["volume_l"]) or 0.0, _number(detail["seconds"]) or 1.0)
            elif act == "chemical-filled":
                line.left_l = _number(detail["volume_l"])

    def rest(self, at: float) -> None:
        """Another place, or the packing up: nobody soaps any more."""
        for name, line in self.lines.items():
            if line.mode == "soap":
                self._turn(name, "clear", at)

    def tick(self, dt_s: float, shares: Mapping[str, float], drawn_l: Mapping[str, float]) -> dict[str, float]:
        """A second in which each pump drew for such a share of it, so much water; returns its chemical, in l."""
        used: dict[str, float] = {}
        for name, line in self.lines.items():
            line.passed_l += drawn_l.get(name, 0.0)
            line.flowed_s += dt_s * shares.get(name, 0.0)
            if line.mode == "soap" and line.flowed_s > LONGEST_SOAP_S:
                line.mode = ""
            if line.mode != "soap" or line.injects_l_min is None or line.left_l == 0.0 or self.full_flow(name):
                continue
            litres = line.injects_l_min * dt_s / 60.0 * shares.get(name, 0.0)
            used[name] = litres if line.left_l is None else min(litres, line.left_l)
            if line.left_l is not None:
                line.left_l = max(0.0, line.left_l - litres)
        return used

    def watch(
        self, dt_s: float, seen_l: float | None, metered_l: float, shares: Mapping[str, float],
        records_l_min: Mapping[str, float],
    ) -> None:
        """What the level shows of each pump that soaps, while no other one draws, against that pump's own record."""
        for name, line in self.lines.items():
            if line.mode == "soap":
                others = sum(share for pump, share in shares.items() if pump != name)
                full_l_min = records_l_min.get(name, self.pumps[name].draw_l_min)
                full_l = full_l_min * dt_s / 60.0 * shares.get(name, 0.0)
                self._flow[name].tick(seen_l, metered_l, full_l, others)

    def tell(self, pumps: Sequence[PumpWatch]) -> None:
        """Each pump which nozzle is on it."""
        for pump in pumps:
            pump.soaps = self.lines[pump.name].mode == "soap"

    def soaps(self) -> dict[str, bool]:
        return {name: line.mode == "soap" for name, line in self.lines.items()}

    def full_flow(self, name: str) -> bool | None:
        """Whether the level shows the full flow while soaping: past a restricted nozzle it would be less."""
        return self._flow[name].full if self.lines[name].mode == "soap" else None

    def hose_l(self, name: str) -> float | None:
        """What stands in the hose, what was added included; None where the rig file names no hose."""
        hose = self.pumps[name].hose
        return None if hose is None else hoses.volume_l(hose.bore_m, hose.length_m + self.lines[name].extra_m)

    def standing(
        self, drawing: Mapping[str, float], rates_l_min: Mapping[str, float], heads_pa: Mapping[str, float]
    ) -> list[dict[str, Any]]:
        """`heads_pa`: the pressure at a pump's head, where one is measured."""
        return [self._one(name, drawing.get(name), rates_l_min.get(name), heads_pa.get(name)) for name in self.lines]

    def _one(self, name: str, draws: float | None, rate: float | None, head_pa: float | None) -> dict[str, Any]:
        line, pump, hose_l = self.lines[name], self.pumps[name], self.hose_l(name)
        flow = rate or pump.draw_l_min
        to_go_l = None if hose_l is None or not line.mode else max(0.0, hose_l - line.passed_l)
        injects, left, table = line.injects_l_min, line.left_l, pump.injector
        signs = self._signs(name, draws, hose_l, flow)
        pressure = self._pressure(name, flow, head_pa if draws and draws > 0.5 else None)
        return {
            "pump": name, "mode": line.mode, "since": line.since if line.mode else None,
            "to_go_s": None if to_go_l is None else round(60.0 * to_go_l / flow, 1),
            "line_s": None if hose_l is None else round(60.0 * hose_l / flow, 1), "flow_l_min": round(flow, 2),
            "injects_l_min": injects, "measured": line.measured, "left_l": None if left is None else round(left, 2),
            "tank_l": table.tank_l if table else None, "strength": table.strength if table else None,
            "lasts_s": round(lasts_s(left, injects)) if injects and left else None,
            "extra_m": line.extra_m, "full_flow": self.full_flow(name),
            "look_at": no_soap(signs), "accused": accused(signs), **pressure,
        }  # fmt: skip

    def _pressure(self, name: str, flow: float, measured_pa: float | None) -> dict[str, Any]:
        """What reaches the gun through the hose in use, by the pressure measured while it draws, else by the one set;
        and how the higher of the two stands to the hose's rating."""
        pump, hose = self.pumps[name], self.pumps[name].hose
        pump_pa = pump.pressure_pa if measured_pa is None else measured_pa
        if hose is None or pump_pa is None:
            return {"pump_pa": None, "measured_pa": measured_pa, "gun_pa": None, "rating": None}
        length_m = hose.length_m + self.lines[name].extra_m
        most_pa = max(pump_pa, pump.pressure_pa or 0.0)
        rating = None if hose.rated_pa is None else hoses.against_rating(most_pa, hose.rated_pa)
        gun_pa = hoses.at_gun_pa(pump_pa, flow, hose.bore_m, length_m)
        return {"pump_pa": pump_pa, "measured_pa": measured_pa, "gun_pa": round(gun_pa), "rating": rating}

    def _signs(self, name: str, draws: float | None, hose_l: float | None, flow: float) -> Signs:
        line = self.lines[name]
        soaps = line.mode == "soap"
        return Signs(
            draws=None if draws is None else draws > 0.5,
            line_s=60.0 * hose_l / flow if hose_l is not None and soaps else None,
            waited_s=60.0 * line.passed_l / flow,
            chemical_l=line.left_l,
            restricted=self.full_flow(name),
            hose_added=line.added,
        )

    def _turn(self, name: str, mode: str, at: float) -> None:
        line = self.lines[name]
        line.mode, line.since, line.passed_l, line.flowed_s = mode, at, 0.0, 0.0
        self._flow[name] = FlowSeen()

    def _measured(self, name: str, drawn_l: float, seconds: float) -> None:
        line = self.lines[name]
        line.injects_l_min = round(DrawDown(drawn_l, seconds, self.pumps[name].draw_l_min).injects_l_min, 4)
        line.measured = True

    def save(self) -> dict[str, Any]:
        return {name: asdict(line) for name, line in self.lines.items()}

    def restore(self, saved: Mapping[str, Any]) -> None:
        """A draw-down that was measured outweighs the rig file; what that says counts where nothing was."""
        for name, kept in saved.items():
            if name in self.lines:
                fresh = self.lines[name]
                injects = kept["injects_l_min"] if kept["measured"] else fresh.injects_l_min
                self.lines[name] = Line(**{**kept, "injects_l_min": injects})


class FlowSeen:
    """How much left the tank by the level against how much would have at full flow, while one pump draws alone."""

    def __init__(self) -> None:
        self.full: bool | None = None
        self._steady_l = self._begin_l = self._change_l = self._expected_l = 0.0
        self._seconds = 0

    def tick(self, seen_l: float | None, metered_l: float, full_l: float, others: float) -> None:
        if seen_l is None or others > NEVER:
            self._seconds = 0
            return
        self._steady_l = seen_l if not self._seconds else self._steady_l + STEADIES * (seen_l - self._steady_l)
        self._seconds += 1
        if self._seconds <= 1 / STEADIES:
            self._begin_l, self._change_l, self._expected_l = self._steady_l, 0.0, 0.0
            return
        self._change_l += metered_l
        self._expected_l += full_l
        if self._expected_l >= LEAST_SEEN_L:
            share = (self._begin_l - self._steady_l + self._change_l) / self._expected_l
            self.full = True if share >= FULL_SHARE else False if share <= RESTRICTED_SHARE else None


def _line(pump: Pump) -> Line:
    return Line(injects_l_min=pump.injector.draws_l_min if pump.injector else None)


def _number(said: object) -> float | None:
    try:
        return float(str(said))
    except ValueError:
        return None
