"""What the tests of keys and logs share: an instructor's folder of one's own."""

import pytest

from fuelkit.assess.integrity.keeping import VARIABLE, instructor_folder


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A new instructor's folder, outside any course."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "instructor"))
    return instructor_folder()
