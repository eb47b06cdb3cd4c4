"""Five fixed lives, and two that once found something; five and two more in a file beside, for files run side by side.

Of the ten, at least one catches each bug that is planted on purpose.
"""

from pathlib import Path

import pytest

from tests.simulation.life import Life


@pytest.mark.campaign
@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5, 256, 274])
def test_a_life(seed: int, tmp_path: Path) -> None:
    """Run it alone with what happened in it: make simulate ALONE=SEED."""
    lived = Life(seed, tmp_path).live()
    assert lived.failures == []
    assert lived.lives >= 1
