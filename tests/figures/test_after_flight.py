"""After the flight: counters against gauges, the next uplift, and the words for the log."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.after_flight import (
    LIMIT_SHARE,
    NOTHING,
    REPORT,
    after_flight_sheet,
    draw_after_flight,
    log_entry,
)
from fuelkit.figures.quantities import FigureError
from fuelkit.physics.units import LITRE
from tests.figures.fleet import FLEET, aircraft

FLOWN = {
    "start": 9000.0, "used": (2500.0, 2540.0), "uncounted": 60.0, "gauges": 3880.0,
    "next_block": 8000.0, "dense": 800.0,
}  # fmt: skip


def sheet(**changed):
    """The sheet of a flight."""
    return after_flight_sheet(**(FLOWN | changed))


def test_a_flight_by_hand():
    """9 000 - 5 040 - 60 = 3 900; 3 880 shown: 20 short; 8 000 - 3 880 = 4 120 kg = 5 150 l."""
    values = sheet().worked()
    assert values["counted"] == 5040.0
    assert values["expected"] == 3900.0
    assert values["difference"] == -20.0
    assert values["limit"] == pytest.approx(100.8)
    assert values["decision"] == NOTHING
    assert values["uplift"] == 4120.0
    assert values["litres"] / LITRE == pytest.approx(5150.0)


@given(
    st.floats(0, 1e5), st.floats(0, 1e5), st.floats(0, 1e3), st.floats(0, 1e5), st.floats(0, 1e5)
)
def test_mass_is_conserved(first, second, rest, gauges, block):
    """Used and expected are what was there; remaining and uplift are what is asked for next."""
    start = first + second + rest
    values = sheet(start=start, used=(first, second), uncounted=rest, gauges=gauges,
                   next_block=block).worked()  # fmt: skip
    assert values["counted"] + rest + values["expected"] == pytest.approx(start, abs=1e-6)
    assert values["uplift"] + gauges == pytest.approx(max(block, gauges), abs=1e-6)
    assert values["litres"] * 800.0 == pytest.approx(values["uplift"])


@pytest.mark.parametrize("sense", [-1.0, 1.0])
@pytest.mark.parametrize("over, told", [(-0.1, NOTHING), (0.1, REPORT)])
def test_the_limit_on_both_sides(sense, over, told):
    """2 % of 5 040 kg (common practice, no source), up and down."""
    gauges = 3900.0 + sense * (LIMIT_SHARE * 5040.0 + over)
    assert sheet(gauges=gauges).worked()["decision"] == told


@pytest.mark.parametrize("over, told", [(-0.1, NOTHING), (0.1, REPORT)])
def test_after_a_short_flight_the_least_limit_counts(over, told):
    """2 % of 500 kg is less than the gauges can be read to."""
    gauges = 9000.0 - 500.0 - 60.0 - 100.0 - over
    assert sheet(used=(250.0, 250.0), gauges=gauges).worked()["decision"] == told


def test_enough_on_board_needs_no_uplift():
    """Nothing is taken off an aircraft by a figure."""
    assert sheet(next_block=3000.0).worked()["uplift"] == 0.0


def test_slips_give_what_they_say():
    """Multiplied for divided, kilograms for litres, the remaining fuel forgotten."""
    slips = {slip.name: slip for step in sheet().steps for slip in step.slips}
    assert slips["density inverted"].work(4120.0, 800.0) / LITRE == pytest.approx(3296.0)
    assert slips["kg read as litres"].work(4120.0, 800.0) / LITRE == pytest.approx(4120.0)
    assert slips["all of it"].work(8000.0, 3880.0) == 8000.0


@pytest.mark.parametrize("name", [name for name in FLEET if aircraft(name).counters])
@pytest.mark.parametrize("draw", range(4))
def test_the_log_has_every_figure_and_the_decision(name, draw):
    """It is put together from the sheet: each figure in it is one of the sheet's."""
    work = draw_after_flight(aircraft(name), draw)
    values, entry = work.worked(), log_entry(work)
    for step in ("expected", "difference", "uplift", "litres"):
        assert work.step(step).written(values[step]) in entry
    for given_ in work.givens:
        if given_.name in ("start", "gauges", "uncounted", "density", "used 1", "used 2"):
            assert str(given_) in entry
    assert ("please investigate" in entry) is (values["decision"] == REPORT)
    assert ("Nothing to report" in entry) is (values["decision"] == NOTHING)


@pytest.mark.parametrize(
    "changed, told",
    [
        ({"used": ()}, "used: there is no counter"),
        ({"used": (5000.0, 5000.0)}, "used: it is 10 060 kg together; it must be at most"),
        ({"used": (math.nan,)}, "used 1: it is nan"),
        ({"gauges": -1.0}, "gauges: it is -1 kg"),
        ({"start": "9 t"}, "start: it is '9 t'"),
        ({"next_block": math.inf}, "next_block: it is inf"),
        ({"dense": 0.8}, "0.8 kg/l is 800 kg/m³"),
        ({"least_limit": 0.0}, "least_limit: it is 0 kg; it must be more than 0 kg"),
    ],
)
def test_what_cannot_be_is_told(changed, told):
    """No counter, more used than there was, no number, negative, text, another unit."""
    with pytest.raises(FigureError, match=told):
        sheet(**changed)
