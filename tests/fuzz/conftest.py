"""`make fuzz` prints how many calls the page was asked."""

import os
from typing import Any

from tests.fuzz.targets import made


def pytest_terminal_summary(terminalreporter: Any) -> None:
    if "FUZZ_CALLS" in os.environ and made:
        calls = ", ".join(f"{status}: {count:,}" for status, count in sorted(made.items()))
        terminalreporter.write_line(f"HTTP: {made.total():,} calls; answered {calls}")
