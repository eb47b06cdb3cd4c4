"""Every route x every role x paired or not, from the app's own route table."""

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import httpx
import pytest
from fastapi.routing import iter_route_contexts

from monitor.pages.app import ActBody, create_app
from monitor.pages.certificate import Certificate
from monitor.pages.devices import Devices
from monitor.pages.door import COOKIE, Door
from monitor.pages.guard import Guard
from monitor.pages.live import Live
from monitor.pages.rates import Rates
from monitor.pages.roles import ACTS, ROLES, may_act, rule_of

HOST = "192.0.2.7:8321"


class Desk:
    """A daemon that has nothing to say, on a rig whose day is simulated."""

    simulated, bench, practice = True, None, None

    def __getattr__(self, name: str) -> Any:
        return lambda *how: [] if name == "health" else {}


def door(folder: Path) -> Door:
    certificate = Certificate(folder / "page.crt", folder / "page.key", None)
    many = Rates(10_000, 1)
    return Door(Devices(folder / "holdwater.db"), frozenset({"rig.local"}), certificate, Rates(5, 0), many, many)


def routes() -> Iterator[str]:
    for route in iter_route_contexts(create_app(Desk(), Live(lambda: b"{}")).routes):
        for method in sorted((route.methods or set()) - {"HEAD"}):
            yield f"{method} {route.path}"


def ask(at: Door, method: str, path: str, role: str | None = None, **how: Any) -> httpx.Response:
    """One request through the guard, by a device of that role; streams are ended at once."""
    live = Live(lambda: b"{}")
    live.close()
    cookie = None if role is None else at.devices.pair(at.devices.offer(role), role)[1]

    async def asked() -> httpx.Response:
        app = Guard(create_app(Desk(), live, at), at)
        transport = httpx.ASGITransport(app, client=("192.0.2.9", 1), raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url=f"https://{HOST}") as client:
            sent = {"headers": {} if cookie is None else {"cookie": f"{COOKIE}={cookie}"}} | how
            return await client.request(method, path, **sent)

    return asyncio.run(asked())


def address(route: str) -> tuple[str, str]:
    """A route's method and an address that it answers."""
    method, path = route.split(" ")
    for part, value in (("{path:path}", "crew/crew.js"), ("{file}", "pair.js"), ("{language}", "en")):
        path = path.replace(part, value)
    return method, path.replace("{", "").replace("}", "")


ROUTES = list(routes())


def test_every_route_has_a_rule_and_every_rule_a_route():
    assert sorted(ROUTES) == sorted(ROLES), "a new route needs its line in ROLES, monitor/pages/roles.py"


def test_every_act_has_a_rule_and_every_rule_an_act():
    acts = get_args(ActBody.model_fields["act"].annotation)
    assert set(ACTS) == set(acts), "a new act needs its line in ACTS, monitor/pages/roles.py"


@pytest.mark.parametrize("role", [None, "crew", "owner"])
@pytest.mark.parametrize("route", ROUTES)
def test_who_is_let_in(tmp_path: Path, route: str, role: str | None):
    how = {"json": {}} if route.startswith("POST") else {}
    answer = ask(door(tmp_path), *address(route), role, **how)
    rule = ROLES[route]
    let_in = rule == "anyone" or role == "owner" or role == rule
    turned_away = 401 if role is None else 403
    assert (answer.status_code not in (401, 403)) if let_in else (answer.status_code == turned_away), answer.text


def test_what_has_no_rule_is_the_owners_alone(tmp_path: Path):
    assert rule_of("GET", "/api/new") == rule_of("DELETE", "/api/state") == "owner"
    assert ask(door(tmp_path), "GET", "/nowhere").status_code == 401
    assert ask(door(tmp_path), "GET", "/nowhere", "crew").status_code == 403
    assert ask(door(tmp_path), "GET", "/nowhere", "owner").status_code == 404


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("role", ["crew", "owner"])
def test_who_may_act(tmp_path: Path, act: str, role: str, monkeypatch: pytest.MonkeyPatch):
    assert may_act(role, act) == (role == "owner" or ACTS[act] == "crew")
    assert not may_act("crew", "an act without a rule")
    monkeypatch.setitem(ACTS, act, "owner")
    answer = ask(door(tmp_path), "POST", "/api/act", role, json={"act": act})
    assert answer.status_code == (204 if role == "owner" else 403)


def test_a_path_written_otherwise_opens_nothing(tmp_path: Path):
    for path in ("//api/state", "/api/state/", "/healthz/../api/state", "/healthz/api/state", "/pair/../api/state",
                 "/pair/%2e%2e/api/state", "/PAIR", "/pair/x/y", "/static/pair/../../x", "/healthz%0a"):  # fmt: skip
        answer = ask(door(tmp_path), "GET", path)
        assert answer.status_code in (401, 404), path


def test_a_browser_that_is_not_paired_is_shown_where_to_pair(tmp_path: Path):
    answer = ask(door(tmp_path), "GET", "/", headers={"accept": "text/html"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")


def test_a_code_is_good_once(tmp_path: Path):
    at = door(tmp_path)
    code = at.devices.offer("crew")
    first, replayed = (ask(at, "POST", "/pair", json={"code": code, "name": "Tablet"}) for _ in range(2))
    assert first.status_code == 204
    cookie = first.headers["set-cookie"].lower()
    for part in ("httponly", "secure", "samesite=lax", "path=/"):
        assert part in cookie
    assert replayed.status_code == 403
    assert [device.name for device in at.devices.all()] == ["Tablet"]


def test_guessing_is_bounded_even_when_the_right_code_comes_at_last(tmp_path: Path):
    at = door(tmp_path)
    code = at.devices.offer("owner")
    statuses = [ask(at, "POST", "/pair", json={"code": f"WRONG{n:03}"}).status_code for n in range(8)]
    assert statuses == [403] * 5 + [429] * 3
    assert ask(at, "POST", "/pair", json={"code": code}).status_code == 429
    assert at.devices.all() == []


def test_a_stolen_cookie_is_of_no_use_after_revocation(tmp_path: Path):
    at = door(tmp_path)
    _, cookie = at.devices.pair(at.devices.offer("owner"), "Lost phone")
    stolen = {"cookie": f"{COOKIE}={cookie}"}
    assert ask(at, "GET", "/api/state", headers=stolen).status_code == 200
    assert at.devices.revoke("Lost phone")
    assert ask(at, "GET", "/api/state", headers=stolen).status_code == 401
    assert ask(at, "GET", "/api/state", headers={"cookie": f"{COOKIE}={cookie[:-2]}xx"}).status_code == 401
    assert ask(at, "GET", "/api/state", headers={"cookie": f"{COOKIE}=;;\x01"}).status_code == 401


def test_a_page_elsewhere_can_neither_post_nor_take_our_name(tmp_path: Path):
    at = door(tmp_path)
    _, cookie = at.devices.pair(at.devices.offer("owner"), "Tablet")
    own = {"cookie": f"{COOKIE}={cookie}"}
    body = {"act": "packing-up"}
    for origin in ("https://evil.example", "null", f"http://{HOST}0", "https://192.0.2.7"):
        answer = ask(at, "POST", "/api/act", json=body, headers={**own, "origin": origin})
        assert answer.status_code == 403, origin
    assert ask(at, "POST", "/api/act", json=body, headers={**own, "origin": f"https://{HOST}"}).status_code == 204
    assert ask(at, "GET", "/api/state", headers={**own, "host": "evil.example"}).status_code == 421
    assert ask(at, "GET", "/api/state", headers={**own, "host": "rig.local:8321"}).status_code == 200


def test_who_asks_too_often_is_told_so_and_others_are_not_held_up(tmp_path: Path):
    at = door(tmp_path)._replace(asks=Rates(3, 0))
    assert [ask(at, "GET", "/healthz").status_code for _ in range(5)] == [200] * 3 + [429] * 2
    assert ask(at, "GET", "/healthz", "crew").status_code == 200
