"""The reference nodes under the MicroPython Unix build, against a real daemon and a real mosquitto."""

import json
import re
import subprocess
import sys
import time

import pytest
from brokers import MOSQUITTO, certificates, free_port
from daemons import command, holdwater, write_rig
from firmware_running import MICROPYTHON, NODES, firmware
from waiting import until

from monitor.wire.frames import crc16_modbus
from monitor.wire.senml import decode

sys.path.append(str(NODES))  # permit.py and node.py are plain Python too
from permit import OPENS_MS, Permit

pytestmark = pytest.mark.broker


class Ear:
    """mosquitto_sub, a client nobody here wrote."""

    def __init__(self, broker, topic, folder):
        self.file = folder / f"heard-{topic.replace('/', '-').replace('#', 'all')}"
        with self.file.open("w") as out:
            self._process = subprocess.Popen(
                ["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-t", topic, "-v"], stdout=out)

    def lines(self):
        return [line.split(" ", 1) for line in self.file.read_text().splitlines()]

    def packs(self, node):
        return [json.loads(said) for topic, said in self.lines() if topic == f"holdwater/{node}/readings"]

    def close(self):
        self._process.kill()
        self._process.wait()


@pytest.fixture
def ear(broker, tmp_path):
    ear = Ear(broker, "holdwater/#", tmp_path)
    yield ear
    ear.close()


def test_the_tank_node_feeds_the_daemon_is_missed_when_it_dies_and_comes_back(broker, tmp_path):
    rig = write_rig(tmp_path / "rig.toml", f'mqtt = "mqtt://127.0.0.1:{broker.port}"')
    with holdwater(tmp_path / "daemon", "run", rig) as daemon, firmware(tmp_path / "tank", "tank_node", "tank",
                                                                      broker.port) as node:  # fmt: skip
        node.put(level=0.612)
        node.start()
        until(daemon.volume_l, what="a volume")

        def tank():
            return next(each for each in daemon.http.get("/api/owner").json()["nodes"] if each["name"] == "tank")

        until(lambda: tank()["packs"] > 6, what="some packs")
        said = tank()
        assert (said["state"], said["will"], said["counts"]) == ("up", True, True)
        assert said["rssi"] == {"value": -61.0, "unit": "dBm"}
        assert daemon.rejects() == {}
        node.stop()
        until(lambda: tank()["state"] == "gone", what="its will is heard")
        node.start()
        until(lambda: tank()["state"] == "up" and tank()["reboots"] == 1, 20.0, "it is back, with its reboot")


def test_what_was_read_while_the_network_was_away_is_sent_with_its_age(broker, tmp_path, ear):
    with firmware(tmp_path / "tank", "tank_node", "tank", broker.port) as node:
        node.put(level=0.5, no_network=True)
        node.start()
        until((node.folder / "fed").exists, what="it goes round without a network")
        fed_s = (node.folder / "fed").stat().st_mtime
        until(lambda: (node.folder / "fed").stat().st_mtime > fed_s + 1.2, what="and has read more than once")
        node.put(no_network=False)
        first = until(lambda: ear.packs("tank"), 20.0, "a pack")[0]
    ages = [row.get("t", 0) for row in first if row["n"] == "level"]
    assert len(ages) > 2
    assert ages == sorted(ages)
    assert ages[0] < -0.9
    decoded = decode(json.dumps(first).encode())
    assert {record.name for record in decoded.records} == {"tank/level", "tank/seq", "tank/uptime", "tank/rssi"}


def test_a_lost_broker_is_found_again(broker, tmp_path):
    with firmware(tmp_path / "tank", "tank_node", "tank", broker.port) as node:
        node.put(level=0.5)
        node.start()
        first = Ear(broker, "holdwater/#", tmp_path)
        until(lambda: first.packs("tank"))
        first.close()
        broker.kill()
        until(lambda: node.alive())
        broker.start()
        second = Ear(broker, "holdwater/#", tmp_path)
        packs = until(lambda: second.packs("tank"), 20.0, "packs again")
        second.close()
        assert node.alive()
        assert max(row["v"] for pack in packs for row in pack if row["n"] == "seq") > 1


def test_a_total_survives_a_reboot_and_counts_a_counter_that_rolls_over(broker, tmp_path, ear):
    def totals():
        return [row["v"] for pack in ear.packs("inlet") for row in pack if row["n"] == "total"]

    with firmware(tmp_path / "inlet", "inlet_node", "inlet", broker.port) as node:
        node.put(pulses=65_000)
        node.start()
        until(totals)
        node.put(pulses=464)  # 1,000 pulses of 0.1 l across 2^16
        until(lambda: totals()[-1] == 100.0, what="100 l")
        until((node.folder / "total").exists, what="it is stored")
        until(lambda: float((node.folder / "total").read_text()) == 100.0)
        node.stop()
        node.start()
        before = len(totals())
        until(lambda: len(totals()) > before)
        assert totals()[-1] == 100.0
        node.put(pulses=564)
        until(lambda: totals()[-1] == 110.0, what="it counts on")


def test_a_pump_node_speaks_over_a_serial_line_with_its_check(port, tmp_path):
    rig = write_rig(tmp_path / "rig.toml", f'serial = "{port.name}"')
    folder = tmp_path / "daemon"
    with holdwater(folder, "run", rig) as daemon, firmware(tmp_path / "pump", "pump_node", "rides") as node:
        node.put(running=True, drawing=False)
        node.start(port.writer()["stdout"])

        def pump():
            return daemon.state()["pumps"][0]["state"]

        until(lambda: pump() == "bypass", 20.0, "on bypass")
        node.put(drawing=True)
        until(lambda: pump() == "draws", 20.0, "draws")
        assert daemon.rejects() == {}


def test_the_nodes_check_is_the_wire_formats():
    text = b"123456789"
    code = f"import sys; sys.path.insert(0, {str(NODES)!r}); import node; print(node.crc16({text!r}))"
    said = subprocess.run([MICROPYTHON, "-c", code], capture_output=True, text=True, check=True)
    assert int(said.stdout) == crc16_modbus(text) == 0x4B37


# -- the relay --------------------------------------------------------------------------------------------------------


def test_the_relay_opens_within_three_seconds_and_only_a_person_closes_it_again():
    permit = Permit()
    permit.reset(0)
    assert not permit.look(0)  # no permit yet
    permit.heartbeat(b"1", False, 0)
    assert not permit.look(10)  # heard, and still open: nobody has reset it
    permit.reset(20)
    for second in range(1, 6):
        permit.heartbeat(b"%d" % (second + 1), False, 1000 * second)
        assert permit.look(1000 * second)
    assert permit.look(5000 + OPENS_MS - 1)
    assert not permit.look(5000 + OPENS_MS)
    assert OPENS_MS < 3000
    permit.heartbeat(b"7", False, 20_000)
    assert not permit.look(20_001)  # heartbeats alone never close it
    permit.reset(20_002)
    assert permit.look(20_003)


@pytest.mark.parametrize(
    ("payload", "retained"),
    [(b"3", False), (b"", False), (b"-4", False), (b"go", False), (b"9", True), (b"1" * 30, False)],
)
def test_what_is_no_new_heartbeat_holds_nothing_closed(payload, retained):
    permit = Permit()
    permit.heartbeat(b"3", False, 0)
    permit.reset(1)
    for at in range(500, 6000, 500):
        permit.heartbeat(payload, retained, at)
        permit.look(at)
    assert not permit.closed


def test_a_button_that_is_stuck_resets_nothing():
    permit = Permit()
    permit.heartbeat(b"1", False, 0)
    permit.button(True, 10)  # pressed from the start
    assert not permit.look(11)
    permit.button(False, 20)
    permit.button(True, 30)
    assert permit.look(31)
    permit.look(5000)
    permit.heartbeat(b"2", False, 5001)
    permit.button(True, 5002)  # still held
    assert not permit.look(5003)


def test_a_lost_line_or_a_daemon_begun_anew_opens_it_at_once():
    permit = Permit()
    for end in (permit.lost, lambda: permit.heartbeat(b"5", False, 30)):
        permit.heartbeat(b"100", False, 10)
        permit.heartbeat(b"101", False, 11)
        permit.reset(20)
        assert permit.look(25)
        end()
        assert not permit.look(31)
        permit._count = None


def test_the_relay_node_by_the_clock_of_the_disk(broker, tmp_path, ear):
    """The last heartbeat's and the opening's times are those of two files; nothing here waits for a guessed time."""
    with firmware(tmp_path / "relay", "relay_node", "gate", broker.port) as node:
        node.start()
        until(lambda: ["holdwater/gate/alive", "up"] in ear.lines(), what="it is up")
        assert node.relay == "open"
        beats = iter(range(1, 10_000))

        def beat():
            broker.publish("holdwater/rig/permit", str(next(beats)))
            (tmp_path / "beat").touch()
            return node.relay

        def press():
            node.put(reset=not node.inputs.get("reset"))
            return beat()

        until(lambda: press() == "closed", 20.0, "closed by a person while the permit is heard")
        node.put(reset=False)
        until(lambda: node.relay == "open", 10.0, "open")
        opened_s = (node.folder / "relay").stat().st_mtime - (tmp_path / "beat").stat().st_mtime
        assert opened_s <= 3.0
        heard = len(ear.packs("gate"))
        until(lambda: beat() == "open" and len(ear.packs("gate")) > heard + 2, 20.0, "it speaks on, and stays open")
        assert not any(row.get("vb") for pack in ear.packs("gate")[heard + 1 :] for row in pack)


def test_the_relay_follows_the_daemons_own_permit_and_a_person_alone_closes_it_again(broker, tmp_path, ear):
    """The daemon is killed: within three seconds the relay is open, and a daemon begun anew closes nothing."""
    rig = write_rig(tmp_path / "rig.toml", f'mqtt = "mqtt://127.0.0.1:{broker.port}"', more="[notices]\npermit = true")
    began_s = time.monotonic()

    def beats():
        return sum(topic == "holdwater/rig/permit" for topic, _ in ear.lines())

    def permitted(daemon):
        """At the rig, triggers shut: the permit is reset on the page."""
        daemon.http.post("/api/act", json={"act": "reset-permit"})
        return daemon.state()["permit"]["on"]

    with firmware(tmp_path / "tank", "tank_node", "tank", broker.port) as tank, \
         firmware(tmp_path / "rides", "pump_node", "rides", broker.port) as rides, \
         firmware(tmp_path / "gate", "relay_node", "gate", broker.port) as gate:  # fmt: skip
        rides.put(running=False, drawing=False)
        for node in (tank, rides, gate):
            node.start()

        def stands():
            """A level that trembles as a real one does."""
            tank.put(level=0.5 + 0.001 * (int(4 * (time.monotonic() - began_s)) % 3))

        def press():
            stands()
            gate.put(reset=not gate.inputs.get("reset"))
            return gate.relay

        with holdwater(tmp_path / "daemon", "run", rig) as daemon:
            until(lambda: (stands(), permitted(daemon))[1], 40.0, "the permit is on")
            assert gate.relay == "open", "no permit closes it by itself"
            until(lambda: press() == "closed", 20.0, "a person has closed it")
            gate.put(reset=False)
            heard = beats()
            until(lambda: (stands(), beats() > heard + 3)[1], 20.0, "heartbeats")
            assert gate.relay == "closed"
            killed_s = time.time()
            daemon.kill()
        until(lambda: gate.relay == "open", 10.0, "open")
        assert (gate.folder / "relay").stat().st_mtime - killed_s <= 3.0
        heard = beats()
        with holdwater(tmp_path / "daemon", "run", rig) as daemon:
            until(lambda: (stands(), daemon.volume_l())[1], 40.0, "it is back")
            assert daemon.state()["permit"] == {"on": False, "why": "start"}
            packs = len(ear.packs("gate"))
            until(lambda: press() == "open" and len(ear.packs("gate")) > packs + 3, 20.0, "pressed in vain")
            assert beats() == heard, "not one heartbeat until a person resets the permit"
            until(lambda: (stands(), permitted(daemon))[1], 40.0, "the permit is on again")
            assert gate.relay == "open"
            until(lambda: press() == "closed", 20.0, "both reset by a person")


# -- the broker as the command sets it up -----------------------------------------------------------------------------


def test_a_node_and_the_daemon_meet_at_the_broker_that_the_command_sets_up(tmp_path):
    """TLS, a password for each, and a node that trusts somebody else stays away."""
    folder, port = tmp_path / "broker", free_port()
    plain = write_rig(tmp_path / "plain.toml", f'mqtt = "mqtt://127.0.0.1:{port}"')
    told = command("broker", plain, folder, "--into", str(folder), "--port", str(port))
    assert told.returncode == 0, told.stderr
    settings = folder / "holdwater.conf"
    settings.write_text(settings.read_text("utf-8") + "user root\n", "utf-8")
    line = re.findall(r"^In the rig file: (.*)$", told.stdout, re.MULTILINE)[0]
    feed = re.sub(r", (username|password_file|ca) =", r"\n\1 =", line)
    rig = write_rig(tmp_path / "rig.toml", feed)
    password = (folder / "tank.password").read_text("utf-8").strip()
    mosquitto = subprocess.Popen([MOSQUITTO, "-c", settings], stderr=subprocess.DEVNULL)
    other = certificates_of(tmp_path)
    at = {"port": port, "host": "localhost", "password": password}
    try:
        with holdwater(tmp_path / "daemon", "run", rig) as daemon, \
             firmware(tmp_path / "thief", "tank_node", "tank", **at, trust=other) as misled, \
             firmware(tmp_path / "tank", "tank_node", "tank", **at, trust=folder / "trust.der") as node:  # fmt: skip
            misled.put(level=0.9)
            misled.start()
            until((misled.folder / "fed").exists, 20.0, "it goes round")
            fed_s = (misled.folder / "fed").stat().st_mtime
            until(lambda: (misled.folder / "fed").stat().st_mtime > fed_s + 2.0, 20.0, "and has tried more than once")
            assert daemon.volume_l() is None
            misled.stop()
            node.put(level=0.6)
            node.start()
            until(daemon.volume_l, 30.0, "a volume")
            assert daemon.rejects() == {}
    finally:
        mosquitto.kill()
        mosquitto.wait()


def certificates_of(folder):
    """Somebody else's authority, in DER."""
    other = folder / "other"
    other.mkdir()
    certificates(other)
    words = ["openssl", "x509", "-in", "ca.crt", "-outform", "der", "-out", "ca.der"]
    subprocess.run(words, cwd=other, check=True, capture_output=True)
    return other / "ca.der"
