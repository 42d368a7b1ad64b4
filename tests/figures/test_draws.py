"""Numbers drawn for a situation, and what makes a drawn sheet fair."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.figures.draws import Draw, first_fair, is_fair, rounded, scale_of, with_telling_slips
from fuelkit.figures.quantities import FigureError
from tests.figures.fleet import FLEET, aircraft


def small(fuel, slip_factor=0.5):
    """A sheet of one sum and a decision at 100 kg."""
    steps = (
        Step("double", "Twice", ("fuel",), "fuel × 2", "kg", lambda f: 2.0 * f, tolerance=5.0,
             slips=(Slip("slip", "A slip.", lambda f: 2.0 * slip_factor * f),)),
        Step("enough", "Enough?", ("double",), "at least 100 kg", "",
             lambda d: "yes" if d >= 100.0 else "no", options=("yes", "no")),
    )  # fmt: skip
    return Sheet("small", "Small", "", (Given("fuel", "Fuel", fuel, "kg"),), steps)


def test_a_draw_follows_from_its_words_on_every_machine():
    """The first 48 bits of SHA-256 (FIPS 180-4), as hashlib gives them."""
    digest = hashlib.sha256(b"uplift|halbrook-180|7|volume").digest()
    expected = int.from_bytes(digest[:6], "big") / 2**48
    assert Draw("uplift", "halbrook-180", 7).share("volume") == expected


@given(st.integers(0, 10**6), st.floats(-1e3, 1e3), st.floats(0.1, 1e3))
def test_a_draw_stays_in_its_range(number, low, width):
    """Shares, ranges, whole numbers and choices."""
    draw = Draw("test", number)
    assert 0.0 <= draw.share("a") < 1.0
    assert low <= draw.between(low, low + width, "b") <= low + width
    assert draw.whole(3, 5, "c") in (3, 4, 5)
    assert draw.one_of("xyz", "d") in "xyz"


@given(st.floats(-1e6, 1e6), st.sampled_from([0.001, 0.1, 5.0, 20.0, 100.0]))
def test_rounding_gives_a_whole_multiple_nearby(value, step):
    """No dust is left, and nothing moves by more than half a step."""
    found = rounded(value, step)
    assert abs(found - value) <= 0.5 * step * (1 + 1e-6)
    assert abs(found / step - round(found / step)) < 1e-5


def test_a_slip_that_gives_the_right_answer_is_not_fair():
    """It is taken off where a sheet can do without it."""
    assert is_fair(small(80.0))
    unfair = small(80.0, slip_factor=1.01)
    assert not is_fair(unfair)
    assert with_telling_slips(unfair).steps[0].slips == ()
    assert len(with_telling_slips(small(80.0)).steps[0].slips) == 1


@pytest.mark.parametrize("fuel, fair", [(47.4, True), (47.6, False), (52.4, False), (52.6, True)])
def test_a_decision_that_a_tolerance_turns_is_not_fair(fuel, fair):
    """The sum may be 5 kg off: 100 kg must be further away than that."""
    assert is_fair(small(fuel)) is fair


def test_a_sheet_that_is_never_fair_is_a_fault_of_its_ranges():
    """Said with what it was drawn for, and not drawn for ever."""
    with pytest.raises(FigureError, match="no fair sheet in 200 tries for small, 3"):
        first_fair(lambda draw: small(50.0), "small", 3)
    assert first_fair(lambda draw: small(draw.between(0, 90, "f")), "small", 3).worked()


@pytest.mark.parametrize("name", FLEET)
def test_the_scale_of_an_aircraft_is_that_of_its_tanks(name):
    """What is full is what the tanks are refuelled to; it lasts some hours."""
    own = aircraft(name)
    scale = scale_of(own)
    volume = sum(tank.refuelled_volume for tank in own.tanks)
    assert scale.full == pytest.approx(800.0 * volume)
    assert 4.0 * 3600 < scale.full / scale.flow < 17.0 * 3600
    assert scale.grain < 0.01 * scale.full
