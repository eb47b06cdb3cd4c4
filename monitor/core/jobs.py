"""Jobs and sites: what a job took from its start to its finish, and what each site's tap has shown by hour of day.

Water is counted second by second as it is believed: a pump that only probably draws counts by that probability, so that
the pumps add up to the water used.
"""

from collections.abc import Iterable, Mapping
from typing import Any, Literal

from monitor.balance.supply import LEAST_L_MIN
from monitor.changes import AlarmChange, Change, JobDone
from monitor.readings import Act

MOST_SITES = 300  # the one not visited for longest goes first
TEXT = 400
HOUR_S = 3600.0
REMEMBERS_S = 20.0 * HOUR_S  # an hour of the day forgets what was seen more than so much flow ago
NOTED = ("note", "hose")
ACTS = ("start-job", "finish-job")


class Jobs:
    """The job under way, if any, and the sites. Times are those of the wall, in s."""

    def __init__(self) -> None:
        self.sites: dict[str, dict[str, Any]] = {}
        self.here = ""
        self.job: dict[str, Any] | None = None

    def arrive(self, site: str, wall: float) -> None:
        """At a site, known or not; without a name, at one that nobody named."""
        self.here = site[:TEXT].strip()
        if not self.here:
            return
        known = self.sites.pop(self.here, {"hours": {}})
        self.sites[self.here] = known | {"visited": wall}
        while len(self.sites) > MOST_SITES:
            del self.sites[next(iter(self.sites))]

    def start(self, act: Act, wall: float) -> None:
        """The job before, if nobody finished it, is to be finished first (see `check`)."""
        detail = act.detail or {}
        self.arrive(str(detail.get("site") or self.here), wall)
        self._note(detail)
        self.job = {
            "site": self.here, "by": act.by, "began": wall, "watched_s": 0.0, "in_l": 0.0, "used_l": 0.0,
            "pumps_l": {}, "chemical_l": {}, "alarms": 0, "answers": 0,
        }  # fmt: skip

    def finish(self, act: Act, wall: float) -> list[Change]:
        """The finished job's row; nothing where none runs."""
        job, self.job = self.job, None
        if job is None:
            return []
        self._note(act.detail or {})
        rounded = {key: round(value, 2) if isinstance(value, float) else value for key, value in job.items()}
        by_pump = {key: _rounded(job.get(key, {})) for key in ("pumps_l", "chemical_l")}
        note = str((act.detail or {}).get("note", ""))[:TEXT]
        done = rounded | by_pump | {"ended": round(wall, 2), "note": note}
        return [JobDone(act.at, str(job["site"]), float(job["began"]), done)]

    def check(self, act: str) -> Literal["job runs", "no job"] | None:
        """Why an act can't be taken now, or None."""
        if act == "start-job" and self.job is not None:
            return "job runs"
        return "no job" if act == "finish-job" and self.job is None else None

    def _note(self, detail: Mapping[str, object]) -> None:
        if self.here:
            said = {key: str(detail[key])[:TEXT] for key in NOTED if detail.get(key)}
            self.sites[self.here].update(said)

    def tick(
        self, dt_s: float, in_l: float, drawn_l: Mapping[str, float], chemical_l: Mapping[str, float] | None = None
    ) -> None:
        """A second passed with so much water in and, by pump, water and chemical out."""
        job = self.job
        if job is None:
            return
        job["watched_s"] += dt_s
        job["in_l"] += in_l
        for name, litres in drawn_l.items():
            job["used_l"] += litres
            job["pumps_l"][name] = job["pumps_l"].get(name, 0.0) + litres
        used_l = job.setdefault("chemical_l", {})
        for name, litres in (chemical_l or {}).items():
            used_l[name] = used_l.get(name, 0.0) + litres

    def note_tap(self, wall: float, flow_l_min: float, dt_s: float) -> None:
        """What the tap gives with nothing holding it back. Hours of the day are UTC's."""
        if not self.here or flow_l_min < LEAST_L_MIN:
            return
        hours = self.sites[self.here]["hours"]
        hour = str(int(wall // HOUR_S) % 24)
        seen_s, mean, low, high = hours.get(hour, (0.0, flow_l_min, flow_l_min, flow_l_min))
        seen_s = min(seen_s + dt_s, REMEMBERS_S)
        mean += dt_s / seen_s * (flow_l_min - mean)
        hours[hour] = [seen_s, mean, min(low, flow_l_min), max(high, flow_l_min)]

    def hear(self, changes: Iterable[Change]) -> None:
        """Alarms that came during the job, and those that somebody answered."""
        if self.job is None:
            return
        states = [change.state for change in changes if isinstance(change, AlarmChange)]
        self.job["alarms"] += states.count("unacknowledged")
        self.job["answers"] += states.count("acknowledged")

    def standing(self) -> dict[str, Any]:
        """For the pages: where we are, the job, and the sites' names, the latest visited first."""
        job = self.job and {key: self.job[key] for key in ("site", "began", "used_l")}
        return {"site": self.here, "job": job, "sites": list(reversed(self.sites))[:20]}

    def save(self) -> dict[str, Any]:
        return {"sites": self.sites, "here": self.here, "job": self.job}

    def restore(self, saved: Mapping[str, Any]) -> None:
        self.sites, self.here = dict(saved.get("sites", {})), str(saved.get("here", ""))
        self.job = saved.get("job")
        if self.here not in self.sites:
            self.here = ""


def _rounded(litres: Mapping[str, float]) -> dict[str, float]:
    return {name: round(each, 2) for name, each in litres.items()}
