"""A taste of the fuzzing, always the same; `make test` does two minutes of each target beside the tests.

FUZZ_CALLS sets how many calls of each kind the page is asked.
"""

import os
import random

import pytest
import schemathesis
from hypothesis import HealthCheck, settings

from tests.fuzz.targets import Pages, spoiled, targets

INPUTS = {"SenML": 1500, "serial framing": 1500, "rig file": 150, "HTTP": 150}
CALLS = int(os.environ.get("FUZZ_CALLS", "12"))

pages = Pages()


@pytest.mark.parametrize("name", targets())
def test_garbage_gets_an_answer_or_a_named_refusal(name: str) -> None:
    target = targets()[name]()
    for n in range(INPUTS[name]):
        target(random.Random(f"7 {n}"))


def test_the_generator_spoils_and_repeats() -> None:
    assert spoiled(b"good", random.Random(1)) == spoiled(b"good", random.Random(1)) != b"good"


@pages.schema.parametrize()
@settings(max_examples=CALLS, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_no_call_breaks_the_page(case: schemathesis.Case) -> None:
    pages.ask(case)
