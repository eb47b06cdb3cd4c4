"""The journal: one SQLite file that keeps what came, what was believed, and what people were told."""
