"""Replay: the same recording, the same bytes; the same core as live; garble named; a state to begin with."""

import json
import os
import subprocess
import sys

import pytest
from click.testing import CliRunner
from trailer import BEGIN, RIG, Trailer, Watched, record_a_day, rig

from monitor.alarms.by_name import ByName
from monitor.cli import main
from monitor.core import Core
from monitor.readings import Passing, Reject
from monitor.replay import Played, events, replay, told
from monitor.wire.recorded import read_line, write_event


@pytest.fixture(scope="module")
def work():
    """A drain down to the heel and a refill, with an answer to the alarm."""
    trailer = Trailer(260.0).runs(60)
    trailer.runs(360, "Rides")
    trailer.does("acknowledge", "dry-soon")
    trailer.runs(120, "Rides")
    trailer.runs(200, tap=60.0)
    return trailer.events


@pytest.fixture
def recording(work, tmp_path):
    path = tmp_path / "day.jsonl"
    path.write_bytes(b"".join(write_event(event) for event in work))
    return path


@pytest.fixture
def rig_file(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG.replace("CLOCK", "arrival"), "utf-8")
    return path


def lines_of(path):
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def test_the_same_recording_twice_gives_the_same_bytes(recording, tmp_path):
    one, two = tmp_path / "one.jsonl", tmp_path / "two.jsonl"
    told_one, told_two = replay(rig(), recording, one), replay(rig(), recording, two)
    assert told_one == told_two
    assert one.read_bytes() == two.read_bytes()
    assert len(lines_of(one)) == told_one.forecasts + told_one.alarms


def test_a_replay_gives_what_the_core_gave_live(work, recording, tmp_path):
    """Live, the core is also moved on by the clock, between arrivals and after them."""
    core = Core(rig())
    names, live = ByName(core.board), []
    for event in work:
        for part in (0.3, 0.7):
            now = event.at if core.now is None else core.now + part * (event.at - core.now)
            live += told(core.advance(now), names)
        live += told(core.take(event), names)
    replay(rig(), recording, tmp_path / "out.jsonl")
    assert lines_of(tmp_path / "out.jsonl") == json.loads(json.dumps(live))


def test_passing_lines_change_no_line_though_alarms_come_and_go_in_silence(tmp_path):
    """Everything falls silent for minutes, with a pump drawing: alarms are raised, folded under others, and cleared."""
    trailer = Trailer(260.0).runs(60).runs(60, "Rides")
    nothing = ("tank", "inlet", "rides", "stalls")
    trailer.runs(1500, "Rides", silent=nothing)
    trailer.runs(30, tap=20.0)
    outs = []
    for k, kept in enumerate((trailer.events, [e for e in trailer.events if not isinstance(e, Passing)])):
        (tmp_path / f"{k}.jsonl").write_bytes(b"".join(map(write_event, [*kept, trailer.events[-1]])))
        replay(rig(), tmp_path / f"{k}.jsonl", tmp_path / f"{k}.out")
        outs.append(lines_of(tmp_path / f"{k}.out"))
    assert outs[0] == outs[1]
    assert {line["alarm"] for line in outs[0] if line["event"] == "alarm"} >= {"node-lost", "water-low"}


def test_its_lines_are_the_contracts(recording, tmp_path):
    replay(rig(), recording, tmp_path / "out.jsonl")
    lines = lines_of(tmp_path / "out.jsonl")
    forecasts = [line for line in lines if line["event"] == "forecast"]
    alarms = [line for line in lines if line["event"] == "alarm"]
    assert all(line["at"] % 10 == 0 for line in forecasts)
    assert list(forecasts[0]) == [
        "at", "event", "volume_l", "volume_sd_l", "inflow_l_min", "net_l_min", "draw_sum_l_min", "draw_l_min",
        "draw_rate_l_min", "dry_s", "dry_if_kept_s", "dry_flat_out_s", "level_quality", "supply_quality",
    ]  # fmt: skip
    assert [line["at"] for line in lines] == sorted(line["at"] for line in lines)
    soon = [line["state"] for line in alarms if line["alarm"] == "dry-soon"]
    assert soon[:2] == ["unacknowledged", "acknowledged"]
    assert soon[-1] == "normal"
    assert {"dry", "water-low", "dry-soon"} <= {line["alarm"] for line in alarms}


def test_garble_is_a_reject_and_the_next_line_is_read(work, tmp_path):
    path = tmp_path / "torn.jsonl"
    good = [write_event(event) for event in work]
    torn = good[3][: len(good[3]) // 2] + b"\n"
    bad = [b"\n", b"not json\n", b'{"at": 1}{"at": 2}\n', b"\xff\xfe\n", b'{"pack": []}\n', torn]
    for k, line in enumerate(bad):
        good.insert(50 * (k + 1), line)
    path.write_bytes(b"".join(good))
    played_ = replay(rig(), path, tmp_path / "out.jsonl")
    assert played_.rejected == len(bad) - 1  # an empty line is nothing
    assert played_.lines == len(work) + len(bad) - 1
    clean = tmp_path / "clean.jsonl"
    clean.write_bytes(b"".join(write_event(event) for event in work))
    replay(rig(), clean, tmp_path / "clean_out.jsonl")
    assert (tmp_path / "out.jsonl").read_bytes() == (tmp_path / "clean_out.jsonl").read_bytes()


def test_a_reject_stands_at_the_time_of_the_line_before_it_and_time_never_falls():
    lines = [write_event(Passing(BEGIN + 5.0)), b"garble\n", write_event(Passing(BEGIN + 3.0)), b"\n"]
    found = list(events(lines, "mqtt 1"))
    assert [event.at for event in found] == pytest.approx([BEGIN + 5.0] * 3, abs=1e-4)
    assert [event.at for event in found] == sorted(event.at for event in found)
    assert isinstance(found[1], Reject)
    assert found[1].raw.startswith("garble")


def test_what_was_recorded_is_read_as_it_was(work):
    assert [read_line(write_event(event), "mqtt 1") for event in work] == work


def test_an_empty_recording_says_nothing(tmp_path):
    (tmp_path / "none.jsonl").write_bytes(b"")
    assert replay(rig(), tmp_path / "none.jsonl", tmp_path / "out.jsonl") == Played(0, 0, 0, 0)
    assert (tmp_path / "out.jsonl").read_bytes() == b""


def test_a_state_to_begin_with(work, recording, tmp_path):
    saved = Watched(700.0, rates={"Rides": 19.0, "Stalls": 14.0}).runs(600, "Rides").core.save()
    replay(rig(), recording, tmp_path / "fresh.jsonl")
    replay(rig(), recording, tmp_path / "begun.jsonl", json.loads(json.dumps(saved)))
    fresh, begun = lines_of(tmp_path / "fresh.jsonl"), lines_of(tmp_path / "begun.jsonl")
    assert fresh[0]["draw_rate_l_min"]["Rides"] == pytest.approx(22.0)
    assert begun[0]["draw_rate_l_min"]["Rides"] == pytest.approx(19.0, rel=0.03)


def test_the_command_line_replays(recording, rig_file, tmp_path):
    out = tmp_path / "out.jsonl"
    result = CliRunner().invoke(main, ["replay", str(rig_file), str(recording), "--events", str(out)])
    assert result.exit_code == 0, result.output
    assert "forecasts" in result.output
    replay(rig(), recording, tmp_path / "direct.jsonl")
    assert out.read_bytes() == (tmp_path / "direct.jsonl").read_bytes()


@pytest.mark.parametrize("state", ["no json", '{"version": 7}'])
def test_a_wrong_state_file_is_said_or_left_alone(recording, rig_file, tmp_path, state):
    (tmp_path / "state.json").write_text(state, "utf-8")
    out = tmp_path / "out.jsonl"
    args = ["replay", str(rig_file), str(recording), "--events", str(out), "--state", str(tmp_path / "state.json")]
    result = CliRunner().invoke(main, args)
    assert (result.exit_code == 0) == state.startswith("{")
    assert "Traceback" not in result.output


def test_the_bytes_do_not_depend_on_hash_seed_locale_or_time_zone(recording, rig_file, tmp_path):
    """Two more processes, each with another hash seed, locale and time zone."""
    outs = []
    for seed, zone, locale in (("1", "Asia/Kathmandu", "C"), ("2", "America/Chicago", "C.UTF-8")):
        out = tmp_path / f"out{seed}.jsonl"
        subprocess.run(
            [sys.executable, "-m", "monitor", "replay", str(rig_file), str(recording), "--events", str(out)],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale},
            check=True, capture_output=True,
        )  # fmt: skip
        outs.append(out.read_bytes())
    assert outs[0] == outs[1]
    assert outs[0].count(b"\n") > 60


@pytest.mark.campaign
def test_an_hour_at_ten_hertz_replays(tmp_path):
    """Level ten times a second, two pumps, a tap: that it is right; eight hours are for tests/benchmarks."""
    path, hours = tmp_path / "day.jsonl", 1
    trailer = record_a_day(path, hours=hours, level_hz=10)
    counts = replay(rig(), path, tmp_path / "out.jsonl")
    assert counts.lines > hours * 3600 * 13
    assert counts.rejected == 0
    assert counts.forecasts == hours * 360
    last = [line for line in lines_of(tmp_path / "out.jsonl") if line["event"] == "forecast"][-1]
    assert last["volume_l"] == pytest.approx(trailer.volume_l, abs=3.0 * last["volume_sd_l"])
    assert last["level_quality"] == last["supply_quality"] == "good"
