"""The course's aircraft: every automatic function occurs in its sectors, and nothing is spilled."""

from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector

SECTORS = ("eastmere-port-ellery", "port-ellery-eastmere", "sable-cay-karn-ness")


def test_every_rule_takes_hold_in_the_sectors_of_the_aircraft(halbrook):
    """Among them the crossfeed, and the high-level sensors when gauges read low."""
    flights = [fly(halbrook, load_sector(name, halbrook)) for name in SECTORS]
    held = {c.name for flight in flights for c in flight.changes if c.after == "ACTIVE"}
    assert [rule.name for rule in halbrook.rules if rule.name not in held] == []
    for flight in flights:
        assert abs(flight.conservation_error()) < 1e-3
        assert flight.quantity("overboard", flight.sector.end) == 0.0
        assert "STARVED" not in {change.after for change in flight.changes}
