"""What the tests of the mark log share: events to write, and the lines to tamper with."""

import os
import sys

from fuelkit.assess.integrity.entry import happened


def marked(learner="A07", sitting="cruise", **personal):
    """An event like those that marking writes."""
    return happened("marked", sitting, learner, {"mark": 7.5, **personal}, {"edition": 1})


def raw(path):
    """The lines of a log, each with its end."""
    return path.read_bytes().splitlines(keepends=True)


def put(path, lines):
    """Write the lines of a log as somebody would who tampers with it."""
    path.write_bytes(b"".join(lines))


def environment():
    """The environment for a process that imports the same kit."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
