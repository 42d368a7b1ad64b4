"""Charts: what is plotted is what the flight holds, and the same flight gives the same bytes."""

import re
import subprocess
import sys
from importlib import resources

import numpy as np
import pytest

from fuelkit.aircraft.load import load_aircraft
from fuelkit.assess.flights import flight_of
from fuelkit.flight.fly import fly
from fuelkit.flight.history import AskedError
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.grades import grade
from fuelkit.physics.writing import read_clock
from fuelkit.show import palette
from fuelkit.show.bands import state_pieces
from fuelkit.show.chart_events import key_events
from fuelkit.show.chart_numbers import chart_numbers, rows_of
from fuelkit.show.charts import balance_page, chart_svg, quantities_page, temperatures_page
from fuelkit.survey.standard_sector import standard_sector
from tests.show.conftest import SVG

STARTER = resources.files("fuelkit.aircraft") / "own" / "starter.toml"
KINDS = ("quantities", "temperatures", "balance")
COLOURS = {palette.INK, palette.PAPER, palette.FLOW, palette.IDLE, palette.FUEL, palette.SHADE,
           palette.FAINT}  # fmt: skip


@pytest.fixture(scope="module", params=["halbrook-180", "halbrook-300", "halbrook-40", "own"])
def any_flight(request):
    """A flight of each aircraft of the kit, and the standard sector of one's own."""
    sectors = {
        "halbrook-180": "eastmere-port-ellery",
        "halbrook-300": "eastmere-sable-cay",
        "halbrook-40": "eastmere-tarn-hollow",
    }
    if request.param in sectors:
        return flight_of(request.param, sectors[request.param])
    aircraft = load_aircraft(STARTER)
    return fly(aircraft, standard_sector(aircraft))


@pytest.fixture(scope="module")
def failed():
    """A flight in which the gauges of all tanks read low from 1:45:00 on."""
    return flight_of("halbrook-180", "sable-cay-karn-ness")


def curve(numbers, label):
    """Return the one line with a label."""
    (found,) = [c for c in numbers.curves if c.label == label]
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_a_chart_is_an_image_with_a_name_words_and_the_palettes_colours(any_flight, parsed, kind):
    """For every aircraft: labelled, letters of 12 or more at 1280 wide, no other colour, no id."""
    svg = chart_svg(any_flight, kind)
    root = parsed(svg)

    assert root.get("role") == "img"
    assert root.get("aria-label").startswith("Chart. ")
    assert root.get("viewBox").startswith("0 0 1280 ")
    assert {c.lower() for c in re.findall(r"#[0-9A-Fa-f]{6}", svg)} <= COLOURS
    assert " id=" not in svg and "url(" not in svg and "metadata" not in svg
    texts = list(root.iter(f"{SVG}text"))
    assert len(texts) > 20
    assert min(float(t.get("font-size")) for t in texts) >= 12.0
    assert any(palette.SAFETY in "".join(t.itertext()) for t in texts)


@pytest.mark.parametrize("kind", KINDS)
def test_every_line_has_its_name_written_beside_it(any_flight, parsed, words, kind):
    """Lines are told apart by words, and no two of a panel by colour alone."""
    svg = chart_svg(any_flight, kind)
    written = words(parsed(svg))

    numbers = chart_numbers(any_flight, kind)
    for line in numbers.curves:
        assert line.label in written
    for phase in any_flight.sector.phases:
        assert phase.name in written


def test_the_same_flight_gives_the_same_bytes(halbrook, flight):
    """Twice in one process, and once more in another, whatever the user's settings are."""
    import matplotlib

    once = chart_svg(flight, "quantities")
    with matplotlib.rc_context({"lines.linewidth": 9.0, "lines.scale_dashes": False,
                                "text.color": "red", "svg.fonttype": "path"}):  # fmt: skip
        again = chart_svg(flight, "quantities")
    program = (
        "from fuelkit.assess.flights import flight_of\n"
        "from fuelkit.show.charts import chart_svg\n"
        "import sys\n"
        "flight = flight_of('halbrook-180', 'eastmere-port-ellery')\n"
        "sys.stdout.buffer.write(chart_svg(flight, 'quantities').encode())\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    other = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)

    assert once == again
    assert other.stdout.decode() == once


def test_masses_are_those_of_the_flight_and_the_total_is_their_sum(any_flight):
    """At every time of every line, asked of the flight one by one."""
    numbers = chart_numbers(any_flight, "quantities")
    tanks = [tank.name for tank in any_flight.aircraft.tanks if tank.holds_fuel]

    for name in tanks:
        for i in range(0, numbers.times.size, 37):
            asked = any_flight.quantity(name, float(numbers.times[i]))
            assert curve(numbers, name).values[i] == pytest.approx(asked, abs=1e-9)
    for i in range(0, numbers.times.size, 37):
        whole = any_flight.total(float(numbers.times[i]))
        assert curve(numbers, "all tanks").values[i] == pytest.approx(whole, abs=1e-6)


def test_lines_are_sampled_at_every_change_and_every_two_minutes(any_flight):
    """So that no corner is cut off."""
    numbers = chart_numbers(any_flight, "quantities")

    assert np.diff(numbers.times).max() <= 120.0
    assert {c.time for c in any_flight.changes if c.time <= numbers.end} <= set(numbers.times)
    assert (numbers.times[0], numbers.times[-1]) == (0.0, any_flight.sector.end)


def test_gauges_that_misread_are_drawn_as_the_crew_sees_them(failed, words, parsed):
    """A factor of 0.9 on all gauges from 1:45:00: shown and true mass differ by a tenth then."""
    shown = curve(chart_numbers(failed, "quantities"), "left inboard").values
    numbers = chart_numbers(failed, "quantities", truth=True)
    true = curve(numbers, "left inboard").values
    after = numbers.times >= 6300.0

    assert shown[~after] == pytest.approx(true[~after])
    assert shown[after] == pytest.approx(0.9 * true[after])
    assert "as the crew is shown it" in words(parsed(chart_svg(failed, "quantities")))
    assert "the true state" in words(parsed(chart_svg(failed, "quantities", truth=True)))


def test_nothing_that_is_not_shown_is_told_where_something_fails(failed):
    """No temperature without a bulb, no centre of gravity; with `truth` both are there."""
    shown = [c.label for c in chart_numbers(failed, "temperatures").curves]
    assert shown == ["left outboard, shown", "left inboard, shown", "total air temperature"]
    assert [p.title for p in chart_numbers(failed, "balance").panels] == [
        "Right wing less left wing"
    ]
    assert len(chart_numbers(failed, "temperatures", truth=True).curves) == 6
    assert len(chart_numbers(failed, "balance", truth=True).panels) == 2


def test_temperatures_are_those_of_the_flight_with_a_gap_while_the_bulb_is_dry(flight):
    """Shown and computed agree with the flight; the gap is as long as the bulb is uncovered."""
    numbers = chart_numbers(flight, "temperatures")
    shown = curve(numbers, "left outboard, shown")
    gap = np.isnan(shown.values)

    for i, time in enumerate(numbers.times):
        asked = flight.shown_temperature("left outboard temperature bulb", float(time))
        assert gap[i] == (asked is None)
        if asked is not None:
            assert shown.values[i] == pytest.approx(asked - ZERO_CELSIUS)
    assert gap.any()
    (dry,) = [p for p in state_pieces(flight, "left outboard temperature bulb")
              if p.state == "DRY"]  # fmt: skip
    inside = (numbers.times >= dry.start) & (numbers.times < dry.end)
    assert (gap == inside).all()
    assert any("No fuel covers the left outboard temperature bulb" in n for n in numbers.notes)
    assert not np.isnan(curve(chart_numbers(flight, "temperatures", truth=True),
                              "left outboard").values[gap]).all()  # fmt: skip


def test_the_air_steps_with_the_phases(flight):
    """Total air temperature just before and at each phase, from the sector itself."""
    numbers = chart_numbers(flight, "temperatures")
    air = curve(numbers, "total air temperature").values + ZERO_CELSIUS
    phases = flight.sector.phases

    for before, phase in zip(phases, phases[1:], strict=False):
        place = int(np.flatnonzero(numbers.times == phase.start)[0])
        assert air[place] == pytest.approx(flight.sector.air_temperature(phase))
        assert air[place - 1] == pytest.approx(flight.sector.air_temperature(before))


def test_the_freezing_point_is_the_limit_of_a_named_grade(flight):
    """From the kit's table of grades; another grade, another line; none, no line."""
    for name in ("Jet A-1", "Jet A", "Jet B"):
        numbers = chart_numbers(flight, "temperatures", grade=name)
        (limit,) = numbers.panels[0].limits
        assert limit.value == pytest.approx(grade(name).freezing_point - ZERO_CELSIUS)
        assert f"freezing point of {name}" in limit.words
        assert any(f"the specification of {name} allows" in n for n in numbers.notes)
    assert chart_numbers(flight, "temperatures", grade=None).panels[0].limits == ()
    with pytest.raises(ValueError, match="known are Jet A-1"):
        temperatures_page(flight, grade="Jet A-2")


def test_balance_is_that_of_the_flight_and_knows_the_band_of_the_transfer():
    """Halbrook 300: the band is read from the rules of its own file, 34.2 to 35.4 %."""
    flight = flight_of("halbrook-300", "eastmere-sable-cay")
    numbers = chart_numbers(flight, "balance")
    for i in range(0, numbers.times.size, 53):
        asked = flight.balance(float(numbers.times[i]))
        assert curve(numbers, "centre of gravity").values[i] == pytest.approx(asked.percent)
        assert curve(numbers, "right less left").values[i] == pytest.approx(asked.imbalance)

    assert numbers.panels[1].band == (34.2, 35.4)
    words = [limit.words for limit in numbers.panels[1].limits]
    assert words[0] == "alert: Centre of gravity is too far aft"
    assert any("One wing is heavier at 1200 kg" in note for note in numbers.notes)


def test_an_aircraft_without_masses_has_no_centre_of_gravity():
    """It is said so, and the wings are still compared."""
    aircraft = load_aircraft(STARTER)
    page = balance_page(fly(aircraft, standard_sector(aircraft)))

    assert "gives no masses: no centre of gravity" in page.text
    assert "right less left, kg" in page.text


def test_a_stretch_shows_only_itself(flight, parsed, words):
    """Times, phases and changes lie within; a line's values are those of the whole flight."""
    numbers = chart_numbers(flight, "quantities", 4000.0, 9000.0)
    assert (numbers.times[0], numbers.times[-1]) == (4000.0, 9000.0)
    assert all(4000.0 <= event.time <= 9000.0 for event in numbers.events)
    assert curve(numbers, "centre").values[0] == pytest.approx(flight.quantity("centre", 4000.0))
    written = words(parsed(chart_svg(flight, "quantities", 4000.0, 9000.0)))
    assert "1:06:40 to 2:30:00" in written
    assert "descent" not in written and "cruise" in written


@pytest.mark.parametrize("stretch", [(-1.0, 5.0), (50.0, 50.0), (100.0, 1e6), (float("nan"), 9.0)])
def test_a_stretch_outside_the_flight_is_refused(flight, stretch):
    """With what would be right."""
    with pytest.raises(AskedError, match="later and end after that, by 21000 s"):
        quantities_page(flight, *stretch)


def test_a_kind_that_does_not_exist_is_refused(flight):
    """Names the ones there are."""
    with pytest.raises(ValueError, match="quantities, temperatures, balance"):
        chart_numbers(flight, "pressures")


def test_changes_with_words_are_changes_of_the_flight(any_flight):
    """Twelve at most, each at the time of a change; nothing is said twice."""
    ticks, events = key_events(any_flight, 0.0, any_flight.sector.end)
    times = {change.time for change in any_flight.changes}

    assert 0 < len(events) <= 12
    assert set(ticks) <= times and {event.time for event in events} <= set(ticks)
    assert [e.time for e in events] == sorted(e.time for e in events)


def test_changes_are_said_as_a_person_would(flight):
    """Two alike are one, many are counted, an engine speaks for its own valve."""
    said = [event.words for event in key_events(flight, 0.0, flight.sector.end)[1]]

    assert said[0] == "6 pumps RUN"
    assert "engine 2 RUN" in said
    assert "left and right centre pumps LOW PRESS" in said
    assert "left and right transfer valves OPEN" in said
    assert "engines 1 and 2 OFF" in said


def test_the_table_tells_the_numbers_that_are_plotted(flight, parsed):
    """A row at each phase, each change with words and each hour; the same in the plain text."""
    numbers = chart_numbers(flight, "quantities")
    head, rows = rows_of(numbers, flight)
    page = quantities_page(flight)

    assert head[:3] == ("time", "phase", "all tanks, kg")
    assert [row[0] for row in rows if row[0].endswith(":00:00")][:3] == [
        "0:00:00",
        "1:00:00",
        "2:00:00",
    ]
    by_time = {row[0]: row for row in rows}
    centre = int(by_time["2:00:00"][head.index("centre, kg")].replace(" ", ""))
    assert centre == round(flight.quantity("centre", 7200.0))
    assert {p.name for p in flight.sector.phases} == {row[1] for row in rows}
    assert all(" | ".join(row) in page.text for row in rows)
    assert palette.SAFETY in page.text
    table = page.html.split("</summary>")[1].split("</details>")[0]
    assert len(parsed(table).find("tbody")) == len(rows)


def test_the_table_says_where_nothing_is_shown(flight):
    """In words, not as an empty cell or a zero."""
    head, rows = rows_of(chart_numbers(flight, "temperatures"), flight)
    column = head.index("left outboard, shown, °C")
    said = {row[0]: row[column] for row in rows}

    dry = {
        written: flight.position("left outboard temperature bulb", read_clock(written)) == "DRY"
        for written in said
    }
    assert any(dry.values())
    assert [said[written] == "not shown" for written in said] == list(dry.values())
    assert ">Left outboard, shown, °C</th>" in temperatures_page(flight).html
    assert float(said["2:30:00"]) == pytest.approx(
        flight.temperature("left outboard", 9000.0) - ZERO_CELSIUS, abs=0.05
    )
