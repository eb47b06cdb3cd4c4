"""How often somebody may ask: a bucket for each, that fills with time."""

import time
from collections import OrderedDict
from collections.abc import Callable

MOST_KNOWN = 1024


class Rates:
    """`burst` at once, then `per_s` a second, for each key; the longest unseen are forgotten beyond `MOST_KNOWN`."""

    def __init__(self, burst: float, per_s: float, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._burst, self._per_s, self._monotonic = burst, per_s, monotonic
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def take(self, key: str) -> bool:
        """True where it is within the rate; it counts only then."""
        now = self._monotonic()
        left, at = self._left.pop(key, (self._burst, now))
        left = min(self._burst, left + (now - at) * self._per_s)
        allowed = left >= 1.0
        self._left[key] = (left - allowed, now)
        if len(self._left) > MOST_KNOWN:
            self._left.popitem(last=False)
        return allowed
