"""Horn and strobe: on a real pseudo-terminal, its pins (it has none) watched at pyserial's boundary, and on MQTT."""

import errno
import os
from pathlib import Path

import pytest
import serial
from click.testing import CliRunner
from ports import Port
from waiting import until

from monitor.alarms.board import Board, Condition
from monitor.cli import main
from monitor.feeds.feed import FeedStatus
from monitor.notices.horn import SILENT_S, TEST_S, Horn, horn_of, refusal, said
from monitor.notices.relays import NO_PINS, LineRelays, TopicRelays, open_line, relays_of
from monitor.rig.faults import RigFaults
from monitor.rig.load import fairground, parse
from monitor.rig.notice_tables import Output

RIG = fairground() + "\n[notices]\n"


class Pins(serial.Serial):
    """A real port whose pins are noted where pyserial would ask the driver."""

    def __init__(self, port: str, log: list[tuple[str, bool]]) -> None:
        self.log = log
        super().__init__(exclusive=True)
        self.rts = self.dtr = False
        self.port = port
        self.open()
        self.log.clear()

    def _update_rts_state(self) -> None:
        os.fstat(self.fd)
        self.log.append(("rts", self._rts_state))

    def _update_dtr_state(self) -> None:
        os.fstat(self.fd)
        self.log.append(("dtr", self._dtr_state))


class Fake:
    """Relays that remember; `broken`: what is in the way."""

    def __init__(self) -> None:
        self.seen: list[tuple[float, bool, bool]] = []
        self.broken = None
        self.now_s = 0.0
        self.closed = False

    def put(self, on):
        self.seen.append((round(self.now_s, 2), on["horn"], on["strobe"]))
        return self.broken

    def close(self) -> None:
        self.closed = True


class Stepped:
    """The horn's own work, stepped under a clock that the test moves."""

    def __init__(self) -> None:
        self.fake, self.now_s = Fake(), 100.0
        self.board = Board()
        self.horn = Horn([self.fake], lambda: self.now_s, hire=lambda name, steps: self)
        self._steps = self.horn._steps()
        self.decides = True

    def start(self) -> None: ...
    def wake(self) -> None: ...

    def close(self, within_s: float = 1.0) -> None:
        self._steps.close()

    def runs(self, for_s: float, moving: bool = False) -> list[tuple[float, bool, bool]]:
        """What the relays heard meanwhile."""
        begun = len(self.fake.seen)
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            if self.decides:
                self.horn.hear(self.now_s, self.board, moving)
            self.fake.now_s = self.now_s
            self.now_s += next(self._steps)
        return self.fake.seen[begun:]

    def stands(self, alarm: str, subject: str = "") -> None:
        for k in range(200):
            self.board.update(k * 1.0, {(alarm, subject): Condition(True)})


def blown(seen) -> int:
    """How many blasts."""
    return sum(now and not before for (_, before, _), (_, now, _) in zip([(0, False, 0), *seen], seen, strict=False))


def test_it_is_silent_until_something_stands_and_blows_two_times_a_second_then() -> None:
    horn = Stepped()
    assert not any(on or light for _, on, light in horn.runs(30.0))
    horn.stands("dry-soon")
    assert 18 <= blown(horn.runs(10.0)) <= 21
    horn.board.acknowledge(300.0, "dry-soon")
    seen = horn.runs(10.0)
    assert blown(seen[1:]) == 0
    assert any(light for _, _, light in seen), "it still stands: that is shown by light"


def test_a_lesser_alarm_blows_otherwise_and_gives_way() -> None:
    horn = Stepped()
    horn.stands("water-low")
    assert blown(horn.runs(30.0)) in (2, 3)
    horn.stands("pump-starved", "Rides")
    assert blown(horn.runs(5.0)) >= 9


def test_on_the_road_it_says_stop_and_nothing_less() -> None:
    horn = Stepped()
    horn.stands("water-low")
    assert blown(horn.runs(60.0, moving=True)) == 0
    horn.stands("dry-soon")
    assert blown(horn.runs(10.0, moving=True)) > 15


def test_where_nothing_is_decided_any_more_it_calls() -> None:
    horn = Stepped()
    horn.runs(5.0)
    horn.decides = False
    assert blown(horn.runs(SILENT_S - 0.5)) == 0
    assert blown(horn.runs(3.0)) == 1


def test_a_stalled_daemon_does_not_stop_release() -> None:
    horn = Stepped()
    horn.stands("dry")
    horn.runs(1.0)
    horn.decides = False
    assert blown(horn.runs(60.0)) > 100


def test_a_test_blows_release_for_a_moment() -> None:
    horn = Stepped()
    horn.runs(2.0)
    horn.horn.test()
    assert blown(horn.runs(10.0)) == 2 * TEST_S


def test_the_command_asks_the_running_daemon_for_one_pattern(monkeypatch):
    told = []
    monkeypatch.setattr("monitor.commands.horning.tell", lambda *said: told.append(said))
    done = CliRunner().invoke(main, ["horn", "http://127.0.0.1:8321", "--pattern", "high"])
    assert done.exit_code == 0
    assert "One long blast" in done.output
    assert [(where, path, body["act"], body["pattern"]) for where, path, body in told] == [
        ("http://127.0.0.1:8321", "/api/act", "test-horn", "high")
    ]


@pytest.mark.parametrize(("pattern", "blasts"), [("release", 6), ("high", 1), ("medium", 2)])
def test_each_pattern_can_be_tried_by_hand(pattern, blasts):
    horn = Stepped()
    horn.runs(1.0)
    horn.horn.test(pattern)
    assert blown(horn.runs(10.0)) == blasts


def test_what_says_stop_goes_before_a_test():
    horn = Stepped()
    horn.board.update(1.0, {("dry", ""): Condition(True)})
    horn.runs(1.0)
    horn.horn.test("medium")
    assert blown(horn.runs(3.0)) >= 6


def test_relays_are_told_each_second_though_nothing_changes_and_a_broken_one_is_said() -> None:
    horn = Stepped()
    assert 8 <= len(horn.runs(10.0)) <= 12
    assert horn.horn.status().ok
    horn.fake.broken = NO_PINS
    horn.runs(3.0)
    assert horn.horn.status() == FeedStatus("horn", False, NO_PINS.why, NO_PINS.do, 0, 0)
    horn.fake.broken = None
    horn.runs(5.0)
    assert horn.horn.status().ok
    horn.horn.close()
    assert horn.fake.closed


# -- a serial line -----------------------------------------------------------------------------------------------------


def test_horn_and_strobe_on_the_two_pins_of_one_line(port: Port) -> None:
    log: list[tuple[str, bool]] = []
    outputs = {"horn": Output(serial=port.name), "strobe": Output(serial=port.name, pin="dtr")}
    (relays,) = relays_of(outputs, None, lambda name: Pins(name, log))
    assert relays.put({"horn": True, "strobe": False}) is None
    assert log == [("rts", True), ("dtr", False)]
    relays.close()
    assert log[-2:] == [("rts", False), ("dtr", False)], "it ends silent"


def test_both_pins_are_down_before_the_port_is_opened(port: Port, monkeypatch: pytest.MonkeyPatch) -> None:
    raised: list[bool] = []
    monkeypatch.setattr(serial.Serial, "_update_rts_state", lambda self: raised.append(self._rts_state))
    monkeypatch.setattr(serial.Serial, "_update_dtr_state", lambda self: raised.append(self._dtr_state))
    open_line(port.name).close()
    assert raised == [False, False]


def test_a_pty_has_no_pins_and_that_is_said(port: Port) -> None:
    assert LineRelays(port.name, {"horn": "rts"}).put({"horn": True}) == NO_PINS


def test_a_line_that_is_pulled_out_is_said_and_found_again(port: Port) -> None:
    log: list[tuple[str, bool]] = []
    relays = LineRelays(port.name, {"horn": "rts"}, lambda name: Pins(name, log))
    assert relays.put({"horn": True}) is None
    relays._line._update_rts_state = lambda: (_ for _ in ()).throw(OSError(errno.EIO, "Input/output error"))
    assert "was lost" in relays.put({"horn": True}).why
    port.pull_out()
    assert "no serial port" in relays.put({"horn": True}).why
    port.plug_in()
    assert relays.put({"horn": True}) is None
    assert log[-1] == ("rts", True)
    relays.close()


def test_the_real_thread_blows_a_real_line(port: Port) -> None:
    log: list[tuple[str, bool]] = []
    board, clock = Board(), __import__("time").monotonic
    horn = Horn([LineRelays(port.name, {"horn": "rts"}, lambda name: Pins(name, log))], clock)
    horn.start()
    until(lambda: horn.status().ok, what="the line is open")
    board.update(1.0, {("dry-soon", ""): Condition(True)})
    horn.hear(clock(), board, False)
    until(lambda: sum(on for _, on in list(log)) > 3, what="it blows")
    horn.close()
    assert log[-1] == ("rts", False)
    assert not horn.status().ok


# -- a relay at the broker ---------------------------------------------------------------------------------------------


class Out:
    def __init__(self) -> None:
        self.heard: dict[str, bytes] = {}
        self.ok = True

    def say_at(self, topic: str, said: bytes) -> None:
        self.heard[topic] = said

    def status(self) -> FeedStatus:
        return FeedStatus("notices", self.ok, "" if self.ok else "The broker is away.", "Look at it.", 0, 0)


def test_relay_nodes_hear_how_to_stand() -> None:
    out = Out()
    relays = TopicRelays(out, {"horn": Output(topic="trailer/horn"), "strobe": Output(topic="x", on="ON", off="OFF")})
    assert relays.put({"horn": True, "strobe": False}) is None
    assert out.heard == {"trailer/horn": b"1", "x": b"OFF"}
    relays.put({"horn": False, "strobe": True})
    assert out.heard == {"trailer/horn": b"0", "x": b"ON"}
    out.ok = False
    assert relays.put({}).why == "The broker is away."


# -- when there is none ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("feed", ['simulated = "fairground"', 'recorded = "day.jsonl"'])
def test_there_is_no_horn_beside_a_feed_that_is_no_real_one(feed: str) -> None:
    rig = parse(RIG + 'horn = { topic = "trailer/horn" }\n[[feed]]\n' + feed + "\n", Path("rig.toml"))
    assert len(rig.feeds) > 1, "one real feed beside it changes nothing"
    assert horn_of(rig, Out(), lambda: 0.0) is None
    assert refusal(rig) == "practice"


def test_without_one_in_the_rig_file_there_is_none() -> None:
    rig = parse(fairground())
    assert horn_of(rig, Out(), lambda: 0.0) is None
    assert refusal(rig) == "no horn"
    real = parse(RIG + 'horn = { topic = "trailer/horn" }\n')
    assert refusal(real) is None
    assert horn_of(real, Out(), lambda: 0.0) is not None


def test_each_refusal_is_said_in_both_languages() -> None:
    for why in ("no horn", "practice"):
        assert len({*said(why, "en"), *said(why, "es")}) == 4


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("horn = {}", "neither serial nor topic"),
        ('horn = { serial = "/dev/ttyUSB1", topic = "a" }', "serial and topic"),
        ('horn = { serial = "/dev/ttyUSB0" }', "a port of its own"),
        ('horn = { topic = "a/#" }', "without + and #"),
        ('horn = { topic = "holdwater/rig/state" }', "outside holdwater/"),
        ('horn = { serial = "/dev/ttyUSB1", pin = "cts" }', '"rts" or "dtr"'),
        ('horn = { topic = "a" }\nstrobe = { topic = "a" }', "another pin or topic"),
    ],
)
def test_a_wrong_one_is_a_named_fault(text: str, says: str) -> None:
    with pytest.raises(RigFaults, match=r"\[notices\]") as refused:
        parse(RIG + text)
    assert says in str(refused.value)
