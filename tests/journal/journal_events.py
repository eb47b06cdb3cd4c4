"""Events and changes for the journal's tests: a small day by hand, and anything at all by hypothesis."""

import itertools

from hypothesis import strategies as st

from monitor.changes import AlarmChange, Forecast
from monitor.readings import Act, Alive, Pack, Passing, Record, Reject, WallStep

AT = 1795600000.0

numbers = st.floats(allow_nan=False)
finite = st.floats(allow_nan=False, allow_infinity=False)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
names = st.sampled_from(["tank/level", "tank/seq", "inlet/total", "inlet/flow", "rides/running", "box/ü"])
records = st.builds(
    Record,
    name=names,
    unit=st.sampled_from(["m", "l", "l/min", "count", "", "lon"]),
    value=st.one_of(numbers, st.booleans(), st.none()),
    total=st.one_of(st.none(), numbers),
    stamp=st.one_of(st.just(0.0), numbers),
    every=st.one_of(st.none(), finite),
)
feeds = st.sampled_from(["mqtt 1", "serial 1", "simulated 1"])
nodes = st.sampled_from(["tank", "inlet", "rides", "box"])
packs = st.builds(
    Pack, st.just(0.0), feeds, nodes, st.lists(records, max_size=4).map(tuple), st.booleans()
)
details = st.one_of(st.none(), st.dictionaries(texts, st.one_of(finite, texts, st.booleans(), st.none()), max_size=3))
others = st.one_of(
    st.builds(Alive, st.just(0.0), feeds, nodes, st.booleans(), st.booleans()),
    st.builds(Reject, st.just(0.0), feeds, texts, texts, texts),
    st.builds(Act, st.just(0.0), texts, texts, st.one_of(st.none(), texts), details),
    st.builds(WallStep, st.just(0.0), st.floats(0.0, 4e9)),
    st.builds(Passing, st.just(0.0)),
)
steps_us = st.one_of(st.integers(1, 200_000), st.integers(1, 100_000_000))
feeds_as_they_came = st.lists(st.tuples(steps_us, st.one_of(packs, packs, packs, others)), max_size=40).map(
    lambda steps: stamped(steps)
)


def stamped(steps):
    """The events of (microseconds since the one before, event), each at its time."""
    times = itertools.accumulate((step for step, _ in steps), initial=round(AT * 1e6))
    next(times)
    return [event._replace(at=at_us / 1e6) for at_us, (_, event) in zip(times, steps, strict=True)]


def level(at, metres=0.612):
    return Pack(at, "mqtt 1", "tank", (Record("tank/level", "m", metres),))


def day(seconds=60, start=AT):
    """Three nodes speaking for a while: level ten times a second, a meter each second, a pump's switch every two."""
    for tenth in range(seconds * 10):
        at = start + tenth / 10
        yield level(at, round(0.6 - tenth * 1e-5 + (tenth * 7919 % 11) * 1e-4, 4))
        if tenth % 10 == 3:
            flow = Record("inlet/flow", "l/min", 26.5 + tenth % 7 / 10, total=tenth * 0.044)
            yield Pack(at + 0.01, "mqtt 1", "inlet", (Record("inlet/total", "l", tenth * 0.044), flow))
        if tenth % 20 == 7:
            running = Record("rides/running", "bool", tenth % 400 > 150)
            yield Pack(at + 0.02, "serial 1", "rides", (running, Record("rides/seq", "count", tenth / 20)))


def forecast(at, volume_l=604.0):
    return Forecast(
        at, volume_l, 3.2, 26.5, -12.25, 38.75, {"Rides": 22.7, "Stalls": None}, {"Rides": 22.7, "Stalls": 15.1},
        {"p05": 700.5, "p50": 900.0, "p95": None}, 1100.0, None, "good", "uncertain",
    )  # fmt: skip


def alarm(at, state="unacknowledged"):
    return AlarmChange(at, "water-low", "high", state, "", "", "The water is low: 190 l.", {"volume_l": 190.0})
