"""The MQTT feed against a real mosquitto."""

import os
import signal
import socket
import subprocess
import threading

import pytest
from brokers import certificates, free_port, mosquitto
from running import Running
from waiting import until

from monitor.feeds.broker import client_of
from monitor.feeds.mqtt import MqttFeed, apart, subscriptions
from monitor.feeds.strangers import BURST, PER_S, Strangers
from monitor.readings import Alive, Pack, Record, Reject
from monitor.rig.feed_tables import Broker

READINGS, ALIVE = "holdwater/tank/readings", "holdwater/tank/alive"
LEVEL = (Record("tank/level", "m", 0.612),)
PACK = b'[{"bn":"tank/","n":"level","u":"m","v":0.612}]'

pytestmark = pytest.mark.broker


@pytest.fixture
def run():
    running = []

    def start(at: Broker, topics: tuple[str, ...] = ("holdwater/+/readings",)) -> Running:
        running.append(Running(MqttFeed("mqtt 1", at, topics)))
        return running[-1]

    yield start
    for each in running:
        each.feed.close()


def test_readings_arrive_and_what_was_retained_is_marked(broker, run):
    broker.publish(READINGS, PACK, "-r")
    feed = run(Broker(mqtt=broker.url))
    assert feed.wait_for(Pack)[0].retained
    broker.publish(READINGS, PACK)
    fresh = feed.wait_for(Pack, 2)[1]
    assert fresh == Pack(fresh.at, "mqtt 1", "tank", LEVEL, False)


def test_a_node_s_word_of_life_and_the_will_it_leaves(broker, run):
    broker.publish(ALIVE, "up", "-r")
    feed = run(Broker(mqtt=broker.url))
    assert feed.wait_for(Alive)[0][2:] == ("tank", True, True)
    will = ["--will-topic", ALIVE, "--will-payload", "gone", "--will-retain", "--will-qos", "1"]
    node = subprocess.Popen([*broker.publisher(READINGS), *will, "-l"], stdin=subprocess.PIPE)
    node.stdin.write(PACK + b"\n")
    node.stdin.flush()
    feed.wait_for(Pack)
    os.kill(node.pid, signal.SIGKILL)
    node.wait()
    assert feed.wait_for(Alive, 2)[1][2:] == ("tank", False, False)


def test_a_broker_that_is_killed_and_comes_back_is_found_within_ten_seconds(broker, run):
    feed = run(Broker(mqtt=broker.url)).ready()
    broker.publish(READINGS, PACK)
    feed.wait_for(Pack)
    broker.kill()
    assert "tried again by itself" in feed.why("lost")
    feed.why("unreachable: nothing listens there")
    broker.start()
    until(lambda: feed.feed.status().ok, 10.0)
    broker.publish(READINGS, PACK)
    feed.wait_for(Pack, 2)


def test_a_broker_that_stops_answering_is_noticed(broker, run, monkeypatch):
    monkeypatch.setattr("monitor.feeds.connection.KEEP_ALIVE_S", 1)
    feed = run(Broker(mqtt=broker.url)).ready()
    broker._process.send_signal(signal.SIGSTOP)
    feed.why("lost")
    broker._process.send_signal(signal.SIGCONT)
    until(lambda: feed.feed.status().ok, 10.0)


def test_a_wrong_password_is_said_and_may_be_put_right_without_a_restart(tmp_path, run):
    file = tmp_path / "password"
    file.write_text("wrong\n")
    with mosquitto(tmp_path, user=("rig", "drop by drop")) as broker:
        feed = run(Broker(mqtt=broker.url, username="rig", password_file=file))
        assert "password_file" in feed.why("refused the user name or the password")
        file.write_text("drop by drop\n")
        feed.ready()
        broker.publish(READINGS, PACK)
        feed.wait_for(Pack)


def test_a_missing_or_empty_password_file_is_said(tmp_path, run):
    with mosquitto(tmp_path, user=("rig", "drop by drop")) as broker:
        run(Broker(mqtt=broker.url, username="rig", password_file=tmp_path / "none")).why("none can't be read")
        (tmp_path / "empty").write_text("")
        run(Broker(mqtt=broker.url, username="rig", password_file=tmp_path / "empty")).why("refused the user name")
        run(Broker(mqtt=broker.url)).why("refused the user name")


def test_tls_is_spoken_and_a_certificate_nobody_trusts_is_refused(tmp_path, run):
    with mosquitto(tmp_path, tls=certificates(tmp_path)) as broker:
        assert '"ca"' in run(Broker(mqtt=broker.url)).why("not trusted")
        run(Broker(mqtt=f"mqtt://localhost:{broker.port}")).why("ended the connection before it was accepted")
        run(Broker(mqtt=broker.url, ca=tmp_path / "nowhere.crt")).why("can't be read")
        feed = run(Broker(mqtt=broker.url, ca=tmp_path / "ca.crt")).ready()
        broker.publish(READINGS, PACK)
        feed.wait_for(Pack)


def test_plain_broker_where_tls_was_wanted(broker, run):
    assert "TLS" in run(Broker(mqtt=f"mqtts://localhost:{broker.port}")).why("ended the connection before")


def test_nobody_there(run):
    assert "Start the broker" in run(Broker(mqtt=f"mqtt://127.0.0.1:{free_port()}")).why("nothing listens there")
    run(Broker(mqtt="mqtt://no-such-host.invalid")).why("nobody knows a host no-such-host.invalid")
    run(Broker(mqtt=f"mqtt://{'x' * 80}.invalid")).why("nobody knows a host")


@pytest.mark.parametrize("answer", [b"HTTP/1.1 400 Bad Request\r\n\r\n", b"", b"\x20\x02\x00\x03", os.urandom(500)])
def test_something_else_listens_there(answer, run):
    server = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        while True:
            try:
                caller, _ = server.accept()
            except OSError:
                return
            with caller:
                caller.recv(1000)
                caller.sendall(answer)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    feed = run(Broker(mqtt=f"mqtt://127.0.0.1:{server.getsockname()[1]}"))
    until(lambda: "being called" not in feed.feed.status().why)
    assert not feed.feed.status().ok
    assert feed.feed.connections[0].worker.is_alive()
    server.shutdown(socket.SHUT_RDWR)
    server.close()


BAD = [
    ("foreign-name", READINGS, b'[{"n":"inlet/total","u":"l","v":1}]'),
    ("foreign-name", READINGS, b'[{"n":"tankard/level","u":"m","v":1}]'),
    ("rig-name", "holdwater/rig/readings", b'[{"n":"rig/level","u":"m","v":1}]'),
    ("not-json", READINGS, b"level=0.6"),
    ("not-utf8", READINGS, b'[{"n":"tank/\xff","v":1}]'),
    ("not-a-number", READINGS, b'[{"n":"tank/level","v":NaN}]'),
    ("not-a-number", READINGS, b'[{"n":"tank/level","v":-Infinity}]'),
    ("not-a-number", READINGS, b'[{"n":"tank/level","v":"0.6"}]'),
    ("text-value", READINGS, b'[{"n":"tank/level","vs":"0.6"}]'),
    ("not-json", READINGS, b""),
    ("too-long", READINGS, b"x" * 1_000_000),
    ("too-deep", READINGS, b'[{"n":"tank/level","v":1,"x":' + b"[" * 50_000),
    ("alive", ALIVE, b"fine"),
    ("rig-name", "holdwater/rig/readings", b""),
]


def test_each_bad_message_is_a_named_reject_and_the_next_good_one_is_read(broker, run):
    feed = run(Broker(mqtt=broker.url)).ready()
    for count, (kind, topic, payload) in enumerate(BAD, 1):
        broker.publish(topic, payload)
        reject = feed.wait_for(Reject, count)[-1]
        assert (reject.kind, reject.feed) == (kind, "mqtt 1")
        assert reject.why.endswith(".")
        assert len(reject.raw) <= 700
    broker.publish(READINGS, PACK)
    assert feed.wait_for(Pack)[-1].records == LEVEL
    assert feed.feed.status()[4:] == (1, len(BAD))


def test_only_the_foreign_readings_of_a_pack_are_rejected(broker, run):
    feed = run(Broker(mqtt=broker.url)).ready()
    broker.publish(READINGS, b'[{"n":"tank/level","u":"m","v":0.612},{"n":"inlet/total","u":"l","v":1}]')
    assert feed.wait_for(Pack)[0].records == LEVEL
    assert "inlet/total" in feed.wait_for(Reject)[0].why


def test_the_daemon_s_own_notices_are_passed_over_and_a_cleared_will_is_no_news(broker, run):
    feed = run(Broker(mqtt=broker.url), ("holdwater/#",)).ready()
    broker.publish("holdwater/rig/alive", "gone")
    broker.publish("holdwater/rig/state", "{}")
    broker.publish("holdwater/rig/alarm/dry", "{}")
    broker.publish(ALIVE, "")
    broker.publish("holdwater/tank/shade", "7")
    broker.publish(READINGS, PACK)
    feed.wait_for(Pack)
    assert [reject.kind for reject in feed.arrived(Reject)] == ["foreign-topic"]
    assert feed.arrived(Alive) == []


def test_a_topic_that_is_no_text_does_not_end_the_connection(broker, run):
    class NoText:
        payload = b"x"
        retain = False

        @property
        def topic(self):
            return b"\xff".decode()

    feed = run(Broker(mqtt=broker.url)).ready()
    feed.feed.hear(NoText())
    assert feed.wait_for(Reject)[0].kind == "foreign-topic"


def test_a_topic_the_broker_denies_is_said(broker, run):
    class Denied:
        is_failure = True

    feed = run(Broker(mqtt=broker.url)).ready()
    feed.feed.connections[0]._use._on_subscribe(None, None, 1, [Denied()], None)
    assert "holdwater/+/readings" in feed.feed.status().why


def test_beside_readings_the_word_of_life_is_subscribed():
    assert subscriptions(("holdwater/+/readings", "a/tank/readings", "b/#")) == (
        "holdwater/+/readings", "a/tank/readings", "b/#", "holdwater/+/alive", "a/tank/alive",
    )  # fmt: skip


def test_small_packs_leave_at_once_and_no_two_clients_share_a_name(broker):
    clients = [client_of(Broker(mqtt=broker.url)) for _ in range(2)]
    assert clients[0]._client_id != clients[1]._client_id
    clients[0].connect("localhost", broker.port)
    assert clients[0].socket().getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) == 1
    clients[0].disconnect()


def test_a_flood_is_bounded_and_the_newest_readings_are_kept(broker, run):
    feed = run(Broker(mqtt=broker.url)).ready()
    feed.inbox._longest = 100
    lines = b"".join(b'[{"bn":"tank/","n":"seq","v":%d}]\n' % i for i in range(1000))
    subprocess.run([*broker.publisher(READINGS), "-l"], input=lines, check=True, timeout=30)
    until(lambda: feed.feed.status().packs == 1000)
    kept = feed.arrived(Pack)
    assert [pack.records[0].value for pack in kept] == list(map(float, range(900, 1000)))
    assert feed.inbox.dropped == 900


def test_strangers_are_held_to_a_bound_and_counted_and_the_rigs_own_nodes_never():
    now = 0.0
    strangers = Strangers({"tank"}, lambda: now)
    heard = [strangers.may_speak(f"n{n}") for n in range(2 * int(BURST))]
    assert heard == [True] * int(BURST) + [False] * int(BURST)
    assert all(strangers.may_speak("tank") for _ in range(2 * int(BURST)))
    now = 1.0
    assert sum(strangers.may_speak("n1") for _ in range(1000)) == PER_S


def test_the_rigs_own_nodes_are_heard_by_their_own_topics_and_all_others_aside():
    asked = ("holdwater/+/readings", "holdwater/+/alive", "a/+/+/readings", "b/#", "c/shade")
    assert apart(asked, {"tank", "inlet"}) == (
        (
            "holdwater/inlet/readings", "holdwater/tank/readings", "holdwater/inlet/alive", "holdwater/tank/alive",
            "a/+/inlet/readings", "a/+/tank/readings", "b/#", "c/shade",
        ),
        asked[:3],
    )  # fmt: skip
    assert apart(asked, ()) == (asked, ())
    assert apart(("b/#",), {"tank"}) == (("b/#",), ())
    assert Strangers({"tank", "+", "#"}).known == {"tank"}


def test_the_rigs_own_nodes_do_not_queue_behind_strangers_and_are_heard_once(broker):
    """The second connection is held up altogether, as a flood would: the tank is heard none the later."""
    feed = Running(MqttFeed("mqtt 1", Broker(mqtt=broker.url), strangers=Strangers({"tank"})))
    own, others = feed.feed.connections
    try:
        broker.publish(READINGS, PACK, "-r")
        broker.publish("holdwater/stranger/readings", b'[{"bn":"stranger/","n":"level","v":1}]', "-r")
        until(lambda: {pack.node for pack in feed.arrived(Pack)} == {"tank", "stranger"})
        others.close()
        broker.publish(READINGS, PACK)
        until(lambda: [(pack.node, pack.retained) for pack in feed.arrived(Pack)][2:] == [("tank", False)])
        assert feed.feed.status().ok
    finally:
        feed.feed.close()
    assert not own.worker.is_alive()


def test_what_strangers_say_too_much_is_counted_and_not_looked_at(broker):
    feed = Running(MqttFeed("mqtt 1", Broker(mqtt=broker.url), strangers=Strangers({"tank"}, lambda: 0.0))).ready()
    try:
        broker.publish("holdwater/stranger/alive", "up", "-r")
        feed.wait_for(Alive, within_s=30.0)  # the second connection stands, and one of the bucket is gone
        more = int(BURST) + 199
        subprocess.run([*broker.publisher("holdwater/stranger/readings"), "-l"], input=b"x\n" * more, check=True)
        broker.publish(READINGS, PACK)
        feed.wait_for(Pack, within_s=30.0)
        until(lambda: feed.inbox.dropped == 200, 30.0)
        assert len(feed.arrived(Reject)) == BURST - 1
    finally:
        feed.feed.close()
