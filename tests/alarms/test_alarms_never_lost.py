"""Machines that try to lose a standing critical alarm, and to tell a restored board from one that never stopped."""

import json

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from monitor.alarms.board import Board, Condition
from monitor.alarms.catalogue import ALARMS, MODES
from monitor.alarms.refusals import Refused

KEYS = [
    ("dry", ""), ("dry", "Rides"), ("dry-soon", ""), ("pump-starved", "Rides"), ("pump-starved", "Stalls"),
    ("water-low", ""), ("supply-lost", ""), ("level-signal", "tank/level"), ("supply-signal", "inlet/total"),
    ("node-lost", "tank"), ("node-lost", "inlet"), ("bypass-hot", "Rides"), ("draw-low", "Rides"),
    ("draw-low", "Stalls"), ("leak", ""), ("freeze", "tank/water"), ("journal", ""),
]  # fmt: skip
CRITICAL = [key for key in KEYS if ALARMS[key[0]].critical]
OPEN = {"unacknowledged", "acknowledged"}
NAMES = sorted({name for name, _ in KEYS})

a_condition = st.builds(
    Condition,
    st.sampled_from([True, True, False, None]),
    st.none() | st.just({"volume_l": 1.5}),
    st.sampled_from(["", "missing", "frozen", "contradicts"]),
    st.sampled_from(["", "tank", "inlet"]),
    st.none() | st.just(20.0),
)
conditions = st.dictionaries(st.sampled_from(KEYS), a_condition)
modes = st.frozensets(st.sampled_from(MODES))
spans = st.sampled_from([0.001, 0.5, 1.0, 5.0, 31.0, 400.0, 4000.0])


class NeverLost(RuleBasedStateMachine):
    """The model knows one thing of a critical alarm: what it was last said to be, and for how long that was no."""

    def __init__(self):
        super().__init__()
        self.board = Board()
        self.at = 0.0
        self.stands = set()
        self.rose = set()
        self.seen = set()  # acknowledged since it last rose
        self.no_since = {}

    def model(self, said):
        for key in CRITICAL:
            holds = said.get(key, Condition(None)).holds
            if holds:
                self.seen -= {key} - self.stands
                self.stands.add(key)
                self.rose.add(key)
            if holds is not False:
                self.no_since.pop(key, None)
                continue
            begun = self.no_since.setdefault(key, self.at)
            if self.at - begun >= ALARMS[key[0]].off_delay_s:
                self.stands.discard(key)

    def watched(self, name):
        return any(name == alarm for alarm, _ in self.board.subjects())

    @rule(span_s=spans, said=conditions, mode=modes)
    def time_passes(self, span_s, said, mode):
        self.at += span_s
        before = set(self.stands)
        self.model(said)
        changes = self.board.update(self.at, said, mode)
        told = {(c.alarm, c.subject) for c in changes if c.state == "unacknowledged"}
        assert self.stands - before <= told  # in the very same step

    @rule(span_s=spans)
    def the_danger_is_over(self, span_s):
        self.time_passes(span_s, dict.fromkeys(CRITICAL, Condition(False)), frozenset())

    @rule(name=st.sampled_from(NAMES))
    def somebody_acknowledges(self, name):
        if not self.watched(name):
            return
        self.board.acknowledge(self.at, name)
        self.seen |= {key for key in CRITICAL if key[0] == name}

    @rule(name=st.sampled_from(NAMES), for_s=st.sampled_from([-1.0, 1.0, 600.0, 1e9]), out=st.booleans())
    def somebody_puts_it_aside(self, name, for_s, out):
        try:
            if out:
                self.board.take_out_of_service(self.at, name)
            else:
                self.board.shelve(self.at, name, for_s)
        except Refused:
            return
        assert not ALARMS[name].critical

    @rule(name=st.sampled_from(NAMES))
    def the_owner_takes_it_back(self, name):
        if self.watched(name):
            self.board.unshelve(self.at, name)
            self.board.take_out_of_service(self.at, name, out=False)

    @rule(gap_s=st.sampled_from([0.001, 60.0, 1e6, -1e6]))
    def the_daemon_is_killed_and_starts_again(self, gap_s):
        self.at += gap_s
        self.board = Board.restored(json.loads(json.dumps(self.board.save())))
        self.board.resume(self.at)
        self.no_since.clear()

    @invariant()
    def a_standing_critical_alarm_is_in_the_open(self):
        for key in self.stands:
            assert self.board.state_of(*key) in OPEN

    @invariant()
    def it_stays_on_the_list_until_somebody_has_seen_it(self):
        standing = [one for one in self.board.standing() if one["priority"] == "critical"]
        shown = {(one["alarm"], one["pump"] or ""): one for one in standing}
        assert self.stands | (self.rose - self.seen) <= set(shown)
        for key, one in shown.items():
            assert one["under"] is None
            assert one["shelved_until"] is None
            assert (one["state"] == "acknowledged") <= (key in self.seen)

    @invariant()
    def a_critical_alarm_knows_four_states(self):
        for key in CRITICAL:
            state = self.board.state_of(*key)
            assert state in {*OPEN, "normal", "returned to normal unacknowledged"}
            assert (state in OPEN) == (key in self.stands)

    @invariant()
    def what_is_listed_under_a_cause_has_one_that_stands(self):
        standing = self.board.standing()
        open_names = {one["alarm"] for one in standing if one["state"] in OPEN}
        for one in standing:
            assert one["under"] is None or one["under"] in open_names
            assert one["alarm"] not in one["followers"]


TestNeverLost = NeverLost.TestCase
TestNeverLost.settings = settings(max_examples=150, stateful_step_count=40)


acts = st.one_of(
    st.tuples(st.just("update"), conditions, modes),
    st.tuples(st.just("acknowledge"), st.sampled_from(NAMES)),
    st.tuples(st.just("shelve"), st.sampled_from(NAMES), st.sampled_from([1.0, 100.0])),
    st.tuples(st.just("unshelve"), st.sampled_from(NAMES)),
    st.tuples(st.just("take_out_of_service"), st.sampled_from(NAMES), st.booleans()),
)
days = st.lists(st.tuples(spans, acts), max_size=25)


def live(board, at, day):
    """All that can be seen of a board that goes through a day."""
    seen = []
    for span_s, (act, *arguments) in day:
        at += span_s
        try:
            seen.append(getattr(board, act)(at, *arguments))
        except Refused as refused:
            seen.append(str(refused))
        seen.append(board.standing())
    return at, seen


@settings(max_examples=300)
@given(before=days, after=days)
def test_saved_and_restored_at_any_point_the_future_is_the_same(before, after):
    board = Board()
    at, _ = live(board, 0.0, before)
    again = Board.restored(json.loads(json.dumps(board.save())))
    assert again.standing() == board.standing()
    assert live(again, at, after) == live(board, at, after)
    assert again.save() == board.save()
