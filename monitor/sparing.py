"""Log lines at a rate that spares the card: a line that comes again and again is told now and then, with a count."""

import logging
import time
from collections import OrderedDict
from collections.abc import Callable

EVERY_S = 60.0
AT_ONCE = 3
MOST_KNOWN = 256


class Sparing(logging.Filter):
    """The same line, whatever its figures, three times at once and then once a minute, saying how often it came."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._monotonic = monotonic
        self._known: OrderedDict[tuple[str, str], tuple[float, int]] = OrderedDict()

    def filter(self, record: logging.LogRecord) -> bool:
        key, now = (record.name, str(record.msg)), self._monotonic()
        began, told = self._known.pop(key, (now, 0))
        if now - began >= EVERY_S:
            if told > AT_ONCE:
                record.msg, record.args = f"{record.getMessage()} ({told - AT_ONCE} more like it before)", ()
            began, told = now, 0
        self._known[key] = (began, told + 1)
        if len(self._known) > MOST_KNOWN:
            self._known.popitem(last=False)
        return told < AT_ONCE
