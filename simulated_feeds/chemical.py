"""The chemical line: a downstream injector that draws while its pump is soaping, and the hose behind it."""

from dataclasses import dataclass


@dataclass
class ChemicalLine:
    """`left_l` stands in the chemical tank; soap or clear water reaches the gun once `hose_l` of water has passed."""

    pump: str
    left_l: float = 20.0
    injects_l_min: float = 1.2
    hose_l: float = 3.26
    """150 ft of 3/8 in hose."""
    soap_at_gun: bool = False
    _passed_l: float = 0.0
    _soap_in: bool = False

    def pass_water(self, draw_l_min: float, soaping: bool, time_s: float) -> None:
        """Water passes for a time: chemical is drawn, and the front of soap or clear water moves along the hose."""
        passes_l = draw_l_min * time_s / 60.0
        soap_in = soaping and self.left_l > 0.0
        if soap_in and passes_l > 0.0:
            self.left_l = max(self.left_l - self.injects_l_min * time_s / 60.0, 0.0)
        if soap_in != self._soap_in and passes_l > 0.0:
            self._soap_in, self._passed_l = soap_in, 0.0
        self._passed_l += passes_l
        if self._passed_l >= self.hose_l:
            self.soap_at_gun = self._soap_in
