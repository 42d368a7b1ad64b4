"""What holds for all tests."""

import pytest
from hypothesis import settings

# How long an example takes is no promise: a busy machine fails no test.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


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
