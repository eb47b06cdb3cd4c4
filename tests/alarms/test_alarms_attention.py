"""Horn and strobe: which call is made, and that nobody can take one rhythm for another."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as some

from monitor.alarms.attention import FLASHES, RELEASE, RHYTHMS, call, shines, sounds
from monitor.alarms.catalogue import ALARMS

STATES = (
    "normal", "unacknowledged", "acknowledged", "returned to normal unacknowledged", "shelved", "suppressed by design",
    "out of service",
)  # fmt: skip
STEP_S = 0.01


def edges(shows, of, for_s: float = 60.0) -> list[tuple[float, bool]]:
    """When it goes on and off."""
    seen = [(k * STEP_S, shows(k * STEP_S, of)) for k in range(int(for_s / STEP_S))]
    return [seen[0], *(later for before, later in pairwise(seen) if before[1] != later[1])]


@pytest.mark.parametrize(
    ("standing", "moving", "made"),
    [
        ([], False, ""),
        ([("dry-soon", "unacknowledged")], False, "release"),
        ([("pump-starved", "unacknowledged")], True, "release"),
        ([("dry", "acknowledged"), ("dry-soon", "unacknowledged")], False, "release"),
        ([("dry-soon", "acknowledged")], False, "still stands"),
        ([("dry-soon", "acknowledged"), ("water-low", "unacknowledged")], False, "high"),
        ([("water-low", "unacknowledged"), ("leak", "unacknowledged")], False, "high"),
        ([("leak", "unacknowledged")], False, "medium"),
        ([("leak", "unacknowledged")], True, ""),
        ([("journal", "unacknowledged")], False, ""),
        ([("water-low", "acknowledged"), ("leak", "shelved"), ("supply-lost", "suppressed by design")], False, ""),
        ([("dry", "returned to normal unacknowledged")], False, ""),
    ],
)
def test_the_most_urgent_call_is_made(standing, moving, made) -> None:
    assert call(standing, moving) == made


@given(some.lists(some.tuples(some.sampled_from(sorted(ALARMS)), some.sampled_from(STATES))), some.booleans())
def test_release_is_called_exactly_for_a_critical_alarm_nobody_has_seen(standing, moving) -> None:
    unseen = any(ALARMS[name].critical and state == "unacknowledged" for name, state in standing)
    assert (call(standing, moving) == "release") == unseen


def test_every_critical_alarm_asks_for_the_triggers() -> None:
    assert {name for name, alarm in ALARMS.items() if alarm.critical} == RELEASE


def test_no_two_rhythms_are_alike() -> None:
    assert len(set(RHYTHMS.values())) == len(RHYTHMS)
    share = {of: sum(sounds(k * STEP_S, of) for k in range(6000)) / 6000 for of in RHYTHMS}
    assert share["release"] > 3 * share["high"] > share["medium"] > 0.0


def test_release_pulses_as_a_danger_signal_may_and_never_rests() -> None:
    """0.2 to 5 pulses a second: ISO 7731 (from memory)."""
    on = [at for at, shows in edges(sounds, "release") if shows]
    gaps = [later - before for before, later in pairwise(on)]
    assert 0.2 <= max(gaps) <= 5.0
    assert max(gaps) < 0.6


@pytest.mark.parametrize("of", sorted(FLASHES))
def test_light_flashes_less_than_three_times_a_second(of) -> None:
    """Three flashes in a second could set off a seizure: WCAG 2.2, success criterion 2.3.1."""
    on = [at for at, shows in edges(shines, of) if shows]
    assert all(third - first > 1.0 - 2 * STEP_S for first, third in zip(on, on[2:], strict=False))


def test_what_has_been_seen_is_light_alone() -> None:
    assert not any(sounds(k * STEP_S, "still stands") for k in range(6000))
    assert any(shines(k * STEP_S, "still stands") for k in range(6000))
    assert not any(shines(k * STEP_S, "") or sounds(k * STEP_S, "") for k in range(100))
