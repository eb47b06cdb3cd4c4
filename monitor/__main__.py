"""``python -m monitor`` is ``holdwater``."""

from monitor.cli import main

if __name__ == "__main__":
    main()
