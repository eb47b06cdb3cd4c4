"""A dozen fixed lives, and two that once found something."""

from pathlib import Path

import pytest

from tests.simulation.life import Life


@pytest.mark.campaign
@pytest.mark.parametrize("seed", [*range(1, 13), 256, 274])
def test_a_life(seed: int, tmp_path: Path) -> None:
    """Run it alone with what happened in it: make simulate ALONE=SEED."""
    lived = Life(seed, tmp_path).live()
    assert lived.failures == []
    assert lived.lives >= 1
