"""The relay's rule. It opens when the permit falls silent, and no word from anywhere closes it again: a person does.

This is no safety device. Wire the relay only into the stop input that the machine's maker provides; where there is a
burner, it goes off first.
"""

OPENS_MS = 2500
"""After the last heartbeat; the loop and the relay have the rest of the 3 s."""


class Permit:
    """`closed` is what the relay has to be. It starts open."""

    def __init__(self):
        self.closed = False
        self._count = self._heard_ms = None
        self._pressed = True

    def heartbeat(self, payload, retained, now_ms):
        """A decimal counter that rises. One that was retained, repeated, or is no number is no heartbeat."""
        if retained or not payload or len(payload) > 18 or not payload.isdigit():
            return
        count = int(payload)
        if self._count is None or count > self._count or count == 0:
            self._heard_ms = now_ms
        elif count < self._count:
            self.closed = False  # the daemon began anew: whoever resets it resets this too
            self._heard_ms = now_ms
        self._count = count

    def lost(self):
        """The line is down: no need to wait."""
        self.closed = False
        self._heard_ms = None

    def look(self, now_ms):
        if not self._fresh(now_ms):
            self.closed = False
        return self.closed

    def button(self, pressed, now_ms):
        """Pressing it counts, holding it does not: a button that is stuck, or shorted at the start, resets nothing."""
        if pressed and not self._pressed:
            self.reset(now_ms)
        self._pressed = pressed

    def reset(self, now_ms):
        """A person at the rig pressed the button, triggers shut. Without a permit it stays open."""
        if self._fresh(now_ms):
            self.closed = True

    def _fresh(self, now_ms):
        return self._heard_ms is not None and now_ms - self._heard_ms < OPENS_MS
