"""A handful of the fault campaign's cases: found in their time, and nothing told that was not so.

The campaign itself is ``python -m tests.benchmarks.faults``; a case follows from its number alone.
"""

import pytest

from tests.benchmarks.fault_case import play

CASES = [
    (183, "over-reading meter", 600),
    (186, "burst line", 240),
    (194, "level stuck, trembling", 60),
    (217, "leak, parked", 1500),
    (225, "frozen level", 60),
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
