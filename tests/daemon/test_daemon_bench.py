"""The bench of a real demo over HTTP: truth and belief on the same instants, hands put in; on a rig it is not there."""

import os
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from daemons import Holdwater, holdwater, write_rig
from waiting import until


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("bench")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "40", "--seed", "3", "--listen", "127.0.0.1:0", env=env) as running:
        until(lambda: running.http.get("/api/bench").status_code == 200)
        yield running


def seen(demo: Holdwater, since: float = 0.0) -> dict:
    answer = demo.http.get("/api/bench", params={"since": since})
    assert answer.status_code == 200
    return answer.json()


def sends(demo: Holdwater, to: str, **body: object) -> None:
    answer = demo.http.post(f"/api/bench/{to}", json=body)
    assert answer.status_code == 204, answer.text


def test_truth_and_belief_come_on_the_same_instants(demo: Holdwater) -> None:
    both = until(lambda: len((told := seen(demo))["belief"]) > 5 and told, 20.0)
    truth = {point[0]: point[1] for point in both["truth"]}
    belief = {point[0]: point[1] for point in both["belief"]}
    shared = truth.keys() & belief.keys()
    assert len(shared) > 5
    assert all(at % 10 == 0 for at in shared)
    late = sorted(shared)[-1]
    assert belief[late] == pytest.approx(truth[late], rel=0.1)
    assert all(point[0] > late for point in seen(demo, late)["truth"])
    assert both["day"]["again"] == "holdwater demo fairground --seed 3 --speed 40"


def test_a_fault_is_thrown_and_lifted_and_a_wrong_one_refused(demo: Holdwater) -> None:
    sends(demo, "fault", what="leak", on=True)
    until(lambda: "leak" in seen(demo)["now"]["faults_on"])
    until(lambda: seen(demo)["now"]["truth"]["lost_l_min"] == 2.0)
    sends(demo, "fault", what="leak", on=False)
    until(lambda: "leak" not in seen(demo)["now"]["faults_on"])
    refused = demo.http.post("/api/bench/fault", json={"what": "pump-weak", "on": True, "pump": "Nobody"})
    assert refused.status_code == 422
    assert "Nobody" in refused.json()["error"]
    assert demo.http.post("/api/bench/hand", json={"what": "leak"}).status_code == 422
    assert demo.http.post("/api/bench/fault", content=b"x").status_code == 415


def test_a_gun_is_taken_from_the_crew_and_given_back(demo: Holdwater) -> None:
    sends(demo, "hand", what="trigger", pump="Rides", on=True)
    until(lambda: seen(demo)["now"]["truth"]["draw_l_min"]["Rides"] > 15.0)
    assert seen(demo)["now"]["handles"]["by_hand"]["Rides"]
    until(lambda: (demo.state()["pumps"][0]["draw_l_min"] or 0.0) > 15.0, 20.0, "the monitor sees it draw")
    sends(demo, "hand", what="give-back", pump="Rides")
    until(lambda: not seen(demo)["now"]["handles"]["by_hand"]["Rides"])


def test_the_speed_changes_and_the_time_line_neither_stands_nor_falls(demo: Holdwater) -> None:
    times = []
    for speed in (200.0, 1.0, 40.0):
        sends(demo, "speed", speed=speed)
        first = demo.state()
        assert first["speed"] == speed
        times += [first["at"], until(lambda at=first["at"]: (now := demo.state()["at"]) > at + 0.3 and now)]
    assert all(one <= other for one, other in pairwise(times))
    assert demo.state()["wall"] == pytest.approx(demo.state()["at"], abs=60.0)
    for speed in (0, 1001, "fast"):
        assert demo.http.post("/api/bench/speed", json={"speed": speed}).status_code == 422


def test_the_page_is_served(demo: Holdwater) -> None:
    assert f"{demo.url}/bench" in demo.said()
    for path in ("/bench", "/static/bench/main.js"):
        assert demo.http.get(path).status_code == 200


def test_on_a_rig_there_is_no_bench(tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", 'serial = "/dev/ttyNOT0"')
    with holdwater(tmp_path, "run", rig) as running:
        for path in ("/bench", "/api/bench", "/static/bench/index.html", "/static/bench/bench.js"):
            assert running.http.get(path).status_code == 404, path
        leak, tap = {"what": "leak", "on": True}, {"what": "tap", "open": False}
        bodies = {"fault": leak, "hand": tap, "speed": {"speed": 2.0}}
        for what, body in bodies.items():
            assert running.http.post(f"/api/bench/{what}", json=body).status_code == 404, what
