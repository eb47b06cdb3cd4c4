"""When the writer writes, what it turns away, and that nobody ever waits for it."""

import threading

import pytest
from journal_events import AT, alarm, day, forecast, level

from monitor.journal.rebuild import changes, rebuild
from monitor.journal.stored import opened
from monitor.journal.writer import MANY, Journal
from monitor.readings import Act, WallStep


class Clock:
    """A clock that stands until it is told to go on."""

    def __init__(self):
        self.s = 100.0

    def __call__(self):
        return self.s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def journal(tmp_path, clock):
    made = Journal(tmp_path / "journal.db", clock)
    made.step()
    yield made
    made.close()


def stored(journal):
    return list(rebuild(journal.path))


def test_readings_are_stored_every_five_seconds(journal, clock):
    journal.put(level(AT))
    clock.s += 4.9
    journal.step()
    assert stored(journal) == []
    assert journal.status().waiting == 1
    clock.s += 0.1
    journal.step()
    assert stored(journal) == [level(AT)]
    assert journal.status() == (True, "", "", 0, 0)


@pytest.mark.parametrize("item", [alarm(AT + 1), Act(AT + 1, "acknowledge", "Ana", "water-low"), WallStep(AT + 1, AT)])
def test_what_people_did_and_were_told_is_stored_at_once_with_what_came_before(journal, item):
    journal.put(level(AT))
    journal.put(item)
    journal.step()
    assert journal.status().waiting == 0
    assert stored(journal)[0] == level(AT)


def test_many_readings_do_not_wait_for_the_five_seconds(journal):
    for number in range(MANY):
        journal.put(level(AT + number))
    journal.step()
    assert journal.status().waiting == 0


def test_the_thread_stores_an_alarm_at_once(tmp_path, monkeypatch):
    journal = Journal(tmp_path / "journal.db")
    told = threading.Event()
    write = journal._keeper.write

    def watched(items, gap):
        write(items, gap)
        if alarm(AT) in items:
            told.set()

    monkeypatch.setattr(journal._keeper, "write", watched)
    journal.start()
    journal.put(level(AT))
    journal.put(alarm(AT))
    assert told.wait(60)
    assert list(changes(journal.path)) == [alarm(AT)]
    journal.close()
    assert stored(journal) == [level(AT)]


def test_many_threads_put_and_nothing_is_lost(tmp_path):
    journal = Journal(tmp_path / "journal.db")
    journal.start()

    def put_some(first):
        for number in range(first, 2000, 4):
            journal.put(forecast(AT + number))

    threads = [threading.Thread(target=put_some, args=(first,)) for first in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    journal.close()
    assert sorted(change.at for change in changes(journal.path)) == [AT + number for number in range(2000)]


def test_a_slow_disk_delays_nobody_and_is_said(journal, clock, monkeypatch):
    write, seen = journal._keeper.write, []

    def slow(items, gap):
        for seconds in (19.0, 21.0):
            clock.s += seconds
            journal.put(level(AT + clock.s))
            seen.append(journal.status())
        write(items, gap)

    monkeypatch.setattr(journal._keeper, "write", slow)
    journal.put(alarm(AT))
    journal.step()
    assert [status.ok for status in seen] == [True, False]
    assert "40 s" in seen[1].why
    assert seen[1].do
    assert journal.status()[:2] == (True, "")
    assert journal.status().waiting == 2


def test_a_full_queue_turns_readings_away_and_counts_them_but_keeps_alarms(tmp_path, clock):
    journal = Journal(tmp_path / "journal.db", clock, longest=100)
    events = list(day(20))
    for event in events[:150]:
        journal.put(event)
    for number in range(100):
        journal.put(alarm(AT + 100 + number))
    journal.put(alarm(AT + 300))
    assert journal.status()[3:] == (200, 51)
    journal.step()
    journal.put(events[150])
    journal.close()
    assert stored(journal) == [*events[:100], events[150]]
    assert len(list(changes(journal.path))) == 100
    with opened(journal.path) as reader:
        gaps = reader.db.execute("select run, from_us, upto_us, dropped from gap").fetchall()
    assert gaps == [(1, round(events[100].at * 1e6), round((AT + 300) * 1e6), 51)]


def test_after_closing_nothing_is_taken(journal):
    journal.put(level(AT))
    journal.close()
    journal.put(level(AT + 1))
    assert sorted(each.name for each in journal.path.parent.iterdir()) == ["journal.db", "journal.db.lock"]
    assert stored(journal) == [level(AT)]
    assert journal.status()[3:] == (0, 1)
