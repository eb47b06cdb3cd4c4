"""The contract's example rig, as it must be accepted to the letter."""

from pathlib import Path

import pytest

from monitor.quantities import L_PER_GAL
from monitor.rig.load import fairground, parse


def test_the_fairground_rig_is_read_in_the_programs_units() -> None:
    rig = parse(fairground(), Path("/etc/holdwater/rig.toml"))
    assert rig.about.name == "Fairground wash-down trailer"
    assert rig.tank.capacity_l == pytest.approx(320 * L_PER_GAL)
    assert rig.tank.full_l == pytest.approx(300 * L_PER_GAL)
    assert rig.tank.heel_l == pytest.approx(30 * L_PER_GAL)
    assert rig.tank.band_l == pytest.approx((50 * L_PER_GAL, 180 * L_PER_GAL))
    assert [pump.name for pump in rig.pumps] == ["Rides", "Stalls", "Stands"]
    assert [feed.kind for feed in rig.feeds] == ["mqtt", "serial"]
    assert rig.journal.file == Path("/etc/holdwater/holdwater.db")
    assert (rig.page.host, rig.page.port) == ("127.0.0.1", 8321)
