"""A moment as a person writes it: ``10:15``, ``2026-11-25 10:15``, or ``+12 min`` and ``-30 min`` from either end."""

import re
from datetime import datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from monitor.quantities import read

EXPECTED = 'expected a time like "10:15", a date and time like "2026-11-25 10:15", or "+12 min" or "-30 min"'


class Span(NamedTuple):
    """A recording's beginning and end, wall time in Unix seconds, and where its rig stands."""

    begins: float
    ends: float
    zone: ZoneInfo

    def said(self) -> str:
        begins, ends = (datetime.fromtimestamp(at, self.zone).strftime("%Y-%m-%d %H:%M:%S") for at in self[:2])
        return f"from {begins} to {ends}"


def moment(text: str, span: Span) -> float:
    """Unix seconds. A time without a date is that of the recording's last day that has it. Raises ValueError."""
    try:
        if text[:1] in ("+", "-"):
            by_s = read(text[1:].strip(), "time")
            return span.begins + by_s if text[0] == "+" else span.ends - by_s
        if re.fullmatch(r"\d{1,2}:\d{2}(:\d{2})?", text):
            return _of_the_day(time.fromisoformat(text.zfill(len(text) + (text[1] == ":"))), span)
        when = datetime.fromisoformat(text)
        return (when if when.tzinfo else when.replace(tzinfo=span.zone)).timestamp()
    except ValueError:
        raise ValueError(f'found "{text}", {EXPECTED}') from None


def _of_the_day(of_day: time, span: Span) -> float:
    last = datetime.fromtimestamp(span.ends, span.zone).date()
    at = datetime.combine(last, of_day, span.zone).timestamp()
    before = datetime.combine(last - timedelta(days=1), of_day, span.zone).timestamp()
    return before if at > span.ends and before >= span.begins else at
