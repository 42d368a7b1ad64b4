"""Work spread over cores: the same results in order, whatever this process has done before."""

import subprocess
import sys

from fuelkit.assess.papers.issue import over_cores

_SECOND_TIME = """
from functools import partial
from fuelkit.assess.papers.issue import over_cores
from fuelkit.show.print.typeset import pdf

set_page = partial(pdf, title="", head="", foot="")
if __name__ == "__main__":
    here = [set_page(f"page {n}") for n in range(8)]
    assert list(over_cores(set_page, [f"page {n}" for n in range(8)])) == here
"""


def test_results_come_in_order():
    """As many as there are items, none if there are none."""
    assert list(over_cores(abs, range(-40, 0))) == list(range(40, 0, -1))
    assert list(over_cores(abs, [])) == []


def test_pages_are_set_over_cores_after_one_was_set_here():
    """Two sittings marked by one command; a copy of this process would wait without end."""
    subprocess.run([sys.executable, "-c", _SECOND_TIME], check=True, timeout=120)
