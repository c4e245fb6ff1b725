"""Fixtures for tests of recordings."""

import pytest
from tables_help import reader


@pytest.fixture
def read(tmp_path):
    """Read a text as if it stood in a file."""
    return reader(tmp_path)
