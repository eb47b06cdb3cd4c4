"""A trailer made by hand: a box of one square metre, two pumps, a tap, and what its nodes would send.

Nothing of the simulated world is in it: plain arithmetic, so that a test knows every litre.
"""

from collections import Counter
from random import Random

from monitor.changes import AlarmChange, Forecast
from monitor.core import Core
from monitor.readings import Act, Alive, Pack, Passing, Record
from monitor.rig.load import parse
from monitor.wire.recorded import write_event

BEGIN = 1_795_600_000.0
RATES = {"Rides": 22.0, "Stalls": 14.0}  # l/min, the nominal ones
HEEL_L, BAND_LOW_L, FULL_L = 100.0, 200.0, 1000.0

RIG = """
[rig]
name = "Box trailer"
units = "metric"
[tank]
capacity = "1200 L"
full = "1000 L"
heel = "100 L"
band = ["200 L", "700 L"]
tow_limit = "300 L"
strapping = [["0 mm", "0 L"], ["1200 mm", "1200 L"]]
[tank.level]
reading = "tank/level"
measures = "height"
[supply]
reading = "inlet/total"
measures = "total"
[[pump]]
name = "Rides"
draw = "22 L/min"
running = "rides/running"
drawing = "rides/drawing"
[[pump]]
name = "Stalls"
draw = "14 L/min"
running = "stalls/running"
drawing = "stalls/drawing"
[extra]
motion = "tank/motion"
[warn]
act_time = "2 min"
[[feed]]
mqtt = "mqtt://127.0.0.1"
clock = "CLOCK"
[[feed]]
serial = "/dev/ttyUSB0"
"""


def rig(clock="arrival", **changes):
    """The trailer's rig; `changes` replaces texts in its file."""
    text = RIG.replace("CLOCK", clock)
    for before, after in changes.values():
        assert before in text
        text = text.replace(before, after)
    return parse(text)


class Trailer:
    """Moves on second by second; `events` is all that was sent, in order of arrival."""

    def __init__(self, volume_l=600.0, *, noise_m=0.002, seed=1, level_hz=1, rates=None):
        self.volume_l, self.noise_m, self.level_hz = volume_l, noise_m, level_hz
        self.random = Random(seed)
        self.rates = rates or RATES
        self.at, self.total_l = BEGIN, 4000.0
        self.seq = Counter()
        self.events = []
        self._last = 0.0

    def send(self, after_s, node, *records, feed="mqtt 1", retained=False, counted=True):
        """A pack arrives `after_s` past this second; a counted one carries its node's seq."""
        if counted:
            self.seq[node] += 1
            records = (Record(f"{node}/seq", "count", float(self.seq[node])), *records)
        return self.put(Pack(self._moment(after_s), feed, node, tuple(records), retained))

    def put(self, event):
        self.events.append(event)
        return event

    def does(self, act, alarm=None, **detail):
        self.put(Act(self._moment(0.9), act, "Ann", alarm, detail or None))

    def says(self, node, up):
        self.put(Alive(self._moment(0.9), "mqtt 1", node, up))

    def _moment(self, after_s):
        self._last = max(self.at + after_s, self._last + 1e-6)
        return self._last

    def runs(self, seconds, *drawing, tap=0.0, leak=0.0, silent=(), running=(), level_m=None, moving=False):
        """Seconds pass with these pumps drawing. `silent`: nodes that send nothing; `running`: on bypass."""
        for _ in range(int(seconds)):
            draw = sum(self.rates[name] for name in drawing)
            self.volume_l = max(0.0, self.volume_l + (tap - draw - leak) / 60)
            self.total_l += tap / 60
            if "tank" not in silent:
                self._level(level_m, moving)
            if "inlet" not in silent:
                self.send(0.3, "inlet", Record("inlet/total", "l", self.total_l))
            for name in self.rates:
                node = name.lower()
                if node not in silent:
                    on = name in drawing
                    runs = Record(f"{node}/running", "bool", on or name in running)
                    self.send(0.4, node, runs, Record(f"{node}/drawing", "bool", on))
            self.at += 1.0
            self.put(Passing(self.at))
        return self

    def _level(self, level_m, moving):
        for k in range(self.level_hz):
            height = self.volume_l / 1000 if level_m is None else level_m
            record = Record("tank/level", "m", height + self.random.gauss(0, self.noise_m if level_m is None else 0))
            self.send(0.1 + 0.8 * k / self.level_hz, "tank", record, Record("tank/motion", "bool", moving))


class Watched(Trailer):
    """The same with a core that watches; what it gave out is sorted by kind."""

    def __init__(self, volume_l=600.0, *, core=None, saved=None, **how):
        super().__init__(volume_l, **how)
        self.core = core or Core(rig(), saved)
        self.forecasts, self.alarms = [], []

    def put(self, event):
        for change in self.core.take(event):
            (self.forecasts if isinstance(change, Forecast) else self.alarms).append(change)
        return super().put(event)

    @property
    def belief(self):
        return self.core.balance.belief

    @property
    def off_l(self):
        return self.belief.volume_l - self.volume_l

    def state(self, alarm, subject=None):
        return self.core.board.state_of(alarm, subject)

    def stands(self, alarm, subject=None):
        return self.state(alarm, subject) in ("unacknowledged", "acknowledged")

    def raised(self):
        """The names of all alarms raised so far, in order."""
        return [a.alarm for a in self.alarms if isinstance(a, AlarmChange) and a.state == "unacknowledged"]


def record_a_day(path, hours, level_hz):
    """Write a recording of work and pauses on a tap that does not quite carry the pumps; gives the trailer."""
    trailer = Trailer(900.0, level_hz=level_hz)
    with path.open("wb") as sink:
        for part in range(12 * hours):
            if part % 2:
                trailer.runs(300, tap=20.0 if trailer.volume_l < 800 else 0.0)
            else:
                trailer.runs(300, *(("Rides", "Stalls") if part // 12 % 2 else ("Stalls",)), tap=13.0)
            sink.writelines(write_event(event) for event in trailer.events)
            trailer.events.clear()
    return trailer


def played(events, core=None):
    """All changes that these events bring."""
    core = core or Core(rig())
    return [change for event in events for change in core.take(event)]


def time_to_dry_s(watched, *drawing):
    return 60.0 * (watched.volume_l - HEEL_L) / sum(RATES[name] for name in drawing)


def drained_until(watched, alarm, *drawing, limit_s=3600, **how):
    """Let these pumps draw until the alarm stands; the true time that was left then."""
    for _ in range(limit_s):
        if watched.stands(alarm):
            return time_to_dry_s(watched, *drawing)
        watched.runs(1, *drawing, **how)
    raise AssertionError(f"{alarm} did not come within {limit_s} s")
