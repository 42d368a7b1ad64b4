"""What holds for all tests."""

import os

import pytest
from hypothesis import settings

from tests import shared_flights
from tests.thorough import is_left_out

# How long an example takes is no promise: a busy machine fails no test.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def pytest_collection_modifyitems(config, items):
    """Leave out what only the thorough check runs; see `thorough.py`."""
    left_out = [item for item in items if is_left_out(item.nodeid)]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if not is_left_out(item.nodeid)]


@pytest.fixture(scope="session", autouse=True)
def _flights_are_shared(tmp_path_factory):
    """What one worker has flown, no other flies again in this run."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "flights"
    folder.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        shared_flights.share(folder, patch)
        yield


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Keep a file on one core, as always, and all of the classroom: it has one hub."""
    if config.getoption("dist") != "loadfile":
        return None
    from xdist.scheduler import LoadFileScheduling

    class OneClassroom(LoadFileScheduling):
        def _split_scope(self, nodeid):
            whole = "tests/classroom/"
            return whole if nodeid.startswith(whole) else super()._split_scope(nodeid)

    return OneClassroom(config, log)
