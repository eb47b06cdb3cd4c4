"""The ways that are shown are the ways that are open."""

from pathlib import Path

import pytest
from test_pages_roles import Desk, ask, door

ALL = ["chemical", "plan", "books", "sites", "history", "alarms", "practice", "owner", "bench"]


@pytest.mark.parametrize("role", ["crew", "owner"])
def test_each_device_is_shown_what_it_may_open(tmp_path: Path, role: str, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(Desk, "bench", object())
    at = door(tmp_path)
    shown = ask(at, "GET", "/api/ways", role).json()["pages"]
    opened = [page for page in ALL if ask(at, "GET", f"/{page}", role).status_code == 200]
    assert shown == opened == (ALL if role == "owner" else ALL[:7])


def test_the_bench_is_shown_on_a_simulated_day_only(tmp_path: Path):
    assert ask(door(tmp_path), "GET", "/api/ways", "owner").json() == {"pages": ALL[:-1]}


def test_who_is_not_paired_is_shown_nothing(tmp_path: Path):
    assert ask(door(tmp_path), "GET", "/api/ways").status_code == 401
