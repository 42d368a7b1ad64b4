"""Tables: the same as the drawing in words, and sound for a screen reader."""

import pytest

from fuelkit.flight.picture import picture
from fuelkit.physics.writing import mass_text
from fuelkit.show.schematic import schematic_table, schematic_table_html, table_html
from tests.show.test_schematic import HIDDEN, MOMENTS


@pytest.mark.parametrize("time", MOMENTS)
def test_the_table_agrees_with_the_picture(halbrook, flight, time):
    """Every tank's mass and every component's state, row by row."""
    now = picture(flight, time)
    rows = {row[0].casefold(): row for row in schematic_table(halbrook, now)}
    for tank in halbrook.tanks:
        assert rows[tank.title.casefold()][2] == mass_text(now.masses[tank.name])
    for part in (*halbrook.pumps, *halbrook.consumers, *halbrook.returns, *halbrook.sensors,
                 *halbrook.switches, *halbrook.overflows):  # fmt: skip
        assert rows[part.name.casefold()][2] == now.positions[part.name]
    told = {name for name, *_ in rows.values() if rows[name.casefold()][3] == "told to the crew"}
    assert told == {a.name for a in halbrook.alerts if now.positions[a.name] == "SHOWN"}


def test_it_says_what_flows(halbrook, flight):
    """A pump that feeds and one that only holds pressure are told apart."""
    rows = {row[0]: row for row in schematic_table(halbrook, picture(flight, 6000.0))}

    assert rows["Left centre pump"][3] == "passes 1 980 kg/h"
    assert rows["Left inboard aft pump"][3] == "runs and holds pressure, delivers nothing"
    assert rows["Engine 1"][3] == "fed from centre"


def test_hidden_parts_are_held_back(halbrook, flight):
    """No row tells the state of a hidden part, or what flows to it."""
    rows = {
        row[0].casefold(): row for row in schematic_table(halbrook, picture(flight, 6000.0), HIDDEN)
    }

    for name in ("left centre pump", "right centre pump", "engine 1", "left transfer valve"):
        assert rows[name][2] == "?"
    assert rows["centre tank"][2] == "?"
    assert rows["engine 2"][3] == "not shown while you predict"
    assert not any("passes 1" in row[3] for row in rows.values())


def test_every_row_and_column_is_headed(halbrook, flight, parsed):
    """A header cell for each row and each column, with its scope, and a caption."""
    table = parsed(schematic_table_html(halbrook, picture(flight, 6000.0)))

    assert table.find("caption").text.startswith("Halbrook 180")
    assert [th.get("scope") for th in table.find("thead/tr")] == ["col"] * 4
    for row in table.find("tbody"):
        assert row[0].tag == "th"
        assert row[0].get("scope") == "row"
        assert len(row) == 4


def test_text_in_a_table_is_text():
    """What looks like a tag stays text."""
    html = table_html([("<b>", "&")], caption="<i>", columns=("a", "b"))

    assert "<b>" not in html
    assert "<caption>&lt;i&gt;</caption>" in html
