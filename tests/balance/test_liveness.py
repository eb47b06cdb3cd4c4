"""Silence: what a node said of itself, else three times its learned gap, at least 5 s."""

import pytest

from monitor.balance.liveness import Liveness


def heard(gap_s, times=30, every_s=None):
    alive = Liveness()
    for k in range(times):
        alive.hear(100.0 + k * gap_s, every_s)
    return alive


def test_never_heard_is_not_silent():
    alive = Liveness()
    assert not alive.silent(1e9)
    assert alive.age_s(1e9) is None


@pytest.mark.parametrize(("gap_s", "limit_s"), [(0.1, 5.0), (1.0, 5.0), (2.0, 6.0), (10.0, 30.0), (300.0, 900.0)])
def test_the_limit_is_three_gaps_and_at_least_five_seconds(gap_s, limit_s):
    alive = heard(gap_s)
    assert alive.limit_s == pytest.approx(limit_s)
    assert not alive.silent(alive.heard_s + limit_s - 0.01)
    assert alive.silent(alive.heard_s + limit_s + 0.01)


def test_what_the_node_says_itself_counts_before_what_was_learned():
    assert heard(1.0, every_s=30.0).limit_s == 30.0
    assert heard(10.0, every_s=2.0).limit_s == 2.0


def test_one_word_alone_teaches_no_gap():
    alive = heard(1.0, times=1)
    assert not alive.silent(119.0)
    assert alive.silent(121.0)


def test_an_outage_teaches_little_and_a_node_that_slows_down_gets_through():
    alive = heard(1.0)
    alive.hear(alive.heard_s + 3600.0)
    assert alive.limit_s == 5.0
    for _ in range(60):
        alive.hear(alive.heard_s + 20.0)
    assert alive.limit_s == pytest.approx(60.0, rel=0.05)


def test_age_never_falls_below_zero():
    assert heard(1.0).age_s(0.0) == 0.0
