"""Charts and stretches of the ribbon in a real browser: words inside, apart and large enough."""

import pytest

from fuelkit.assess.flights import flight_of
from fuelkit.show.charts import chart_svg
from fuelkit.show.ribbon import ribbon
from tests.browser.test_drawings import boxes, check

FLIGHTS = (
    ("halbrook-180", "eastmere-port-ellery"),
    ("halbrook-180", "sable-cay-karn-ness"),
    ("halbrook-300", "eastmere-sable-cay"),
    ("halbrook-40", "eastmere-tarn-hollow"),
)


def height(svg):
    """Return how high a drawing is at 1280 wide."""
    return float(svg.split('viewBox="0 0 1280 ')[1].split('"')[0])


@pytest.mark.parametrize("names", FLIGHTS, ids=" ".join)
def test_words_of_the_charts_are_clear_of_each_other(page, names):
    """Phases, scales, names of lines, limits, numbers and their key; no higher than a screen."""
    for kind in ("quantities", "temperatures", "balance"):
        svg = chart_svg(flight_of(*names), kind)
        check(boxes(page, svg), height(svg))
        assert height(svg) <= 720.0


@pytest.mark.parametrize("names", FLIGHTS, ids=" ".join)
def test_words_of_a_stretch_of_the_ribbon_are_clear_of_each_other(page, names):
    """Half an hour around the middle of a flight, and its first ten minutes."""
    flight = flight_of(*names)
    middle = 0.5 * flight.sector.end
    for start, end in ((middle - 900.0, middle + 900.0), (0.0, 600.0)):
        svg = ribbon(flight, start=start, end=end)
        check(boxes(page, svg), height(svg))
