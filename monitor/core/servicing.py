"""What is due: services by engine hours and by date, and frost. Counted from the first look, then from each "done"."""

from collections.abc import Mapping
from typing import Any

from monitor.core.hours import Hours
from monitor.planning.upkeep import due, freeze
from monitor.rig.service_table import Service

HOUR_S, DAY_S = 3600.0, 86_400.0


class Servicing:
    def __init__(self, services: tuple[Service, ...], hours: Hours) -> None:
        self.services, self.hours = services, hours
        self.done: dict[str, list[float]] = {}
        """Wall time and engine hours at which each was last done, or first seen."""

    def knows(self, name: object) -> bool:
        return any(service.name == name for service in self.services)

    def did(self, name: str, wall: float) -> None:
        service = next(service for service in self.services if service.name == name)
        self.done[name] = [wall, self._ran_h(service)]

    def standing(self, wall: float, air_c: float | None) -> dict[str, Any]:
        """Each service with the hours and days since, and what tonight's frost asks for."""
        word, tonight = ("unknown", ()) if air_c is None else freeze(air_c)
        return {"services": [self._one(service, wall) for service in self.services],
                "freeze": {"word": word, "tonight": list(tonight), "air_c": air_c}}  # fmt: skip

    def _one(self, service: Service, wall: float) -> dict[str, Any]:
        at, ran_h = self.done.setdefault(service.name, [wall, self._ran_h(service)])
        since_h, days = self._ran_h(service) - ran_h, (wall - at) / DAY_S
        return {
            "name": service.name, "pump": service.pump, "every_h": service.every_hours,
            "every_months": service.every_months, "since_h": round(since_h, 1), "since_days": round(days, 1),
            "due": due(service.interval, since_h, days),
        }  # fmt: skip

    def _ran_h(self, service: Service) -> float:
        ran_s = self.hours.ran_s
        return (ran_s.get(service.pump, 0.0) if service.pump else max(ran_s.values(), default=0.0)) / HOUR_S

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.done = {str(name): list(each) for name, each in saved.items()}
