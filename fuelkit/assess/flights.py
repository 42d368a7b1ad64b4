"""The computed flight that belongs to a board, computed once and remembered."""

from functools import lru_cache

from fuelkit.aircraft.load import load_aircraft
from fuelkit.aircraft.reading import read_toml
from fuelkit.assess.vary import varied
from fuelkit.flight.amend import amended, cut_short
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector, sector_library
from fuelkit.survey.standard_sector import standard_sector

STANDARD = "standard"
"""Name of the sector that the kit makes for an aircraft that has none of its own."""


@lru_cache(maxsize=1)
def _sector_aircraft():
    """For each sector of the kit, the aircraft that it is written for."""
    return {path.name[:-5]: read_toml(path)["aircraft"] for path in sector_library()}


@lru_cache(maxsize=16)
def aircraft_of(name):
    """Return an aircraft by its name in the kit or the path of its file, read once."""
    return load_aircraft(name)


def sectors_for(aircraft):
    """Return the names of the sectors that an aircraft can be taught on, the lesson's first."""
    own = [n for n, flown in _sector_aircraft().items() if flown == aircraft.identifier]
    return (*own, STANDARD)


AT_HAND = 64
"""How many flights are kept at hand."""
_READY = {}  # flights that another process has computed


def computed_together(asked, work):
    """Compute flights over the cores, and keep them at hand.

    Parameters
    ----------
    asked : sequence of (str, str, int, str)
        The first four parameters of `flight_of`; at most `AT_HAND`.
    work : callable
        Maps a function over a sequence.

    Returns
    -------
    dict
        For `keep_at_hand` in other processes.
    """
    found = dict(zip(asked, work(_computed, asked), strict=True))
    keep_at_hand(found)
    return found


def _computed(asked):
    return flight_of(*asked)


def keep_at_hand(found):
    """Let `flight_of` have flights that were computed elsewhere, by what was asked for."""
    _READY.update(found)
    for asked in found:
        flight_of(*asked)
    _READY.clear()


@lru_cache(maxsize=AT_HAND)
def flight_of(aircraft_name, sector_name, draw=0, more="", until=None):
    """Return a computed flight. It is frozen, so that all who ask may share it.

    Parameters
    ----------
    aircraft_name : str
        In the kit, or the path of a file.
    sector_name : str
        In the kit, or "standard".
    draw : int
        0 for the sector as it is written; else the number of a variation.
    more : str
        Failures and crew actions beside those of the sector; see `flight.amend`.
    until : float, optional
        Fly only so far, for a look at an early moment. [s]
    """
    if until is None and (aircraft_name, sector_name, draw, more) in _READY:
        return _READY[aircraft_name, sector_name, draw, more]
    aircraft = aircraft_of(aircraft_name)
    if sector_name == STANDARD:
        sector = standard_sector(aircraft)
    else:
        sector = load_sector(sector_name, aircraft)
    if draw:
        sector = varied(sector, aircraft, draw)
    sector = amended(sector, aircraft, more)
    return fly(aircraft, sector if until is None else cut_short(sector, until))


def flight_for(unit, board):
    """Return the computed flight of a board of a lesson or exercise."""
    return flight_of(
        board.aircraft or unit.aircraft, board.sector or unit.sector, board.draw, board.more
    )
