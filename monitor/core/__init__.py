"""One step: readings and a time in, what is known and what has changed out. No clock, no I/O; the same input gives
the same output, live or replayed.
"""

from monitor.core.core import Core

__all__ = ["Core"]
