"""The plan page's question and answer."""

import asyncio

import httpx
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from monitor.core.basis import Basis
from monitor.pages.app import page
from monitor.pages.plan import plan_routes
from monitor.planning.day import Plan, Worked
from monitor.planning.supply import Tap
from monitor.rig.day_asked import Asked, planned
from monitor.rig.load import fairground, parse
from monitor.rig.model import Rig

HOSE = 'name = "Rides"\npressure = "3800 psi"\nhose = { bore = "3/8 in", length = "200 ft", rated = "4000 psi" }\n'
NOTHING = Basis(None, None, {}, {})
SEEN = Basis(500.0, Tap(20.0, 1.0, "record"), {"Rides": 22.0}, {"Rides": [Worked(0.4, 3600.0)] * 3})


class Desk:
    def __init__(self, known: Basis) -> None:
        self.rig = parse(fairground().replace('name = "Rides"\n', HOSE, 1))
        self.known = known

    def basis(self) -> Basis:
        return self.known


def asking(known: Basis) -> TestClient:
    app = FastAPI()
    app.include_router(plan_routes(page, Desk(known)))
    return TestClient(app)


def test_the_page_is_there():
    assert "/static/plan/main.js" in asking(NOTHING).get("/plan").text


def test_the_tap_seen_is_the_tap_asked_for():
    said = asking(SEEN).get("/api/plan").json()
    assert said["tap"]["l_min"] == 20.0
    assert said["now"] == {"volume_l": 500.0, "tap_l_min": 20.0}
    assert said["seen_h"] == {"Rides": 3}


def test_without_a_tap_it_asks_for_one():
    answer = asking(NOTHING).get("/api/plan")
    assert answer.status_code == 422
    assert "bucket" not in answer.json()["error"]
    assert "5 gal in 57 s" in answer.json()["do"]


def test_what_was_seen_of_the_crew_changes_the_plan():
    asked = {"tap": "5 gpm", "pump": "Rides", "hours": 2}
    used = [asking(known).get("/api/plan", params=asked).json()["plan"]["used_l"] for known in (NOTHING, SEEN)]
    assert used[1]["middle"] < used[0]["middle"]
    assert used[1]["high"] - used[1]["low"] < used[0]["high"] - used[0]["low"]


def test_plans_are_reckoned_one_after_the_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many pages ask: the deciding loop shares the processor with one of them at most."""
    under_way, most = 0, 0

    def counted(rig: Rig, asked: Asked) -> Plan:
        nonlocal under_way, most
        under_way += 1
        most = max(most, under_way)
        said = planned(rig, asked)
        under_way -= 1
        return said

    async def ask_at_once() -> list[httpx.Response]:
        app = FastAPI()
        app.include_router(plan_routes(page, Desk(SEEN)))
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://rig") as pages:
            return await asyncio.gather(*(pages.get(f"/api/plan?tap={gpm}+gpm&hours=1") for gpm in range(3, 8)))

    monkeypatch.setattr("monitor.pages.plan.planned", counted)
    answers = asyncio.run(ask_at_once())
    assert [answer.status_code for answer in answers] == [200] * 5
    assert most == 1


def test_a_days_figures_and_picture():
    said = asking(NOTHING).get("/api/plan", params={"tap": "5 gpm", "hours": 6, "water": 600.0}).json()
    assert said["water_l"] == 600.0
    assert said["fan"][0] == [0.0, *[600.0] * 5]
    assert said["plan"]["worked_s"]["low"] < said["plan"]["worked_s"]["middle"]
    assert [hose["rating"] for hose in said["hoses"]] == ["near"]
    assert said["road"]["most_l"] == pytest.approx(302.8, abs=0.1)


def test_hose_that_was_added_costs_pressure_at_the_gun():
    asked = {"tap": "5 gpm", "pump": "Rides"}
    bare, added = (
        asking(NOTHING._replace(extra_m={"Rides": metres})).get("/api/plan", params=asked).json()["hoses"][0]
        for metres in (0.0, 60.96)
    )
    lost = [hose["pump_pa"] - hose["gun_pa"] for hose in (bare, added)]
    assert lost[1] == pytest.approx(2 * lost[0]), "200 ft more of the same hose cost as much again"


@pytest.mark.parametrize(
    "asked",
    [
        {"tap": "5 psi"}, {"tap": "5 gpm", "pump": "Nobody"}, {"tap": "5 gpm", "work": "flying"},
        {"tap": "5 gpm", "hours": 99}, {"tap": "5 gpm", "water": 99_999}, {"tap": "5 gpm", "water": -1},
    ],
)  # fmt: skip
def test_what_is_no_day_is_refused(asked):
    assert asking(NOTHING).get("/api/plan", params=asked).status_code == 422


def test_no_pump_is_a_day_too():
    said = asking(NOTHING).get("/api/plan", params={"tap": "5 gpm", "pump": ""}).json()
    assert said["plan"]["lasts"] == 1.0
    assert said["plan"]["carried"] == []


def test_a_sites_record_is_the_tap_that_is_planned_with():
    seen = SEEN._replace(sites={"North field": Tap(11.0, 1.5, "record")})
    said = asking(seen).get("/api/plan", params={"site": "North field"}).json()
    assert said["tap"]["l_min"] == 11.0
    assert said["sites"] == {"North field": 11.0}
    assert asking(seen).get("/api/plan", params={"site": "South field"}).status_code == 422
