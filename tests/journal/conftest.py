"""A journal file, and a journal that is stepped by the tests."""

import pytest
from journal_steps import new


@pytest.fixture
def path(tmp_path):
    return tmp_path / "journal.db"


@pytest.fixture
def journal(path):
    made = new(path)
    yield made
    made.close()
