"""A pressure-washer pump: what it asks of the tank with its engine on or off and its trigger open or shut."""

from dataclasses import dataclass


@dataclass
class Pump:
    """`rate_l_min` is what it really takes at full flow, which its owner knows only roughly."""

    name: str
    rate_l_min: float
    bypass_to: str = "inlet"
    restricted: float = 1.0
    """Share of the full flow taken through the restricted nozzle."""
    engine: bool = False
    trigger: bool = False
    soaping: bool = False
    wear: float = 1.0
    """Share of its own full flow it still delivers."""
    suction: float = 1.0
    """Share of its wants that a blocked strainer or a valve lets through."""
    speed: float = 1.0
    """How the engine's throttle happens to be set this time."""
    by_hand: bool = False

    @property
    def wants_l_min(self) -> float:
        """What it would take from a full tank behind an open outlet."""
        if not self.engine or not (self.trigger or self.bypass_to == "ground"):
            return 0.0
        mode = self.restricted if self.soaping and self.trigger else 1.0
        return self.rate_l_min * self.wear * self.speed * mode
