"""Pressure at a pump's suction: collapsing it starves, lost it is dry, silent it tells nothing."""

from trailer import Watched, rig

from monitor.core import Core
from monitor.readings import Record

SUCTION = ('running = "rides/running"', 'suction = "rides/suction"\nrunning = "rides/running"')


def with_suction():
    return Watched(500.0, core=Core(rig(rides=SUCTION)))


def draws_at(watched, seconds, suction_pa):
    for _ in range(seconds):
        if suction_pa is not None:
            watched.send(0.2, "rides", Record("rides/suction", "Pa", suction_pa), counted=False)
        watched.runs(1, "Rides")


def test_a_collapsing_suction_is_a_starved_pump_and_a_lost_one_is_dry():
    watched = with_suction()
    draws_at(watched, 30, -8_000.0)
    assert watched.raised() == []
    draws_at(watched, 2, -35_000.0)
    assert watched.state("pump-starved", "Rides") == "unacknowledged"
    assert watched.state("dry", "Rides") == "normal"
    draws_at(watched, 2, -75_000.0)
    assert watched.state("dry", "Rides") == "unacknowledged"
    assert [one["variant"] for one in watched.core.board.standing() if one["alarm"] == "dry"] == ["suction"]
    draws_at(watched, 30, -8_000.0)
    assert not watched.stands("dry", "Rides")


def test_what_a_silent_suction_signal_said_last_raises_nothing():
    """And clears nothing either."""
    watched = with_suction()
    draws_at(watched, 30, -8_000.0)
    draws_at(watched, 1, -75_000.0)
    assert watched.stands("dry", "Rides")
    draws_at(watched, 120, None)
    assert watched.stands("dry", "Rides")
    fresh = with_suction()
    draws_at(fresh, 30, -8_000.0)
    fresh.core.intake.surroundings.take("suction", "Rides", Record("rides/suction", "Pa", -75_000.0))
    fresh.core.intake.signals["rides/suction"].alive.heard_s -= 1000.0
    draws_at(fresh, 5, None)
    assert "dry" not in fresh.raised()
