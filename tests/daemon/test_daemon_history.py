"""What was, asked of a running daemon: documented, bounded, and told in words where there is nothing."""

import os
from collections.abc import Iterator

import pytest
from daemons import Holdwater, holdwater, write_rig
from waiting import until


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Holdwater]:
    folder = tmp_path_factory.mktemp("history")
    env = {**os.environ, "TMPDIR": str(folder)}
    with holdwater(folder, "demo", "--speed", "200", "--listen", "127.0.0.1:0", env=env) as running:
        running.until_alarm("dry-soon", 25.0)
        until(lambda: running.http.get("/api/history/signals").json().get("last"), 20.0, "the journal is written")
        yield running


def answer(demo: Holdwater, **query: object) -> dict:
    asked = demo.http.get("/api/history", params=query)
    assert asked.status_code == 200, asked.text
    return asked.json()


def test_it_says_what_there_is_and_gives_least_mean_and_most(demo: Holdwater) -> None:
    known = demo.http.get("/api/history/signals").json()
    assert {"name": "rig/volume", "unit": "l"} in known["signals"]
    assert {"name": "tank/level", "unit": "m"} in known["signals"]
    whole = answer(demo, signal=["rig/volume", "tank/level"], since=known["first"], until=known["last"], points=50)
    assert [line["name"] for line in whole["signals"]] == ["rig/volume", "tank/level"]
    for line in whole["signals"]:
        assert 0 < len(line["points"]) <= 50
        assert all(lo <= mean <= hi and count >= 1 for _, lo, mean, hi, count in line["points"])
        assert all(known["first"] - 60 <= point[0] <= known["last"] for point in line["points"])


def test_the_alarm_that_was_raised_lies_in_the_window(demo: Holdwater) -> None:
    known = demo.http.get("/api/history/signals").json()
    told = until(
        lambda: answer(demo, signal="rig/volume", since=known["first"], until=known["last"] + 86_400)["alarms"],
        what="an alarm is kept",
    )
    assert all({"at", "alarm", "priority", "state"} <= set(each) for each in told)


def test_a_name_nobody_sent_has_no_points(demo: Holdwater) -> None:
    (line,) = answer(demo, signal="nobody/knows")["signals"]
    assert (line["points"], line["unit"]) == ([], "")


@pytest.mark.parametrize(
    "query",
    ["", "signal=a&since=5&until=5", "signal=a&points=0", "signal=a&points=1000000", "signal=a&until=nan",
     "signal=a&since=inf", "&".join(f"signal=s{n}" for n in range(17))],
)  # fmt: skip
def test_a_question_without_sense_says_what_to_do(demo: Holdwater, query: str) -> None:
    asked = demo.http.get(f"/api/history?{query}")
    assert asked.status_code == 422
    assert asked.json()["error"]
    assert asked.json()["do"]


def test_it_is_documented(demo: Holdwater) -> None:
    paths = demo.http.get("/openapi.json").json()["paths"]
    asked = {each["name"] for each in paths["/api/history"]["get"]["parameters"]}
    assert asked == {"signal", "since", "until", "points"}
    assert "/api/history/signals" in paths


def test_without_a_journal_it_says_so_and_the_daemon_goes_on(tmp_path) -> None:
    rig = write_rig(tmp_path / "rig.toml", f'serial = "{tmp_path}/none"')
    rig.write_text(rig.read_text("utf-8").replace('"holdwater.db"', '"nowhere/holdwater.db"'), "utf-8")
    with holdwater(tmp_path, "run", rig) as running:
        asked = running.http.get("/api/history", params={"signal": "rig/volume"})
        assert asked.status_code == 503
        assert asked.json()["do"]
        assert running.http.get("/api/state").status_code == 200
