"""Events and changes as rows of their tables, and back. Packs are not here: they go in blocks."""

import json
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from monitor.changes import AlarmChange, Forecast, JobDone, Tally
from monitor.readings import Act, Alive, Passing, Reject, WallStep

Row = Sequence[Any]


class Table(NamedTuple):
    """One kind of thing and its table: `columns` follow run and at_us, `pack` makes them and `unpack` reads them."""

    name: str
    columns: tuple[str, ...]
    pack: Callable[[Any], Row]
    unpack: Callable[..., Any]

    @property
    def insert(self) -> str:
        names = ("run", "at_us", *self.columns)
        return f"insert into {self.name}({', '.join(names)}) values ({', '.join('?' * len(names))})"

    @property
    def select(self) -> str:
        """Rows of one run from a time up to another, in order."""
        names = ", ".join(("at_us", *self.columns))
        order = "at_us, id" if self.name == "alarm_change" else "at_us"
        return f"select {names} from {self.name} where run = ? and at_us >= ? and at_us < ? order by {order}"


def microseconds(at: float) -> int:
    """Raises ValueError or OverflowError for what is no time."""
    at_us = round(at * 1e6)
    if abs(at_us) > 2**62:
        raise OverflowError(f"{at:g} s is no time")
    return at_us


def text(said: str) -> str:
    """What SQLite can keep: half of a surrogate pair becomes a question mark."""
    return said if said.isascii() else said.encode("utf-8", "replace").decode("utf-8")


def _json(value: object) -> str | None:
    return None if value is None else json.dumps(value, separators=(",", ":"), default=str)


def _read_json(stored: str | None) -> Any:
    return None if stored is None else json.loads(stored)


def _forecast_row(forecast: Forecast) -> Row:
    """A forecast is kept as it was told, no finer."""
    said = forecast.line()
    return (
        *(said[name] for name in _FIGURES[:5]),
        _json([said["draw_l_min"], said["draw_rate_l_min"]]),
        _json(said["dry_s"]),
        *(said[name] for name in _FIGURES[5:]),
        forecast.level_quality,
        forecast.supply_quality,
    )


def _forecast(at: float, *row: Any) -> Forecast:
    volume, sd, inflow, net, draw_sum, draws, dry_s, kept, flat_out, level, supply = row
    draw, rate = json.loads(draws)
    return Forecast(at, volume, sd, inflow, net, draw_sum, draw, rate, _read_json(dry_s), kept, flat_out, level, supply)


_FIGURES = (
    "volume_l", "volume_sd_l", "inflow_l_min", "net_l_min", "draw_sum_l_min", "dry_if_kept_s", "dry_flat_out_s",
)  # fmt: skip

EVENTS: dict[type[Any], Table] = {
    Alive: Table(
        "alive",
        ("feed", "node", "up", "retained"),
        lambda e: (text(e.feed), text(e.node), int(e.up), int(e.retained)),
        lambda at, feed, node, up, retained: Alive(at, feed, node, bool(up), bool(retained)),
    ),
    Reject: Table(
        "reject",
        ("feed", "kind", "why", "raw"),
        lambda e: (text(e.feed), text(e.kind), text(e.why), text(e.raw)),
        Reject,
    ),
    Act: Table(
        "act",
        ("act", "person", "alarm", "detail"),
        lambda e: (text(e.act), text(e.by), None if e.alarm is None else text(e.alarm), _json(e.detail)),
        lambda at, act, person, alarm, detail: Act(at, act, person, alarm, _read_json(detail)),
    ),
    WallStep: Table("wall_step", ("wall",), lambda e: (e.wall,), WallStep),
    Passing: Table("passing", (), lambda e: (), Passing),
}
CHANGES: dict[type[Any], Table] = {
    AlarmChange: Table(
        "alarm_change",
        ("alarm", "priority", "state", "subject", "person", "told", "figures"),
        lambda c: (*map(text, (c.alarm, c.priority, c.state, c.subject, c.by, c.told)), _json(c.values)),
        lambda at, alarm, priority, state, subject, person, told, figures: AlarmChange(
            at, alarm, priority, state, subject, person, told, _read_json(figures)
        ),
    ),
    Forecast: Table(
        "forecast",
        (*_FIGURES[:5], "draws", "dry_s", *_FIGURES[5:], "level_quality", "supply_quality"),
        _forecast_row,
        _forecast,
    ),
    JobDone: Table(
        "job",
        ("site", "began", "figures"),
        lambda c: (text(c.site), c.began, _json(c.figures)),
        lambda at, site, began, figures: JobDone(at, site, began, _read_json(figures)),
    ),
    Tally: Table(
        "tally",
        ("began", "figures"),
        lambda c: (c.began, _json(c.figures)),
        lambda at, began, figures: Tally(at, began, _read_json(figures)),
    ),
}
TABLES = EVENTS | CHANGES
