"""Uplift check: volume, density and mixed units to mass; what is accepted and what is not."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelkit.figures.quantities import FigureError
from fuelkit.figures.uplift import (
    ACCEPT,
    INVESTIGATE,
    LIMIT_SHARE,
    NAMED_WEIGHTS,
    Delivery,
    delivered_mass,
    uplift_sheet,
)
from fuelkit.physics.units import IMPERIAL_GALLON, LITRE, POUND, US_GALLON

NOTE = Delivery(10.0, "l", 800.0)


def worked(before=2000.0, delivery=NOTE, after=10_000.0, **more):
    """The values of a sheet; 10 000 l at 0.8 kg/l on 2 000 kg by default."""
    return uplift_sheet(before, delivery, after, **more).worked()


# ------------------------------------------------------------------------------- worked examples
def test_litres_by_density_by_hand():
    """10 000 l × 0.8 kg/l = 8 000 kg; 2 000 + 8 000 - 50 = 9 950; 10 000 shown: 50 too many."""
    values = worked(used=50.0)
    assert values["mass"] == pytest.approx(8000.0)
    assert values["expected"] == pytest.approx(9950.0)
    assert values["discrepancy"] == pytest.approx(50.0)
    assert values["limit"] == pytest.approx(240.0)
    assert values["decision"] == ACCEPT


@pytest.mark.parametrize(
    "rule, pounds",
    [("FAA AMT Handbook - General", 6700.0), ("FAA-H-8083-25B (from memory)", 6800.0)],
)
def test_a_thousand_us_gallons_by_a_named_weight(rule, pounds):
    """FAA AMT Handbook - General: 6.7 lb in each US gallon (seen); FAA-H-8083-25B: 6.8 (memory)."""
    note = Delivery(1000.0 * US_GALLON, "US gal", rule=rule)
    values = worked(delivery=note, after=5000.0)
    assert values["pounds"] / POUND == pytest.approx(pounds)
    assert values["mass"] == pytest.approx(pounds * 0.45359237)
    assert delivered_mass(note) == pytest.approx(values["mass"])


def test_gallons_in_litres():
    """NIST SP 811, appendix B: 3.785411784 l and 4.54609 l exactly; the slip is the other one."""
    us = uplift_sheet(0.0, Delivery(1000 * US_GALLON, "US gal", 800.0), 3000.0)
    assert us.worked()["litres"] / LITRE == pytest.approx(3785.411784)
    assert us.step("litres").slips[0].work(1000 * US_GALLON) / LITRE == pytest.approx(4546.09)
    imperial = uplift_sheet(0.0, Delivery(1000 * IMPERIAL_GALLON, "imp gal", 800.0), 3000.0)
    assert imperial.worked()["litres"] / LITRE == pytest.approx(4546.09)
    slip = imperial.step("litres").slips[0]
    assert slip.work(1000 * IMPERIAL_GALLON) / LITRE == pytest.approx(3785.411784)


@given(
    st.floats(100.0, 50_000.0), st.floats(775.0, 840.0), st.sampled_from(["l", "US gal", "imp gal"])
)
def test_the_unit_of_the_note_changes_no_mass(litres, dense, unit):
    """Units go round: the same volume weighs the same in whatever unit it was metered."""
    mass = worked(0.0, Delivery(litres * LITRE, unit, dense), 100.0)["mass"]
    assert mass == pytest.approx(litres * LITRE * dense, rel=1e-12)


@given(st.floats(0, 1e5), st.floats(0.1, 100), st.floats(775, 840), st.floats(0, 500))
def test_mass_is_conserved(before, volume, dense, used):
    """What is expected is what was there, what came, and what was used, and nothing else."""
    values = worked(before, Delivery(volume, "l", dense), before, used=used)
    assert values["expected"] - before + used == pytest.approx(values["mass"], abs=1e-6)
    assert values["discrepancy"] + values["expected"] == pytest.approx(before, abs=1e-6)


def test_pounds_added_to_kilograms_are_a_slip():
    """Only where the gauges are in pounds."""
    assert not uplift_sheet(2000.0, NOTE, 10_000.0).step("expected").slips
    sheet = uplift_sheet(2000.0, NOTE, 10_000.0, gauge_unit="lb")
    got = sheet.step("expected").slips[0].work(2000.0, 8000.0, 0.0)
    assert got == pytest.approx(2000.0 / 0.45359237 + 8000.0)


def test_the_density_inverted_and_litres_as_kilograms():
    """10 000 l ÷ 0.8 = 12 500; 10 000 l read as kg = 10 000."""
    slips = {slip.name: slip for slip in uplift_sheet(0.0, NOTE, 8000.0).step("mass").slips}
    assert slips["density inverted"].work(10.0, 800.0) == pytest.approx(12_500.0)
    assert slips["litres read as kg"].work(10.0, 800.0) == pytest.approx(10_000.0)


# -------------------------------------------------------------------------------------- the limit
@pytest.mark.parametrize("sense", [-1.0, 1.0])
@pytest.mark.parametrize("over, told", [(-0.1, ACCEPT), (0.1, INVESTIGATE)])
def test_the_limit_is_a_share_of_the_uplift(sense, over, told):
    """3 % of 8 000 kg is 240 kg (common practice, no source): both sides of it, up and down."""
    limit = LIMIT_SHARE * 8000.0
    assert worked(after=10_000.0 + sense * (limit + over))["decision"] == told


@pytest.mark.parametrize("over, told", [(-0.1, ACCEPT), (0.1, INVESTIGATE)])
def test_of_a_small_uplift_the_least_limit_counts(over, told):
    """3 % of 800 kg is less than the gauges can be read to."""
    note = Delivery(1.0, "l", 800.0)
    values = worked(2000.0, note, 2800.0 + 100.0 + over, least_limit=100.0)
    assert values["limit"] == 100.0 and values["decision"] == told


# ------------------------------------------------------------------------------------- bad input
@pytest.mark.parametrize(
    "arguments, told",
    [
        ({"before": -1.0}, "before: it is -1 kg; it must be at least 0 kg"),
        ({"after": math.nan}, "after: it is nan; it must be a number"),
        ({"before": "2 t"}, "before: it is '2 t'; it must be a number"),
        ({"delivery": Delivery(10_000.0, "l", 800.0)}, "5 000 l is 5 m³"),
        ({"delivery": Delivery(10.0, "l", 0.8)}, "0.8 kg/l is 800 kg/m³"),
        ({"delivery": Delivery(10.0, "gal", 800.0)}, "unit: it is 'gal'.*'US gal'"),
        ({"delivery": Delivery(10.0, "l")}, "the measured density, or the name"),
        ({"delivery": Delivery(1.0, "US gal", 800.0, "FAA-H-8083-25B (from memory)")}, "not both"),
        ({"delivery": Delivery(1.0, "US gal", rule="6.7")}, "rule: it is '6.7'"),
        ({"delivery": Delivery(1.0, "l", rule="FAA AMT Handbook - General")}, "a US gallon"),
        ({"gauge_unit": "t"}, "gauge_unit: it is 't'"),
        ({"used": -5.0}, "used: it is -5 kg"),
        ({"least_limit": 0.0}, "least_limit: it is 0 kg; it must be more than 0 kg"),
    ],
)
def test_what_cannot_be_is_told(arguments, told):
    """Negative, no number, text, mixed units, unknown names, a weight given twice or not at all."""
    with pytest.raises(FigureError, match=told):
        worked(**arguments)


def test_the_assumed_weights_are_named_and_not_taken_for_measured():
    """A sheet that follows one says which."""
    for rule, weight in NAMED_WEIGHTS.items():
        sheet = uplift_sheet(0.0, Delivery(5.0, "US gal", rule=rule), 4000.0)
        assert sheet.step("pounds").source == rule
        assert any(str(weight) in str(given.value) for given in sheet.givens)
