"""The permit stops by itself and never goes on by itself."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from monitor.notices.permit import Permit, Seen, said

WELL = Seen("normal", "normal", True, True, 60.0)
DRY, SOON = WELL._replace(dry="unacknowledged"), WELL._replace(dry_soon="unacknowledged")
BLIND, CUT = WELL._replace(level_trusted=False), WELL._replace(connected=False)


def going() -> Permit:
    permit = Permit()
    assert permit.look(0.0, WELL) is None, "a start is a stop"
    assert permit.reset(triggers_shut=True) is None
    return permit


def counts(permit: Permit, seen: Seen, seconds: int, start_s: int = 1) -> int:
    """How many of those seconds it goes on."""
    return sum(permit.look(float(start_s + s), seen) is not None for s in range(seconds))


def test_it_counts_each_second_from_one() -> None:
    permit = going()
    assert [permit.look(float(s), WELL) for s in (1, 2, 3)] == [1, 2, 3]


@pytest.mark.parametrize(
    ("seen", "goes_on_s"),
    [(DRY, 0), (WELL._replace(dry="acknowledged"), 0), (SOON, 60), (BLIND, 30), (CUT, 3),
     (WELL._replace(dry_soon="acknowledged"), 100)],
)  # fmt: skip
def test_it_stops_after_so_long_and_stays_stopped(seen: Seen, goes_on_s: int) -> None:
    permit = going()
    assert counts(permit, seen, 100) == goes_on_s
    if goes_on_s < 100:
        assert counts(permit, WELL, 3600, start_s=101) == 0


def test_a_warning_answered_in_time_stops_nothing() -> None:
    permit = going()
    assert counts(permit, SOON, 59) == 59
    assert counts(permit, WELL._replace(dry_soon="acknowledged"), 100, start_s=60) == 100


def test_a_daemon_that_stood_still_does_not_go_on() -> None:
    permit = going()
    assert permit.look(1.0, WELL) == 1
    assert permit.look(5.0, WELL) is None
    assert permit.stopped == "stalled"
    permit.look(6.0, WELL)
    assert permit.reset(triggers_shut=True) is None
    assert permit.look(7.0, WELL) == 2


@pytest.mark.parametrize(("seen", "why"), [(DRY, "dry"), (SOON, "dry-soon"), (BLIND, "level"), (CUT, "broker")])
def test_no_reset_against_what_stopped_it(seen: Seen, why: str) -> None:
    permit = going()
    counts(permit, seen, 100)
    assert permit.stopped == why
    assert permit.reset(triggers_shut=True) == why
    assert permit.look(101.0, WELL) is None
    assert permit.reset(triggers_shut=True) is None
    assert permit.look(102.0, WELL) is not None


def test_no_reset_with_a_trigger_open() -> None:
    permit = Permit()
    permit.look(0.0, WELL)
    assert permit.reset(triggers_shut=False) == "triggers"
    assert permit.look(1.0, WELL) is None


@given(some.lists(some.tuples(some.sampled_from((WELL, DRY, SOON, BLIND, CUT)), some.floats(0.0, 10.0)), max_size=60))
def test_without_a_person_it_never_goes_on_again(lived: list[tuple[Seen, float]]) -> None:
    permit, now_s, stopped = going(), 0.0, False
    for seen, passed_s in lived:
        now_s += passed_s
        count = permit.look(now_s, seen)
        assert not (stopped and count is not None)
        stopped = stopped or count is None


def test_every_reason_has_words_in_both_languages() -> None:
    for why in ("start", "dry", "dry-soon", "level", "broker", "stalled", "triggers", "off"):
        (english, do), (spanish, haga) = said(why, "en"), said(why, "es")
        assert len({english, spanish, do, haga}) == 4
