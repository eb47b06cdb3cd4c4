"""The figures at /metrics, read back by the parser of the format's reference library."""

import asyncio
import sys
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from monitor.core import Core
from monitor.core.standing import standing
from monitor.pages.metrics import metrics_routes
from monitor.rig.load import load

RIG = Path(__file__).parents[2] / "monitor" / "rig" / "fairground.toml"
FROM_THE_DAEMON = {
    "dropped": 3,
    "journal": {"ok": True, "why": "", "do": "", "waiting": 7, "dropped": 2},
    "feeds": [{"name": "broker", "ok": False, "why": "gone", "do": "wait", "packs": 0, "rejects": 0}],
}  # fmt: skip


class Desk:
    """A core that has decided, and what a daemon adds to it."""

    def __init__(self, more: dict[str, Any] | None = None) -> None:
        core = Core(load(RIG))
        core.advance(100.0)
        self.told = standing(core, 100.0) | FROM_THE_DAEMON | (more or {})

    def state(self) -> dict[str, Any]:
        return self.told

    def lag_s(self) -> float:
        return 0.25


def answer(desk: Desk) -> httpx.Response:
    app = FastAPI()
    app.include_router(metrics_routes(desk))

    async def asked() -> httpx.Response:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://rig") as client:
            return await client.get("/metrics")

    return asyncio.run(asked())


def samples(desk: Desk) -> dict[tuple[str, ...], float]:
    """Name and label values, by the labels' names, to value."""
    told = text_string_to_metric_families(answer(desk).text)
    all_of_them = [one for family in told for one in family.samples]
    return {(one.name, *(of for _, of in sorted(one.labels.items()))): one.value for one in all_of_them}


def test_what_is_counted_is_told_in_the_open_format():
    told = samples(Desk(more={"rejects": {"total": 4, "by_kind": {"not-json": 4}, "latest": []}}))
    assert told["holdwater_readings_total", "tank/level"] == 0
    assert told["holdwater_rejects_total", "not-json"] == 4
    assert told["holdwater_dropped_total", "inbox"] == 3
    assert told["holdwater_dropped_total", "journal"] == 2
    assert told["holdwater_journal_waiting",] == 7
    assert told["holdwater_feed_ok", "broker"] == 0
    assert told["holdwater_decisions_lag_seconds",] == 0.25
    assert answer(Desk()).headers["content-type"].startswith("application/openmetrics-text")


def test_a_volume_that_is_not_known_is_not_nought():
    desk = Desk()
    assert ("holdwater_volume_litres",) not in samples(desk)
    desk.told["forecast"] |= {"volume_l": 512.5, "volume_sd_l": 4.0}
    assert samples(desk)["holdwater_volume_litres",] == 512.5


def test_alarms_stand_by_name():
    one = {"alarm": "run-dry", "state": "unacknowledged", "pump": "Rides", "signal": None, "node": None}
    told = samples(Desk(more={"alarms": [one]}))
    assert told["holdwater_alarm", "run-dry", "unacknowledged", "Rides"] == 1.0


def test_without_the_extra_the_page_says_so(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(sys.modules, "prometheus_client", None)
    said = answer(Desk())
    assert said.status_code == 404
    assert "holdwater[metrics]" in said.json()["do"]
