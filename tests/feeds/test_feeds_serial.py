"""The serial feed on real pseudo-terminals."""

import errno
import subprocess
import sys
import termios

import pytest
import serial
from ports import Port
from running import Running
from waiting import until

from monitor.feeds import serial_port
from monitor.feeds.serial_port import SerialFeed, trouble_with
from monitor.readings import Pack, Record, Reject
from monitor.wire.frames import crc16_modbus

PACK = b'[{"bn":"tank/","n":"level","u":"m","v":0.612}]'
LEVEL = (Record("tank/level", "m", 0.612),)


@pytest.fixture
def run():
    running = []

    def start(name: str, baud: int = 115_200) -> Running:
        running.append(Running(SerialFeed("serial 1", name, baud)))
        return running[-1]

    yield start
    for each in running:
        each.feed.close()


def test_lines_written_by_another_process_arrive(port, run):
    feed = run(port.name).ready()
    writing = f"import os; os.write({port._master}, {PACK + b'*%04X' % crc16_modbus(PACK) + bytes([13, 10])!r})"
    subprocess.run([sys.executable, "-c", writing], pass_fds=[port._master], check=True, timeout=20)
    assert feed.wait_for(Pack)[0][1:] == ("serial 1", "tank", LEVEL, False)


def test_a_line_that_comes_in_halves_is_read_once_it_is_whole(port, run):
    feed = run(port.name).ready()
    port.send(PACK[:10])
    until(lambda: feed.feed._worker.is_alive())
    port.send(PACK[10:] + b"\n")
    assert feed.wait_for(Pack)[0].records == LEVEL
    assert feed.feed.status()[4:] == (1, 0)


def test_one_line_may_speak_for_several_nodes(port, run):
    feed = run(port.name).ready()
    port.send(b'[{"n":"tank/level","u":"m","v":0.612},{"n":"inlet/total","u":"l","v":7},{"n":"loose","v":1}]\n')
    packs = feed.wait_for(Pack, 3)
    assert [(pack.node, pack.records) for pack in packs] == [
        ("tank", LEVEL),
        ("inlet", (Record("inlet/total", "l", 7.0),)),
        ("serial 1", (Record("loose", "", 1.0),)),
    ]


BAD = [
    ("not-json", b"\x00\x01garble"),
    ("not-json", b"garble" + PACK),
    ("not-json", PACK + b"garble"),
    ("not-json", PACK[:20]),
    ("not-json", PACK[20:]),
    ("not-utf8", PACK.replace(b"tank", b"t\xffnk")),
    ("crc", PACK + b"*0000"),
    ("too-long", b"x" * 1_000_000),
    ("not-a-number", PACK.replace(b"0.612", b"NaN")),
    ("not-a-number", PACK.replace(b"0.612", b"Infinity")),
    ("not-a-number", PACK.replace(b"0.612", b'"0.612"')),
    ("text-value", b'[{"n":"tank/level","vs":"0.6"}]'),
    ("rig-name", b'[{"n":"rig/level","u":"m","v":1}]'),
]


def test_each_bad_line_is_a_named_reject_and_the_next_good_one_is_read(port, run):
    feed = run(port.name).ready()
    for count, (kind, line) in enumerate(BAD, 1):
        port.send(line + b"\n" + PACK + b"\n")
        assert feed.wait_for(Pack, count)[-1].records == LEVEL
        rejects = feed.wait_for(Reject, count)
        assert [reject.kind for reject in rejects][-1] == kind
        assert rejects[-1].why.endswith(".") or rejects[-1].why.endswith("?")
    assert feed.feed.status()[4:] == (len(BAD), len(BAD))


def test_a_port_that_is_pulled_out_and_put_back_is_read_again(port, run):
    feed = run(port.name).ready()
    port.send(PACK + b"\n" + PACK[:10])
    feed.wait_for(Pack)
    port.pull_out()
    assert "tried again by itself" in feed.why("There is no serial port")
    assert feed.wait_for(Reject)[0].kind in ("half-line", "not-json")
    port.plug_in()
    feed.ready()
    port.send(PACK + b"\n")
    feed.wait_for(Pack, 2)


def test_a_port_that_is_not_there_yet_is_opened_when_it_comes(tmp_path, run):
    feed = run(str(tmp_path / "ttyLATER"))
    assert "Plug it in" in feed.why("There is no serial port")
    port = Port(tmp_path / "ttyLATER")
    feed.ready()
    port.send(PACK + b"\n")
    feed.wait_for(Pack)
    port.pull_out()


def test_a_port_held_by_another_program_is_said(port, run):
    with serial.Serial(port.name, exclusive=True):
        assert "End that program" in run(port.name).why("Another program holds")


def test_something_that_is_no_port_and_a_speed_no_port_has(tmp_path, port, run):
    (tmp_path / "file").write_text("no port")
    run(str(tmp_path / "file")).why("can't be opened as a serial port")
    assert '"baud"' in run(port.name, -7).why("can't run at that speed")


# the three ways in which pyserial 3.5 shows an unplugged port, and what a port closed under a read raises
UNPLUGGED = [
    ("read", serial.SerialException("device reports readiness to read but returned no data")),
    ("in_waiting", OSError(5, "Input/output error")),
    ("read", termios.error(5, "Input/output error")),
    ("read", TypeError("'NoneType' object cannot be interpreted as an integer")),
]


@pytest.mark.parametrize(("where", "fault"), UNPLUGGED)
def test_every_way_of_losing_the_port_ends_in_opening_it_again(where, fault, port, run, monkeypatch):
    faults = [fault]

    class Failing(serial.Serial):
        @property
        def in_waiting(self):
            if where == "in_waiting" and faults:
                raise faults.pop()
            return super().in_waiting

        def read(self, size=1):
            if where == "read" and faults:
                raise faults.pop()
            return super().read(size)

    monkeypatch.setattr(serial_port.serial, "Serial", Failing)
    feed = run(port.name)
    feed.why("was lost")
    feed.ready()
    port.send(PACK + b"\n")
    feed.wait_for(Pack)


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (PermissionError(errno.EACCES, "Permission denied"), "may not open"),
        (serial.SerialException(errno.ENOENT, "could not open port"), "no serial port"),
        (ValueError("Not a valid baudrate: -1"), "speed"),
        (OSError(5, "Input/output error"), "was lost"),
    ],
)
def test_each_fault_is_told_with_what_to_do(fault, words):
    trouble = trouble_with("/dev/ttyX", fault)
    assert words in trouble.why
    assert "/dev/ttyX" in trouble.why
    assert trouble.do.endswith(".")


def test_closing_is_quick_while_waiting_for_bytes_and_while_waiting_for_a_port(port, run, tmp_path):
    for feed in (run(port.name).ready(), run(str(tmp_path / "none"))):
        feed.feed.close()
        until(lambda feed=feed: not feed.feed._worker.is_alive(), 2.0)
