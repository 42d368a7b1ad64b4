"""Flights of a board: computed once, wherever it was done."""

from fuelkit.assess import flights
from fuelkit.assess.flights import computed_together, flight_of, keep_at_hand
from tests.small_sitting import OWN

ASKED = [(OWN, "standard", 71, ""), (OWN, "standard", 72, "")]


def test_flights_computed_together_are_at_hand(monkeypatch):
    """None of them is computed again, neither here nor where they were sent to."""
    found = computed_together(ASKED, map)
    assert list(found) == ASKED
    flight_of.cache_clear()  # as in a new process
    monkeypatch.setattr(flights, "fly", None)

    keep_at_hand(found)

    for asked in ASKED:
        assert flight_of(*asked) is found[asked]


def test_a_flight_that_is_cut_short_is_not_the_whole_one():
    """What is kept at hand is the whole flight; a part of it is computed by itself."""
    keep_at_hand(computed_together(ASKED[:1], map))
    part = flight_of(*ASKED[0], until=600.0)
    assert part.sector.end < flight_of(*ASKED[0]).sector.end
