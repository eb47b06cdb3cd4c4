"""A handful of the fault campaign's cases: found in their time, and nothing told that was not so.

The campaign itself is ``python -m tests.benchmarks.faults``; a case follows from its number alone.
"""

from itertools import islice

import pytest

from tests.benchmarks.fault_case import case, play
from tests.benchmarks.fault_trace import traced

CASES = [
    (58, "burst line", 240),
    (154, "burst line", 240),
    (183, "over-reading meter", 600),
    (186, "burst line", 240),
    (194, "level stuck, trembling", 60),
    (217, "leak, parked", 1500),
    (225, "frozen level", 60),
    (308, "jumping level", 30),
    (309, "dead meter", 180),
]


@pytest.mark.campaign
@pytest.mark.parametrize(("number", "what", "within_s"), CASES)
def test_a_case_of_the_campaign(number: int, what: str, within_s: float | None) -> None:
    told = play(number)
    assert told["what"] == what
    assert told["false"] == told["wrong"] == []
    for fault in told["faults"]:
        assert fault["after_s"] is not None
        assert within_s is None or fault["after_s"] <= within_s


def test_a_case_is_told_moment_by_moment() -> None:
    head, fault, _, *later = islice(traced(case(21), 0.0, 1e9, 60.0), 12)
    assert head == "case 21: dead meter, running"
    assert "dead meter begins" in fault
    assert "meter-dead" in fault
    assert any("setup volume" in line and "nothing odd" in line for line in later)
