"""What is due: services by engine hours and by date, and frost. Counted from the first look, then from each "done".

A service's `last_done` in the rig file counts the days from there; hours before the first look nobody counted.
"""

from collections.abc import Mapping
from typing import Any

from monitor.core.hours import Hours
from monitor.planning.upkeep import due, freeze
from monitor.rig.service_table import Service

HOUR_S, DAY_S = 3600.0, 86_400.0
NIGHT_H = 24  # the coldest of the last day stands for the coming night: nobody here knows the weather


class Servicing:
    def __init__(self, services: tuple[Service, ...], hours: Hours) -> None:
        self.services, self.hours = services, hours
        self.done: dict[str, list[float]] = {}
        """Wall time and engine hours at which each was last done, or first seen."""
        self.air_c: list[list[float]] = []
        """The lowest air of each hour, the hour counted since 1970, the latest last."""

    def knows(self, name: object) -> bool:
        return any(service.name == name for service in self.services)

    def did(self, name: str, wall: float) -> None:
        service = next(service for service in self.services if service.name == name)
        self.done[name] = [wall, self._ran_h(service)]

    def feel(self, wall: float, air_c: float | None) -> None:
        """The air as of now, in °C, None where nothing tells."""
        if air_c is None:
            return
        hour = wall // HOUR_S
        if not self.air_c or self.air_c[-1][0] != hour:
            self.air_c = [*(each for each in self.air_c if hour - NIGHT_H < each[0] < hour), [hour, air_c]]
        self.air_c[-1][1] = min(self.air_c[-1][1], air_c)

    def standing(self, wall: float, air_c: float | None) -> dict[str, Any]:
        """Each service with the hours and days since, and what tonight's frost asks for."""
        return {"services": [self._one(service, wall) for service in self.services],
                "freeze": self.tonight(wall, air_c)}  # fmt: skip

    def tonight(self, wall: float, air_c: float | None) -> dict[str, Any]:
        """What the night asks for, by the coldest air of the last day and of now."""
        lows = [low for hour, low in self.air_c if hour > wall // HOUR_S - NIGHT_H]
        coldest_c = min([*lows, *([] if air_c is None else [air_c])], default=None)
        word, tonight = ("unknown", ()) if coldest_c is None else freeze(coldest_c)
        return {"word": word, "tonight": list(tonight), "air_c": air_c, "coldest_c": coldest_c}

    def _one(self, service: Service, wall: float) -> dict[str, Any]:
        at, ran_h = self.done.setdefault(service.name, [_told(service, wall), self._ran_h(service)])
        since_h, days = self._ran_h(service) - ran_h, (wall - at) / DAY_S
        return {
            "name": service.name, "pump": service.pump, "every_h": service.every_hours,
            "every_months": service.every_months, "since_h": round(since_h, 1), "since_days": round(days, 1),
            "done_at": at, "due": due(service.interval, since_h, days),
        }  # fmt: skip

    def _ran_h(self, service: Service) -> float:
        ran_s = self.hours.ran_s
        return (ran_s.get(service.pump, 0.0) if service.pump else max(ran_s.values(), default=0.0)) / HOUR_S

    def save(self) -> dict[str, Any]:
        return {"done": self.done, "air_c": self.air_c}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.done = {str(name): list(each) for name, each in saved.get("done", {}).items()}
        self.air_c = [list(each) for each in saved.get("air_c", [])]


def _told(service: Service, wall: float) -> float:
    """Where the days are counted from at the first look: what the rig file says, never what is still to come."""
    return wall if service.last_done is None else min(wall, service.last_done_s)
