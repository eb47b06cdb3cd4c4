"""What the core gives out: a forecast every ten seconds, and each change of an alarm.

Plain tuples. `line` gives the JSON object of the replay's events file, keys in order, figures no finer than they mean.
"""

from typing import Any, Literal, NamedTuple, TypeAlias

Quality = Literal["good", "uncertain", "bad"]


class Forecast(NamedTuple):
    """What is believed, and what will happen. Volumes in l, flows in l/min, times in s; None = unknown."""

    at: float
    volume_l: float | None
    volume_sd_l: float | None
    inflow_l_min: float | None
    net_l_min: float | None
    draw_sum_l_min: float | None
    draw_l_min: dict[str, float | None]
    draw_rate_l_min: dict[str, float | None]
    dry_s: dict[str, float | None] | None
    dry_if_kept_s: float | None
    dry_flat_out_s: float | None
    level_quality: Quality
    supply_quality: Quality

    def line(self) -> dict[str, Any]:
        return {
            "at": self.at,
            "event": "forecast",
            "volume_l": _round(self.volume_l, 3),
            "volume_sd_l": _round(self.volume_sd_l, 3),
            "inflow_l_min": _round(self.inflow_l_min, 3),
            "net_l_min": _round(self.net_l_min, 3),
            "draw_sum_l_min": _round(self.draw_sum_l_min, 3),
            "draw_l_min": {name: _round(value, 3) for name, value in self.draw_l_min.items()},
            "draw_rate_l_min": {name: _round(value, 3) for name, value in self.draw_rate_l_min.items()},
            "dry_s": None if self.dry_s is None else {k: _round(v, 1) for k, v in self.dry_s.items()},
            "dry_if_kept_s": _round(self.dry_if_kept_s, 1),
            "dry_flat_out_s": _round(self.dry_flat_out_s, 1),
            "level_quality": self.level_quality,
            "supply_quality": self.supply_quality,
        }


class AlarmChange(NamedTuple):
    """An alarm changed its state."""

    at: float
    alarm: str
    priority: str
    state: str
    subject: str = ""
    """The pump, signal or node it concerns, where it concerns one."""
    by: str = ""
    told: str = ""
    """What the crew was told."""
    values: dict[str, Any] | None = None

    def line(self) -> dict[str, Any]:
        line: dict[str, Any] = {
            "at": self.at,
            "event": "alarm",
            "alarm": self.alarm,
            "priority": self.priority,
            "state": self.state,
        }
        if self.subject:
            line["subject"] = self.subject
        return line


class JobDone(NamedTuple):
    """A finished job. `began` in wall time; `figures`: water in l, by pump and in all, alarms, answers, who, when."""

    at: float
    site: str
    began: float
    figures: dict[str, Any]

    def line(self) -> dict[str, Any]:
        return {"at": self.at, "event": "job", "site": self.site, **self.figures}


class Tally(NamedTuple):
    """Water counted since `began` (wall time): s watched, l in, used, by pump, and chemical by pump.

    A tally that begins when another did is the same one counted further. `ended` (wall time) stands among the figures
    only where that was long before `at`: the daemon was stopped meanwhile.
    """

    at: float
    began: float
    figures: dict[str, Any]

    def line(self) -> dict[str, Any]:
        return {"at": self.at, "event": "tally", "began": self.began, **self.figures}


Change: TypeAlias = Forecast | AlarmChange | JobDone | Tally


def _round(value: float | None, digits: int) -> float | None:
    """Rounded, and never a negative zero."""
    return None if value is None else round(value, digits) + 0.0
