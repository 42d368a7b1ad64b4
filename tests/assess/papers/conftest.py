"""What the tests of papers share: an instructor's folder of one's own, and a sitting in it."""

import pytest

from fuelkit.assess.integrity.keeping import VARIABLE, instructor_folder
from fuelkit.assess.papers.issue import keep_sitting, secret_of
from tests.small_sitting import blueprint, issued


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A new instructor's folder, outside any course."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "instructor"))
    return instructor_folder()


@pytest.fixture
def sitting(folder):
    """The small sitting, kept in the instructor's folder."""
    secret_of(folder, blueprint().sitting)
    return keep_sitting(folder, blueprint(), issued())
