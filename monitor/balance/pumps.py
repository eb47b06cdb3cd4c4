"""What the signals say of each pump: engine on, water leaving, on bypass; and for how long."""

from typing import Literal

State = Literal["draws", "bypass", "off", "unknown"]
RECENT_S = 600.0  # a pump used within ten minutes counts as in use: work that stopped starts again
SURE = 0.9


class PumpWatch:
    """One pump between two ticks: how long it drew, how long it stands on bypass."""

    def __init__(self, name: str, nominal_l_min: float) -> None:
        self.name, self.nominal_l_min = name, nominal_l_min
        self.soaps = False
        """The crew says that it soaps: past that nozzle a pump takes less."""
        self.running: bool | None = None
        self.drawing: bool | None = None
        self.running_since: float | None = None
        self._since = 0.0
        self._drew_s = 0.0
        self.bypass_s = 0.0
        self.used_at: float | None = None
        self.rested_s = 0.0
        """Seconds since it was last in use in which somebody could tell that it rested."""
        self.state: State = "unknown"
        self.state_since: float | None = None

    def tell(self, at: float, *, running: bool | None = None, drawing: bool | None = None) -> None:
        """A signal spoke; what it said before holds up to now."""
        self._pass(at)
        if running is not None:
            self.running_since = (self.running_since or at) if running else None
            self.running = running
        if drawing is not None:
            self.drawing = drawing

    def lose(self, at: float, *, running: bool = False, drawing: bool = False) -> None:
        """A signal fell silent: from now on nobody knows."""
        self._pass(at)
        if running:
            self.running = None
        if drawing:
            self.drawing = None

    def _pass(self, at: float) -> None:
        if self.drawing:
            self._drew_s += at - self._since
        self._since = at

    def share(self, at: float, dt_s: float) -> float | None:
        """The part of the last `dt_s` seconds it drew, or None where no signal says so."""
        self._pass(at)
        drew_s, self._drew_s = self._drew_s, 0.0
        if self.drawing is not None:
            return min(1.0, max(0.0, drew_s / dt_s))
        return 0.0 if self.running is False else None

    def settle(self, at: float, dt_s: float, probability: float, tellable: bool = True) -> None:
        """One tick is over and `probability` says how likely it draws: keep its state, its hours, its bypass time.

        `tellable`: there was a level to tell it by, where no signal did.
        """
        now = self._state(probability)
        if now != self.state:
            self.state, self.state_since = now, at
        if now == "draws" or (self.running is None and probability > 0.5):
            self.used_at = at
        if self.running:
            self.used_at = at
        if self.used_at == at:
            self.rested_s = 0.0
        elif tellable or self.surely_off:
            self.rested_s += dt_s
        self.bypass_s = self.bypass_s + dt_s if now == "bypass" else 0.0

    def _state(self, probability: float) -> State:
        if self.drawing is not None:
            return "draws" if self.drawing else "bypass" if self.running else "off"
        if self.running is False:
            return "off"
        if probability >= SURE:
            return "draws"
        if probability > 1.0 - SURE:
            return "unknown"
        return "bypass" if self.running else "off"

    @property
    def surely_off(self) -> bool:
        """Its own signals say that it does not draw."""
        return self.drawing is False or self.running is False

    @property
    def unrested(self) -> bool:
        """It can't be said to be out of use: nobody has seen it rest for so long."""
        return self.rested_s <= RECENT_S

    def in_use(self, at: float) -> bool:
        return self.used_at is not None and at - self.used_at <= RECENT_S
