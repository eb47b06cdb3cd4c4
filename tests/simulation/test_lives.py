"""Ten fixed lives, and two that once found something; a dozen more in a file beside, for files run side by side.

At least one of the two dozen catches each bug that is planted on purpose.
"""

from pathlib import Path

import pytest

from tests.simulation.life import Life


@pytest.mark.campaign
@pytest.mark.parametrize("seed", [*range(1, 11), 256, 274])
def test_a_life(seed: int, tmp_path: Path) -> None:
    """Run it alone with what happened in it: make simulate ALONE=SEED."""
    lived = Life(seed, tmp_path).live()
    assert lived.failures == []
    assert lived.lives >= 1
