"""SQLite tables by way of sqlite-utils, without the libraries it takes along wherever they happen to be installed.

It looks for pandas and numpy to take their tables and numbers. The journal has neither; a small computer would pay for
them with 35 MiB and a second of its start.
"""

import contextlib
import sys
from collections.abc import Iterator

UNWANTED = ("pandas", "numpy")


@contextlib.contextmanager
def _kept_out(names: tuple[str, ...]) -> Iterator[None]:
    """An import of these fails as if they were not installed; who has them already keeps them."""
    absent = [name for name in names if name not in sys.modules]
    for name in absent:
        sys.modules[name] = None  # type: ignore[assignment]  # how Python itself marks what must not be imported
    try:
        yield
    finally:
        for name in absent:
            del sys.modules[name]


with _kept_out(UNWANTED):
    from sqlite_utils import Database, Migrations

__all__ = ["Database", "Migrations"]
