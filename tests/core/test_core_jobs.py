"""Jobs and sites: what a job took, what a site's tap showed, and what may not be done."""

import json

import pytest
from trailer import BEGIN, Watched

from monitor.alarms.refusals import Refused
from monitor.changes import JobDone
from monitor.core.basis import basis
from monitor.core.standing import standing
from monitor.readings import Act


def worked(watched: Watched) -> JobDone:
    watched.does("finish-job", note="gate locked")
    (done,) = [change for change in watched.alarms if isinstance(change, JobDone)]
    return done


def test_a_job_has_the_water_that_was_used_by_each_pump():
    watched = Watched(600.0).runs(120, "Rides")
    watched.does("start-job", site="North field")
    watched.runs(600, "Rides", tap=10.0).runs(300, "Stalls")
    figures = worked(watched).figures
    assert figures["site"] == "North field"
    assert figures["watched_s"] == pytest.approx(900.0, abs=2.0)
    assert figures["in_l"] == pytest.approx(100.0, abs=2.0)  # ten minutes of 10 l/min
    assert figures["pumps_l"]["Rides"] == pytest.approx(220.0, rel=0.03)  # 22 l/min for ten minutes
    assert figures["pumps_l"]["Stalls"] == pytest.approx(70.0, rel=0.05)  # 14 l/min for five
    assert figures["used_l"] == pytest.approx(sum(figures["pumps_l"].values()), abs=0.1)
    assert figures["note"] == "gate locked"


def test_alarms_and_answers_are_the_jobs_own():
    watched = Watched(330.0).runs(60)
    watched.does("start-job", site="North field")
    watched.runs(560, "Rides")
    assert watched.stands("dry-soon")
    watched.does("acknowledge", "dry-soon")
    figures = worked(watched).figures
    assert figures["alarms"] == len(set(watched.raised()))
    assert figures["answers"] == 1


def test_a_site_remembers_its_tap_and_a_restart_takes_nothing():
    watched = Watched(300.0)
    watched.does("new-place", site="North field")
    watched.runs(600, "Stalls", tap=14.5)
    watched.does("new-place", site="South field")
    watched.runs(600, "Stalls", tap=8.0)
    kept = Watched(300.0, saved=json.loads(json.dumps(watched.core.save())))
    taps = basis(kept.core).sites
    assert list(taps) == ["South field", "North field"]
    assert taps["North field"].l_min == pytest.approx(14.5, rel=0.1)
    assert taps["South field"].l_min == pytest.approx(8.0, rel=0.15)
    hours = kept.core.jobs.sites["North field"]["hours"]
    assert str(int(BEGIN // 3600) % 24) in hours


def test_a_job_goes_on_over_a_restart():
    watched = Watched(600.0).runs(60)
    watched.does("start-job", site="North field")
    watched.runs(60, "Rides")
    kept = Watched(600.0, saved=json.loads(json.dumps(watched.core.save())))
    assert standing(kept.core, BEGIN)["work"]["job"]["site"] == "North field"


def test_two_touches_in_their_order():
    core = Watched(600.0).runs(5).core
    with pytest.raises(Refused, match="none is under way"):
        core.acts.check(Act(core.now, "finish-job"))
    core.take(Act(core.now, "start-job", "Ann"))
    with pytest.raises(Refused, match="one is under way"):
        core.acts.check(Act(core.now, "start-job"))
    assert core.take(Act(core.now, "start-job", "Ann")) == []


def test_sites_are_bounded_and_the_oldest_goes_first():
    jobs = Watched(600.0).core.jobs
    for n in range(310):
        jobs.arrive(f"site {n}", float(n))
    jobs.arrive("site 10", 400.0)
    jobs.arrive("one more", 401.0)
    assert len(jobs.sites) == 300
    assert "site 10" in jobs.sites
    assert "site 11" not in jobs.sites


def test_engine_hours_are_kept_for_good():
    watched = Watched(900.0).runs(300, "Rides").runs(300, running=("Rides",))
    kept = Watched(600.0, saved=json.loads(json.dumps(watched.core.save()))).runs(120, "Rides")
    rides, stalls = kept.core.hours.standing(kept.core.pumps)
    assert rides["ran_h"] == pytest.approx(720.0 / 3600.0, abs=0.01)
    assert rides["drew_h"] == pytest.approx(420.0 / 3600.0, abs=0.01)
    assert (stalls["ran_h"], stalls["signal"]) == (0.0, True)
