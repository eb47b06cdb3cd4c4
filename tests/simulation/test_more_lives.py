"""The other half of the lives of test_lives.py."""

from pathlib import Path

import pytest

from tests.simulation.life import Life


@pytest.mark.campaign
@pytest.mark.parametrize("seed", [*range(11, 20), 27, 349, 392])
def test_a_life(seed: int, tmp_path: Path) -> None:
    """Run it alone with what happened in it: make simulate ALONE=SEED."""
    lived = Life(seed, tmp_path).live()
    assert lived.failures == []
    assert lived.lives >= 1
