"""``python -m tests.simulation`` is its campaign."""

import sys

from tests.simulation.campaign import main

if __name__ == "__main__":
    sys.exit(main())
