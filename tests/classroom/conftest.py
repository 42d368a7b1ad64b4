"""One classroom for all tests of it: set up by the kit, started by the instructor's command."""

import pytest

from fuelkit.classroom import set_up
from tests.classroom import rig as rigs

LEARNERS = ("A07", "B12", "C3", "D-4", "E55")


@pytest.fixture(scope="session")
def stopped_rig():
    """Give a classroom that is set up and not started, or skip with the reason."""
    if reason := rigs.why_not():
        pytest.skip(reason)
    rig = rigs.make(LEARNERS)
    yield rig
    rig.stop()
    set_up.remove(rig.classroom)


@pytest.fixture(scope="session")
def rig(stopped_rig):
    """Give a classroom whose hub runs."""
    stopped_rig.start()
    return stopped_rig
