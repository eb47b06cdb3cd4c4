"""A short share of the fuzzing; `make fuzz` does more and prints how much. FUZZ_INPUTS and FUZZ_CALLS set how much."""

import os
import random
import tempfile
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, settings

from monitor.daemon import Daemon
from monitor.pages.app import create_app
from monitor.pages.guard import HEADERS, Guard
from monitor.pages.live import Live
from monitor.rig.load import fairground, parse
from tests.fuzz.targets import made, spoiled, targets

INPUTS = int(os.environ.get("FUZZ_INPUTS", "1500"))
CALLS = int(os.environ.get("FUZZ_CALLS", "12"))

FOLDER = tempfile.TemporaryDirectory(prefix="holdwater-fuzz-")  # gone with the process
daemon = Daemon(parse(fairground(), Path(FOLDER.name) / "rig.toml"))
schema = schemathesis.openapi.from_asgi("/openapi.json", create_app(daemon, Live(daemon.state_bytes)))
guarded = Guard(create_app(daemon, Live(daemon.state_bytes)))


@pytest.mark.parametrize("name", targets())
def test_garbage_gets_an_answer_or_a_named_refusal(name: str) -> None:
    target = targets()[name]
    for n in range(INPUTS // 10 if name == "rig file" else INPUTS):
        target(random.Random(f"7 {n}"))


def test_the_generator_spoils_and_repeats() -> None:
    assert spoiled(b"good", random.Random(1)) == spoiled(b"good", random.Random(1)) != b"good"


@schema.exclude(path_regex="^/api/live$").parametrize()  # a stream has no end
@settings(max_examples=CALLS, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_no_call_breaks_the_page(case: schemathesis.Case) -> None:
    case.headers = {**(case.headers or {}), "host": "127.0.0.1"}
    answer = case.call(app=guarded, base_url="http://127.0.0.1")
    made[str(answer.status_code)] += 1
    assert answer.status_code < 500 or (answer.status_code == 503 and answer.json()), answer.text
    for name, value in HEADERS.items():
        assert answer.headers[name.decode()] == [value.decode()]
