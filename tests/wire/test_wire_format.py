"""The published wire format: its examples are run, and it names every reject there is."""

import re
from pathlib import Path

import pytest

from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.feeds.mqtt import MqttFeed
from monitor.readings import Alive, Event, Pack, Record, Reject
from monitor.rig.feed_tables import Broker
from monitor.wire.frames import Frames, Garbled
from monitor.wire.rejected import Rejected
from monitor.wire.senml import decode

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "firmware_notes" / "wire_format.md").read_text("utf-8")


class Stopped:
    speed = 1.0

    def now(self) -> float:
        return 0.0


class Message:
    retain = False

    def __init__(self, topic: str, payload: str) -> None:
        self.topic = topic
        self.payload = payload.encode()


def rows(table: str) -> list[list[str]]:
    """The cells of a table of examples, without their back quotes."""
    body = TEXT.split(f"<!-- run: {table} -->\n")[1].split("\n\n")[0].splitlines()[2:]
    return [[cell.strip().removeprefix("`").removesuffix("`") for cell in row.strip("|").split(" | ")] for row in body]


def told(record: Record) -> str:
    value = str(record.value).lower() if isinstance(record.value, bool) else f"{record.value:g} {record.unit}"
    total = f", sum {record.total:g}" if record.total is not None else ""
    stamp = f", at {record.stamp:g}" if record.stamp else ""
    every = f", every {record.every:g} s" if record.every else ""
    return f"{record.name} = {value}{total}{stamp}{every}"


def heard(events: list[Event]) -> str:
    said = []
    for event in events:
        if isinstance(event, Pack):
            said += map(told, event.records)
        elif isinstance(event, Alive):
            said.append(f"{event.node} is {'up' if event.up else 'gone'}")
        else:
            assert isinstance(event, Reject)
            said.append(f"reject `{event.kind}")
    return "; ".join(said)


@pytest.mark.parametrize(("sent", "expected"), rows("pack"))
def test_the_examples_of_packs(sent, expected):
    try:
        read = "; ".join(map(told, decode(sent.encode()).records)) or "nothing"
    except Rejected as refused:
        read = f"reject `{refused.kind}"
    assert read == expected


@pytest.mark.parametrize(("sent", "expected"), rows("line"))
def test_the_examples_of_lines(sent, expected):
    intake, inbox = Intake("serial 1"), Inbox(Stopped())
    intake.open(inbox)
    [line] = Frames().take(sent.encode() + b"\n")
    if isinstance(line, Garbled):
        intake.reject(line.kind, line.why, line.raw)
    else:
        intake.line(line)
    assert heard(inbox.drain()) == expected


@pytest.mark.parametrize(("topic", "payload", "expected"), rows("message"))
def test_the_examples_of_messages(topic, payload, expected):
    feed, inbox = MqttFeed("mqtt 1", Broker(mqtt="mqtt://127.0.0.1")), Inbox(Stopped())
    feed._intake.open(inbox)
    feed.hear(Message(topic, payload))
    assert heard(inbox.drain()) == expected


def test_every_reject_there_is_stands_in_the_table_and_no_other():
    raised = r'(?:Rejected|Garbled|reject|_report)\(\s*"([a-z0-9-]+)"|or "(unnamed)"'
    sources = [*(ROOT / "monitor/wire").glob("*.py"), *(ROOT / "monitor/feeds").glob("*.py")]
    kinds = {one or other for file in sources for one, other in re.findall(raised, file.read_text("utf-8"))}
    listed = set(re.findall(r"^\| `([a-z0-9-]+)` \|", TEXT.split("## Rejects")[1], re.MULTILINE))
    assert listed == kinds
    assert len(kinds) > 20
