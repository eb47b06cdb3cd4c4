"""A running total that survives a reboot.

Every second it is put where a reset does not reach it (`hardware.remember`); in flash, which wears, only when the water
has stopped or 50 l have passed. After a loss of power it may begin a little lower: the daemon takes that as a reboot.
"""

FLASH_EVERY_L = 50.0
STILL_READS = 5


class Total:
    def __init__(self, hardware, l_per_pulse):
        self.hardware, self.l_per_pulse = hardware, l_per_pulse
        self.litres = self.stored = hardware.recall()
        self._pulses = hardware.pulses()
        self._still = 0

    def read(self):
        """The total now, l. The pulse counter may roll over at 2^16."""
        pulses = self.hardware.pulses()
        passed = (pulses - self._pulses) & 0xFFFF
        self._pulses = pulses
        self.litres += passed * self.l_per_pulse
        self._still = 0 if passed else self._still + 1
        self.hardware.remember(self.litres)
        behind = self.litres - self.stored
        if behind >= FLASH_EVERY_L or (behind > 0 and self._still == STILL_READS):
            self.hardware.store(self.litres)
            self.stored = self.litres
        return self.litres
