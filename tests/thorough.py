"""Which tests the check of every day leaves out, so that it takes minutes; `thorough.txt` says."""

import os
import re
from functools import cache
from pathlib import Path

from fuelkit.command.test import THOROUGH

LIST = Path(__file__).with_name("thorough.txt")


def patterns(text):
    r"""Return the patterns of a list, as names of tests in which "*" stands for anything.

    Examples
    --------
    >>> patterns("# why\ntests/a.py::test_b[*]\n")
    ('tests/a.py::test_b[*]',)
    """
    lines = (line.partition("# ")[0].strip() for line in text.splitlines())
    return tuple(line for line in lines if line)


@cache
def _left_out():
    found = patterns(LIST.read_text(encoding="utf-8"))
    return re.compile("|".join(re.escape(p).replace(r"\*", ".*") for p in found))


def is_thorough():
    """Return whether the thorough check was asked for."""
    return os.environ.get(THOROUGH) == "1"


def is_left_out(name):
    """Return whether a test is run by the thorough check alone."""
    return not is_thorough() and _left_out().fullmatch(name) is not None
