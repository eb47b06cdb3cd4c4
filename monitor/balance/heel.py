"""Do the pumps draw air? The level then stands, though their signals say that more is drawn than comes in.

Nothing tells so well where the water truly stands: at the heel, whatever the tilt makes of the level. Two stories are
held against each other, as Willsky and Jones do for a jump in a linear system (IEEE Trans. Automatic Control 21,
1976): that the pumps have taken what their signals say, and that since some moment they took no more than came in. The
second differs from the first by a volume alone, which the filter's corrections wear down as they wear down any error;
so no second filter is needed, and what each level says for one story against the other is added up as in Page's test.
"""

SURE = 8.0  # as the logarithm of odds: a chance of 1 in 3000 each time the sum begins anew
NEAR_SD = 3.0  # so near the heel, by what is believed, that it may stand there
TOLD_SD_M = 0.003  # how sharply the pumps' first air tells of the height


class Heel:
    """Told of each second; `air` while the pumps surely draw some."""

    def __init__(self) -> None:
        self.air = False
        self.likelier = 0.0
        self.left_l = 0.0
        """What the tank holds more by the second story than by the first."""
        self.above_l = 0.0
        """What has come in since by that story: so much it holds over the heel."""
        self._from_above = False

    def passed(self, wanted_l: float, came_l: float) -> None:
        """A second's water: what the pumps' signals make them take, and what came in."""
        lack_l = wanted_l - max(0.0, came_l)
        if self.air:
            self.air = lack_l > 0.0
        else:
            self.left_l += max(0.0, lack_l)
            self.above_l = 0.0 if lack_l > 0.0 else self.above_l - lack_l

    def seen(self, surprise_l: float, variance_l2: float, weight: float) -> bool:
        """A level that lies `surprise_l` off what is foretold, of which the filter believes the share `weight`.

        Whether that settles it: the pumps draw air.
        """
        if self.air or self.left_l <= 0.0:
            return False
        self.likelier += self.left_l * (surprise_l - 0.5 * self.left_l) / variance_l2
        self.left_l *= 1.0 - weight
        if self.likelier <= 0.0:
            self.forget()
        self.air = self.likelier > SURE
        return self.air

    def hidden_l(self, over_l: float, sd_l: float, draws: bool, leaks: bool, sharp_l: float) -> float:
        """How much water the level hides: no pump empties the tank below its heel, so what seems to fall there is tilt,
        or a level that drifts.

        Only where it fell there from above and pumps seem to draw: a tank may also be drained, or leak. What pumps'
        signals make of the last seconds falls a little (`sharp_l`) under the heel before air is understood.
        """
        if over_l >= 0.0:
            self._from_above = self._from_above or over_l > sd_l
            return 0.0
        if leaks or -over_l > NEAR_SD * sd_l:
            self._from_above = False
        may_be_air = self.left_l > 0.0 and -over_l < sharp_l
        return -over_l if self._from_above and draws and not may_be_air else 0.0

    def forget(self) -> None:
        """The story begins anew."""
        self.likelier = self.left_l = self.above_l = 0.0
