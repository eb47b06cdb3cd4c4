"""The commands of ``holdwater``, a file for each kind of work."""
