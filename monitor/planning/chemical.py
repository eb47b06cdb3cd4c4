"""The chemical line: how strong the mix is where it lands, how long a tank of chemical lasts, why no soap comes.

A downstream injector draws a nearly constant flow while the water in its throat is fast, which it is only past a
low-pressure nozzle. So the pump that gives less water gets the stronger mix. Labels and local rules come first.
"""

from typing import NamedTuple

CHECKS = ("trigger", "line", "tank", "nozzle", "valve", "strainer", "ball", "hose")


class DrawDown(NamedTuple):
    """A measured draw-down: so many litres of chemical in so many seconds, at the pump's flow (l/min)."""

    drawn_l: float
    time_s: float
    flow_l_min: float

    @property
    def injects_l_min(self) -> float:
        return 60.0 * self.drawn_l / self.time_s

    @property
    def ratio(self) -> float:
        """Parts of water to one of chemical."""
        return self.flow_l_min / self.injects_l_min


def at_surface(tank_strength: float, injects_l_min: float, flow_l_min: float) -> float:
    """The strength where it lands, in the unit of `tank_strength` (per cent, usually)."""
    return tank_strength * injects_l_min / (injects_l_min + flow_l_min)


def lasts_s(chemical_l: float, injects_l_min: float, share: float = 1.0) -> float:
    """How long a chemical tank lasts when soap is drawn that share of the time (above 0)."""
    return 60.0 * chemical_l / (injects_l_min * share)


class Dilution(NamedTuple):
    """To have `wanted_l` of the wanted strength: so much of the strong one, and water to make it up."""

    strong_l: float
    water_l: float
    strength: float
    wanted: float
    wanted_l: float


def dilute(strength: float, wanted: float, wanted_l: float) -> Dilution:
    """Strength times volume stays the same. Raises ValueError where the wanted is not weaker and above 0."""
    if not 0.0 < wanted <= strength or wanted_l <= 0.0:
        raise ValueError("what is wanted must be weaker than what there is, and above 0")
    strong_l = wanted * wanted_l / strength
    return Dilution(strong_l, wanted_l - strong_l, strength, wanted, wanted_l)


def tank_strength_for(wanted_at_surface: float, injects_l_min: float, flow_l_min: float) -> float:
    """How strong the chemical tank must be for a strength where it lands; the answer may be more than there is."""
    return wanted_at_surface * (injects_l_min + flow_l_min) / injects_l_min


class Signs(NamedTuple):
    """What is known when somebody says that no soap comes. None where nothing tells."""

    draws: bool | None = None
    line_s: float | None = None
    """How long the line takes to fill anew."""
    waited_s: float = 0.0
    chemical_l: float | None = None
    restricted: bool | None = None
    """True where the flow or the pressure shows that a high-pressure nozzle is still on the gun."""
    hose_added: bool = False


def no_soap(signs: Signs) -> list[str]:
    """What to look at, in order: first what the signals accuse, then the rest, without what they clear."""
    accused, cleared = _told(signs)
    return [*(c for c in CHECKS if c in accused), *(c for c in CHECKS if c not in accused | cleared)]


def accused(signs: Signs) -> list[str]:
    """What the signals, or what people said, already point at."""
    guilty, _ = _told(signs)
    return [check for check in CHECKS if check in guilty]


def _told(signs: Signs) -> tuple[set[str], set[str]]:
    verdicts = {
        "trigger": None if signs.draws is None else not signs.draws,
        "line": None if signs.line_s is None else signs.waited_s < signs.line_s,
        "tank": None if signs.chemical_l is None else signs.chemical_l <= 0.0,
        "nozzle": signs.restricted,
        "hose": signs.hose_added,
    }
    accused = {check for check, guilty in verdicts.items() if guilty}
    return accused, {check for check, guilty in verdicts.items() if guilty is False}
