import itertools
import threading

import pytest

from monitor.feeds.clock import LiveClock
from monitor.feeds.inbox import Inbox, Stamps
from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep

LEVEL = (Record("tank/level", "m", 0.6),)


class HandClock:
    """A clock that stands where the test puts it."""

    def __init__(self, at: float, speed: float = 1.0) -> None:
        self.at = at
        self.speed = speed

    def now(self) -> float:
        return self.at


def test_arrivals_are_stamped_in_whole_microseconds_each_later_than_the_last():
    inbox = Inbox(HandClock(1795600000.1234567))
    for _ in range(3):
        inbox.pack("mqtt 1", "tank", LEVEL)
    assert [event.at for event in inbox.drain()] == [1795600000.123457, 1795600000.123458, 1795600000.123459]


def test_each_kind_arrives_as_it_was_put():
    inbox = Inbox(HandClock(50.0))
    inbox.pack("mqtt 1", "tank", LEVEL, retained=True, at=1.0)
    inbox.alive("mqtt 1", "tank", False, at=2.0)
    inbox.reject("serial 1", "crc", "why", "raw", at=3.0)
    inbox.put(Act(4.0, "packing-up"))
    inbox.put(WallStep(5.0, 99.0))
    assert inbox.drain() == [
        Pack(1.0, "mqtt 1", "tank", LEVEL, True),
        Alive(2.0, "mqtt 1", "tank", False),
        Reject(3.0, "serial 1", "crc", "why", "raw"),
        Act(4.0, "packing-up"),
        WallStep(5.0, 99.0),
    ]
    assert inbox.drain() == []


def test_a_time_that_would_fall_is_raised():
    inbox = Inbox(HandClock(10.0))
    inbox.put(Passing(20.0))
    inbox.put(Passing(15.0))
    inbox.alive("mqtt 1", "tank", True)
    assert [event.at for event in inbox.drain()] == [20.0, 20.000001, 20.000002]


def test_the_time_of_a_drain_comes_after_what_was_drained_and_before_what_is_to_come():
    inbox = Inbox(HandClock(10.0))
    inbox.put(Passing(12.0))
    assert inbox.drain_to_now() == ([Passing(12.0)], 12.000001)
    inbox.put(Passing(12.0))
    assert inbox.drain_to_now() == ([Passing(12.000002)], 12.000003)


def test_a_full_inbox_drops_the_oldest_readings_and_counts_them_but_keeps_what_people_did():
    inbox = Inbox(HandClock(0.0), longest=3)
    inbox.put(Act(0.5, "acknowledge"))
    for second in range(1, 6):
        inbox.pack("mqtt 1", "tank", LEVEL, at=float(second))
    inbox.put(Act(6.0, "packing-up"))
    assert [event.at for event in inbox.drain()] == [0.5, 3.0, 4.0, 5.0, 6.0]
    assert inbox.dropped == 2


def test_the_daemon_is_woken_once_and_may_drain_while_being_woken():
    woken = []
    inbox = Inbox(HandClock(0.0))
    inbox.on_arrival = lambda: woken.append(inbox.drain())  # would hang if the lock were held
    inbox.pack("mqtt 1", "tank", LEVEL, at=1.0)
    assert [event.at for event in woken[0]] == [1.0]
    inbox.on_arrival = lambda: woken.append("again")
    inbox.pack("mqtt 1", "tank", LEVEL, at=2.0)
    inbox.pack("mqtt 1", "tank", LEVEL, at=3.0)
    assert woken[1:] == ["again"]


def test_many_threads_lose_nothing_and_keep_the_order():
    inbox = Inbox(LiveClock())
    threads = [
        threading.Thread(target=lambda: [inbox.pack("f", "tank", LEVEL) for _ in range(500)]) for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times = [event.at for event in inbox.drain()]
    assert len(times) == 4000
    assert all(later > earlier for earlier, later in itertools.pairwise(times))


def test_stamps_survive_the_way_through_text():
    stamps = Stamps()
    for at in (1795600000.0000004, 1795600000.0000006, 3.2, 1999999999.9999994):
        stamped = stamps.next(at)
        assert float(repr(stamped)) == stamped
        assert round(stamped * 1e6) / 1e6 == stamped


def test_the_live_clock_ties_monotonic_time_to_its_start_and_runs_at_its_speed():
    real = [100.0]
    clock = LiveClock(1795600000.0, speed=20.0, monotonic=lambda: real[0])
    assert clock.now() == 1795600000.0
    real[0] = 103.0
    assert clock.now() == 1795600060.0


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan")])
def test_a_clock_that_stands_or_runs_back_is_refused(speed):
    with pytest.raises(ValueError, match="speed"):
        LiveClock(speed=speed)
