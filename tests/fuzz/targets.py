"""What is fed with garbage, and what it may do with it: give an answer or a named refusal, and nothing else.

Each target takes bytes from good inputs, spoiled by a seeded generator, so that the number of a case brings it back.
"""

import json
import math
import random
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import schemathesis
from hypothesis import HealthCheck, given, settings

from monitor.core import Core
from monitor.core.standing import standing
from monitor.daemon import Daemon
from monitor.pages.app import create_app
from monitor.pages.guard import HEADERS, Guard
from monitor.pages.live import Live
from monitor.readings import Alive, Pack
from monitor.rig.describe import describe
from monitor.rig.faults import RigFaults
from monitor.rig.load import fairground, parse
from monitor.wire.frames import Frames, Garbled, crc16_modbus
from monitor.wire.rejected import Rejected
from monitor.wire.senml import decode

LONGEST_CALL = 2000
made: Counter[str] = Counter()
"""How many calls the page was asked, by the status it answered with."""

PACKS = (
    b'[{"bn":"tank/","n":"level","u":"m","v":0.612},{"n":"seq","u":"count","v":7}]',
    b'[{"bn":"inlet/","bt":1.3e9,"bver":10,"n":"total","u":"m3","v":1.25,"t":-3,"ut":5},{"n":"uptime","u":"s","v":9}]',
    b'[{"bn":"rides/","n":"running","vb":true},{"n":"drawing","vb":false},{"n":"note","vs":"<b>x</b>"}]',
    b'[{"n":"tank/level","u":"mm","v":612,"s":12.5}]',
)
TOKENS = (
    b"1e308", b"-1e308", b"1e-320", b"NaN", b"Infinity", b"null", b"{}", b"[", b"]" * 9, b"[" * 2000,
    b'"bn":', b'"v":',
    b'"t":', b"\\u0000", b"\xff\xfe", b"<script>alert(1)</script>", b"../../etc/passwd", b"%s%n", b"\r\n", b"\n",
    b"*0000",
    b"9" * 400,
    "é\u202e\u2028".encode(), b'"level"', b"tank/", b"rig/", b"'; drop table run; --", b"0x7f", b"= {", b"\x00",
)  # fmt: skip


def spoiled(good: bytes, chance: random.Random) -> bytes:
    """A good input after one to six hands have been at it."""
    data = bytearray(good)
    for _ in range(chance.randint(1, 6)):
        at, upto = sorted((chance.randint(0, len(data)), chance.randint(0, len(data))))
        match chance.randrange(6):
            case 0 if data:
                data[min(at, len(data) - 1)] ^= 1 << chance.randrange(8)
            case 1:
                del data[at : min(upto, at + 40)]
            case 2:
                data[at:at] = chance.choice(TOKENS)
            case 3:
                data[at:at] = data[at : min(upto, at + 60)]
            case 4:
                data[at:upto] = chance.choice(TOKENS)
            case _:
                data[at:at] = chance.randbytes(chance.randint(1, 8))
    return bytes(data)


def named(*words: str) -> tuple[()]:
    """A refusal has a name and says why."""
    assert all(words)
    return ()


class Packs:
    """SenML from the wire through the whole core to what the page is sent."""

    def __init__(self) -> None:
        self.core, self.at = Core(parse(fairground())), 1_795_600_000.0

    def __call__(self, chance: random.Random) -> None:
        data = spoiled(chance.choice(PACKS), chance)
        self.at += chance.choice((0.0, 0.01, 0.3, 2.0))
        node = chance.choice(("tank", "inlet", "rides", "<b>", f"n{chance.randrange(10**6)}"))
        try:
            records = decode(data).records
        except Rejected as refused:
            records = named(refused.kind, refused.why)
        self.core.take(Pack(self.at, "mqtt 1", node, records, retained=chance.random() < 0.1))
        if chance.random() < 0.1:
            self.core.take(Alive(self.at, "mqtt 1", node, chance.random() < 0.5, chance.random() < 0.5))
        if chance.random() < 0.02:
            self._look()

    def _look(self) -> None:
        told = json.dumps(standing(self.core, self.at), allow_nan=False)
        volume_l = json.loads(told)["forecast"]["volume_l"]
        assert volume_l is None or (math.isfinite(volume_l) and 0 <= volume_l < 1e4)
        assert len(told) < 200_000, "what strangers send does not make the page grow"


def frames(chance: random.Random) -> None:
    """A serial line cut anywhere: lines or named rejects, and the good line after the garbage is read."""
    good = chance.choice(PACKS)
    line = good + b"*%04X" % crc16_modbus(good)
    data, taken = spoiled(line + b"\n" + good, chance) + b"\n", Frames()
    out: list[bytes | Garbled] = []
    while data:
        cut = chance.randint(1, 400)
        out += taken.take(data[:cut])
        data = data[cut:]
    assert all(isinstance(each, bytes) or (each.kind and each.why and len(each.raw) <= 1100) for each in out)
    assert taken.take(line + b"\n") == [good]


def rig_file(chance: random.Random) -> None:
    """A rig file: a rig that can be described, or all its faults."""
    text = spoiled(fairground().encode(), chance).decode("utf-8", "replace")
    try:
        describe(parse(text, Path("rig.toml")))
    except RigFaults as faults:
        named(str(faults))


class Pages:
    """The page of a daemon with neither feed nor journal, by its own description; all but the endless stream."""

    def __init__(self) -> None:
        self.folder = tempfile.TemporaryDirectory(prefix="holdwater-fuzz-")  # gone with the process
        daemon = Daemon(parse(fairground(), Path(self.folder.name) / "rig.toml"))
        app = create_app(daemon, Live(daemon.state_bytes))
        self.guarded = Guard(app)
        self.schema = schemathesis.openapi.from_asgi("/openapi.json", app).exclude(path_regex="^/api/live$")

    def ask(self, case: schemathesis.Case) -> None:
        """Whatever is asked, there is an answer that is meant, with every header of the lock."""
        case.headers = {**(case.headers or {}), "host": "127.0.0.1"}
        answer = case.call(app=self.guarded, base_url="http://127.0.0.1")
        made[str(answer.status_code)] += 1
        assert answer.status_code < 500 or (answer.status_code == 503 and answer.json()), answer.text
        for name, value in HEADERS.items():
            assert answer.headers[name.decode()] == [value.decode()]


class Calls:
    """Bytes that hypothesis makes a call of, as the description of the page allows or just does not allow it."""

    def __init__(self) -> None:
        self._pages = Pages()
        self._asks = [self._of(each.ok()) for each in self._pages.schema.get_all_operations()]

    def __call__(self, chance: random.Random) -> None:
        chance.choice(self._asks)(chance.randbytes(LONGEST_CALL))

    def _of(self, operation: Any) -> Callable[[bytes], object]:
        @settings(deadline=None, database=None, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy())
        def ask(case: schemathesis.Case) -> None:
            self._pages.ask(case)

        return ask.hypothesis.fuzz_one_input


def targets() -> dict[str, Callable[[], Callable[[random.Random], None]]]:
    """What makes each target ready."""
    return {"SenML": Packs, "serial framing": lambda: frames, "rig file": lambda: rig_file, "HTTP": Calls}
