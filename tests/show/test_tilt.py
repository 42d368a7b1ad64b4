"""The tank explorer without a browser: what is set is drawn and computed, bad input is named."""

import re
from pathlib import Path

import pytest

import fuelkit.aircraft
from fuelkit.aircraft.load import load_aircraft
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.tilt import ALL, ExplorerError, tank_explorer

STARTER = str(Path(fuelkit.aircraft.__file__).parent / "own" / "starter.toml")


@pytest.fixture
def explorer(halbrook):
    """Open the explorer of the course's aircraft."""
    return tank_explorer(halbrook)


@pytest.mark.parametrize("name", ["halbrook-40", "halbrook-180", "halbrook-300", STARTER])
def test_every_control_of_every_aircraft_reaches_both_its_ends(name, parsed):
    """For each tank and for all of them; drawing and table are made anew each time."""
    explorer = tank_explorer(load_aircraft(name))
    tanks = [option["value"] for option in explorer.controls[0]["options"]]
    assert tanks[0] == ALL and len(tanks) > 2
    for tank in (ALL, tanks[1], tanks[-1]):
        explorer.set(tank=tank)
        for control in explorer.controls[1:]:
            for end in ("low", "high"):
                explorer.set(**{control["id"]: control[end]})
                now = next(c for c in explorer.controls if c["id"] == control["id"])
                assert now["value"] == control[end] and now["words"]
                parsed(explorer.drawing)
    assert "Gauge shows" in explorer.table


def test_what_is_set_is_what_is_computed(explorer):
    """Fill in percent of the highest fill at 15 °C; other tanks keep theirs."""
    explorer.set(tank="centre", fill=50, density=780, temperature=15)
    centre = explorer.rest.states["centre"]
    assert centre.volume == pytest.approx(0.5 * centre.tank.highest_volume)
    assert centre.mass == pytest.approx(780.0 * centre.volume)
    other = explorer.rest.states["left inboard"]
    assert other.volume == pytest.approx(0.7 * other.tank.highest_volume)
    explorer.set(tank=ALL, fill=20)
    shares = {s.volume / s.tank.highest_volume for s in explorer.rest.states.values() if s.mass}
    assert list(shares) == pytest.approx([0.2] * len(shares))


def test_warming_a_full_tank_is_told_with_where_it_goes(explorer):
    """The table of one tank has the tanks into which it runs over beside it."""
    explorer.set(tank="left outboard", fill=100)
    explorer.set(tank="left inboard", fill=100)
    assert not explorer.rest.spills
    explorer.set(tank="left outboard", temperature=45)
    assert "it runs over into the left inboard tank" in explorer.said
    for title in ("Left outboard cell", "Left inboard tank", "Left vent surge tank"):
        assert f'<th scope="col">{title}</th>' in explorer.table


@pytest.mark.parametrize(
    "given, words",
    [
        ({"pich": 1}, "no control 'pich'"),
        ({"pitch": 40}, "pitch is 40 °; it must lie between -6 and 9 °"),
        (
            {"tank": "left surge"},
            "tank is 'left surge'; it must be one of all tanks, left outboard",
        ),
        ({"fill": "half"}, "fill is 'half'; it must be a number [%]"),
        ({"fill": float("nan")}, "fill is nan"),
        ({"tank": "centre", "cut": 3.0}, "between -1.95 and 1.95 m"),
    ],
)
def test_bad_input_is_named_and_changes_nothing(explorer, given, words):
    """Also when one of two values is right."""
    before = explorer.drawing
    with pytest.raises(ExplorerError, match=re.escape(words)) as caught:
        explorer.set(**given)
    assert isinstance(caught.value, FuelkitError)
    explorer.set()
    assert explorer.drawing == before


def test_an_error_on_the_page_is_told_and_goes_with_the_next_try(explorer):
    """It stands on the explorer, since nobody sees what a callback raises."""
    explorer._heard(None, {"kind": "set", "values": {"pitch": 99}}, [])
    assert "pitch is 99" in explorer.error
    explorer._heard(None, {"kind": "set", "values": {"pitch": 2}}, [])
    assert explorer.error == "" and "2° nose up" in explorer.said
    explorer._heard(None, {"kind": "start"}, [])
    assert "Level;" in explorer.drawing
