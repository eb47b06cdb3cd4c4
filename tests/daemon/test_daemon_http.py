"""The daemon's HTTP door: acts are taken or refused with what to do, and nobody else's page gets in."""

import json
import os
import re
import socket
from collections.abc import Iterator

import httpx
import pytest
from daemons import Holdwater, holdwater, write_rig
from waiting import until

HERE = "http://127.0.0.1"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    """A demo that has come to its first warning."""
    folder = tmp_path_factory.mktemp("http")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "200", "--listen", "127.0.0.1:0", env=env) as running:
        running.until_alarm("dry-soon", 25.0)
        yield running


def test_an_alarm_is_acknowledged_by_name_and_person(demo: Holdwater) -> None:
    answer = demo.http.post("/api/act", json={"act": "acknowledge", "alarm": "dry-soon", "by": "Ana"})
    assert (answer.status_code, answer.content) == (204, b"")
    until(lambda: demo.alarms().get("dry-soon") != "unacknowledged", what="acknowledged")


def test_the_figures_tell_what_was_heard_and_what_stands(demo: Holdwater) -> None:
    told = demo.http.get("/metrics").text
    assert 'holdwater_alarm{alarm="dry-soon"' in told
    assert re.search(r'holdwater_readings_total\{signal="tank/level"\} [1-9]', told)
    assert re.search(r"^holdwater_volume_litres [1-9]", told, re.MULTILINE)


def test_a_critical_alarm_is_not_shelved_and_the_answer_says_what_to_do(demo: Holdwater) -> None:
    answer = demo.http.post("/api/act", json={"act": "shelve", "alarm": "dry-soon", "minutes": 5})
    assert answer.status_code == 409
    assert set(answer.json()) == {"error", "do"}
    assert "critical" in answer.json()["error"]


def test_what_is_not_understood_says_which_part(demo: Holdwater) -> None:
    for body, part in (
        ({"act": "start-the-pump"}, "act"),
        ({"act": "acknowledge", "horn": True}, "horn"),
        ({"act": "shelve", "alarm": "water-low", "minutes": -5}, "minutes"),
    ):
        answer = demo.http.post("/api/act", json=body)
        assert answer.status_code == 422
        assert part in answer.json()["error"]
        assert answer.json()["do"]
    assert demo.http.get("/api/past?minutes=0").status_code == 422
    assert demo.http.get("/api/words/fr").status_code == 422


def test_a_page_from_elsewhere_changes_nothing(demo: Holdwater) -> None:
    act = {"act": "packing-up"}
    for origin in ("http://evil.example", "null", "http://127.0.0.1:1"):
        answer = demo.http.post("/api/act", json=act, headers={"origin": origin})
        assert answer.status_code == 403, origin
    plain = demo.http.post("/api/act", content=json.dumps(act), headers={"content-type": "text/plain"})
    assert plain.status_code == 415, "a form on another page can send plain text without asking"
    assert demo.state()["packing_up"] is False
    assert demo.http.post("/api/act", json=act, headers={"origin": demo.url}).status_code == 204
    until(lambda: demo.state()["packing_up"])


def test_another_name_for_this_machine_is_not_answered(demo: Holdwater) -> None:
    for host in ("evil.example", "holdwater.local:8321", "127.0.0.1.evil.example", ""):
        answer = demo.http.get("/api/state", headers={"host": host})
        assert answer.status_code in (400, 421), host
    port = demo.url.rpartition(":")[2]
    assert demo.http.get("/api/state", headers={"host": f"localhost:{port}"}).status_code == 200


def test_a_body_that_is_too_big_is_not_read(demo: Holdwater) -> None:
    big = b'{"act":"packing-up","by":"' + b"x" * 100_000 + b'"}'
    headers = {"content-type": "application/json"}
    assert demo.http.post("/api/act", content=big, headers=headers).status_code == 413

    def pieces() -> Iterator[bytes]:
        yield big[:50_000]
        yield big[50_000:]

    try:
        unsized = httpx.post(f"{demo.url}/api/act", content=pieces(), headers=headers)
        assert unsized.status_code in (400, 413)
    except httpx.TransportError:  # hung up on while still sending: no less a refusal
        pass
    assert demo.state()


def test_words_are_served_in_both_languages(demo: Holdwater) -> None:
    english, spanish = (demo.http.get(f"/api/words/{language}").json() for language in ("en", "es"))
    assert english.keys() == spanish.keys()
    assert set(english["alarms"]["dry-soon"]) >= {"title", "cause", "consequence", "do"}
    assert english["alarms"]["dry-soon"] != spanish["alarms"]["dry-soon"]


def test_static_files_do_not_lead_out_of_their_package(demo: Holdwater) -> None:
    assert demo.http.get("/static/crew/crew.js").status_code == 200
    for path in (
        "../pyproject.toml", "..%2f..%2fpyproject.toml", "crew/..%2f..%2fmonitor/rig/fairground.toml",
        "%2e%2e/README.md", "//etc/passwd", "/etc/hosts.json", "..%5cmonitor%5ccli.py", "crew/%00.js",
        "__init__.py", "crew", "",
    ):  # fmt: skip
        assert raw_get(demo.url, f"/static/{path}").startswith(b"HTTP/1.1 4"), path


def raw_get(url: str, target: str) -> bytes:
    """The target to the letter: a client library would tidy it up."""
    host, port = url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), 10.0) as sock:
        sock.sendall(f"GET {target} HTTP/1.1\r\nhost: {host}:{port}\r\nconnection: close\r\n\r\n".encode())
        return sock.recv(200)


def test_every_answer_carries_the_policy(demo: Holdwater) -> None:
    for path in ("/", "/api/state", "/static/crew/crew.css", "/no-such-page"):
        headers = demo.http.get(path).headers
        assert headers["content-security-policy"].startswith("default-src 'self'"), path
        assert headers["x-content-type-options"] == "nosniff"


def test_the_calls_are_described(demo: Holdwater) -> None:
    described = demo.http.get("/openapi.json").json()
    assert set(described["paths"]) >= {
        "/api/state", "/api/live", "/api/past", "/api/words/{language}", "/healthz", "/api/act",
    }  # fmt: skip


def test_example_states_are_shown_beside_a_simulated_day_only(demo: Holdwater, tmp_path) -> None:
    examples = ("/gallery", "/static/gallery/index.html", "/static/states/falling.json")
    assert [demo.http.get(path).status_code for path in examples] == [200, 200, 200]
    rig = write_rig(tmp_path / "rig.toml", f'serial = "{tmp_path / "nothing"}"')
    with holdwater(tmp_path, "run", rig) as real:
        assert [real.http.get(path).status_code for path in examples] == [404, 404, 404]
