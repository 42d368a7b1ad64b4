"""What has failed: shown as the crew sees it, told apart from the truth, drawn and in words."""

import re
from dataclasses import replace

import pytest

from fuelkit.flight.failures import Failure
from fuelkit.flight.picture import picture
from fuelkit.physics.writing import mass_text
from fuelkit.show.bands import band_pieces
from fuelkit.show.palette import CAUTION, WARNING
from fuelkit.show.places import plan
from fuelkit.show.ribbon import names_of, ribbon, ribbon_table
from fuelkit.show.routes import FLOWING, routes
from fuelkit.show.schematic import schematic, schematic_table
from fuelkit.show.viewer import Viewer
from fuelkit.show.views import sensor_words, view
from tests.show.conftest import SVG
from tests.show.other_aircraft import flown

FAILED = (
    Failure(3000.0, "left centre pump", "failed"),
    Failure(3000.0, "crossfeed valve", "stuck", state="HALF OPEN"),
    Failure(3000.0, "right bus", "failed"),
    Failure(3000.0, "centre", "leaking", leak=0.3),
    Failure(3000.0, "left outboard", "misreading", factor=0.5),
    Failure(3000.0, "right inboard", "blocked"),
    Failure(3000.0, "left inboard low sensor", "stuck", state="DRY"),
    Failure(3000.0, "engine 2", "failed"),
    Failure(3000.0, "left centre check valve", "stuck", state="SHUT"),
)
MOMENT = 3100.0


@pytest.fixture(scope="module")
def broken(halbrook):
    """The course's first flight with everything that can fail, soon after it did."""
    return flown(halbrook, "eastmere-port-ellery", FAILED, 4000.0)


@pytest.fixture
def shown(broken):
    """What the crew is shown."""
    return view(broken, MOMENT)


@pytest.fixture
def true(broken):
    """What is true."""
    return view(broken, MOMENT, truth=True)


def rows_of(aircraft, now):
    return {row[0].casefold(): row for row in schematic_table(aircraft, now)}


def test_without_failures_shown_and_true_are_the_picture(halbrook, flight):
    """Nothing is added or taken away."""
    plain = schematic(halbrook, picture(flight, 6000.0))

    assert schematic(halbrook, view(flight, 6000.0)) == plain
    assert schematic(halbrook, view(flight, 6000.0, truth=True)) == plain


def test_the_crew_is_shown_what_gauges_sensors_and_lights_say(broken, shown):
    """A failed pump gives no pressure, a half open valve is at neither end, and so on."""
    positions = shown.positions

    assert positions["left centre pump"] == "LOW PRESS"
    assert positions["crossfeed valve"] == "BETWEEN"
    assert positions["engine 2"] == "STOPPED"
    assert positions["left inboard low sensor"] == "DRY"
    assert positions["right bus"] == "DEAD"
    half = 0.5 * broken.quantity("left outboard", MOMENT)
    assert shown.masses["left outboard"] == pytest.approx(half)
    assert shown.failures == ()
    assert "crossfeed valve" in shown.astray


def test_the_level_shown_is_that_of_the_mass_shown(shown, true):
    """A gauge that reads half shows a lower surface; other tanks stay as they are."""
    assert shown.levels["left outboard"] < true.levels["left outboard"]
    assert shown.levels["centre"] == pytest.approx(true.levels["centre"])


def test_the_truth_can_be_told_from_what_is_shown(broken, true):
    """The true states, every failure, and beside them what is shown instead."""
    assert true.positions["left centre pump"] == "FAIL"
    assert true.positions["crossfeed valve"] == "HALF OPEN"
    assert true.positions["left inboard low sensor"] == "WET"
    assert true.failures == FAILED
    assert true.readings["left outboard"] == mass_text(broken.shown_mass("left outboard", MOMENT))
    assert true.readings["left inboard low sensor"] == "DRY"
    assert true.readings["engine 2"] == "STOPPED"


def test_what_is_shown_tells_no_failure(halbrook, shown, parsed, words):
    """Neither the drawing nor its table says FAIL, STUCK, leak, blocked or what the truth is."""
    drawing = schematic(halbrook, shown)
    text = words(parsed(drawing)) + " ".join(
        " ".join(row) for row in rows_of(halbrook, shown).values()
    )

    for word in ("FAIL", "STUCK", "HALF OPEN", "leak", "blocked", "failed", "misreading", "gauge"):
        assert word not in text, word
    assert "data-failure" not in drawing


def test_leaks_and_the_like_are_not_told_by_figures_of_flow(halbrook, shown):
    """Where something failed and the truth is not told, no flow stands in the table."""
    pumps = [row for row in schematic_table(halbrook, shown) if row[1].endswith(("pump", "valve"))]

    assert pumps
    assert not any("kg/h" in row[3] for row in pumps)


def test_each_failure_is_drawn_with_a_word(halbrook, true, parsed, part_of, words):
    """Symbols with their words, at the part that failed."""
    root = parsed(schematic(halbrook, true))
    said = {n: re.sub(r"\s+", " ", words(part_of(root, n))) for n in
            ("left centre pump", "crossfeed valve", "engine 2", "left centre check valve",
             "left outboard", "left inboard low sensor")}  # fmt: skip

    assert "FAIL" in said["left centre pump"]
    assert "STUCK HALF OPEN" in said["crossfeed valve"]
    assert "FAIL" in said["engine 2"]
    assert "STUCK SHUT" in said["left centre check valve"]
    assert f"gauge shows {true.readings['left outboard']}" in said["left outboard"]
    assert "WET (shows DRY)" in said["left inboard low sensor"]
    tags = {g.get("data-failure"): words(g) for g in root.iter(f"{SVG}g") if g.get("data-failure")}
    assert tags == {"centre leaking": "leak", "right inboard vent blocked": "vent blocked"}
    assert "DEAD" in words(root)


def test_the_table_has_a_row_for_each_failure(halbrook, true):
    """And says what is shown instead, and what has no power."""
    rows = rows_of(halbrook, true)

    for failure in FAILED:
        assert rows[failure.name.casefold()][1:3] == ("failure", "PRESENT")
    assert rows["centre leaking"][3] == "Centre leaking: 1 080 kg/h"
    assert rows["left centre pump"][2:] == (
        "FAIL",
        "has failed, delivers nothing; it shows LOW PRESS",
    )
    assert rows["crossfeed valve"][2] == "STUCK HALF OPEN"
    assert "its gauge shows" in rows["left outboard cell"][3]
    assert rows["right bus"][1:3] == ("electrical bus", "DEAD")
    without = [p.name for p in halbrook.pumps if p.bus == "right bus"]
    assert without
    for name in without:
        assert "no power: right bus is DEAD" in rows[name][3]


def test_the_panel_lists_failures_and_says_how_many_it_leaves_out(halbrook, true, parsed, words):
    """Panels end over the legend; what does not fit stands in the table."""
    root = parsed(schematic(halbrook, true))
    text = re.sub(r"\s+", " ", words(root))

    assert "Failed, in truth" in text
    assert re.search(r"\d more: see table", text)
    # what failed gives way to what the crew is told, and advisories to cautions
    told = [a for a in halbrook.alerts if true.positions[a.name] == "SHOWN"]
    drawn = [a.level for a in told if a.name in text]
    assert len(drawn) >= 3
    assert "advisory" not in drawn or len(drawn) == len(told)
    grounds = [r for r in root.iter(f"{SVG}rect") if r.get("width") == "156"]
    assert len(grounds) == 4
    assert all(float(r.get("y")) + float(r.get("height")) <= 672.5 for r in grounds)


def test_a_leaking_line_carries_nothing_past_its_leak(halbrook):
    """Fuel flows to the place of the junction, and no further towards a shut valve."""
    valve = halbrook.by_name["crossfeed valve"]
    leak = Failure(3000.0, valve.start, "leaking", leak=0.2)
    now = picture(flown(halbrook, "eastmere-port-ellery", (leak,), 3200.0), 3100.0)
    drawn = plan(halbrook, now)
    runs, _ = routes(drawn, now)
    x, y = drawn.places["crossfeed valve"]
    beside = [r for r in runs if (x, y) in r.points]

    assert now.positions["crossfeed valve"] == "SHUT"
    assert len(beside) == 2
    assert not any(run.state == FLOWING for run in beside)


def test_the_ribbon_tells_what_is_shown_or_what_is_true(broken, parsed):
    """FAIL and HALF OPEN in truth; no pressure and between as shown. A dead bus gets a band."""
    assert "right bus" in names_of(broken)
    assert band_pieces(broken, "left centre pump")[-1].state == "FAIL"
    assert band_pieces(broken, "left centre pump", truth=False)[-1].state == "LOW PRESS"
    assert band_pieces(broken, "engine 2")[-1].state == "FAIL"
    assert "FAIL" not in ribbon(broken, truth=False)
    assert "FAIL" in ribbon(broken)
    for row in ribbon_table(broken, truth=False):
        assert row[4] == ""
        assert not {"FAIL", "HALF OPEN", "MOVING"} & {row[2], row[3]}


def test_a_viewer_shows_what_the_crew_sees_or_the_truth(broken):
    """Titles say which of the two it is."""
    crew, truth = (Viewer(broken, truth=t).drawing_at("0:51:40") for t in (False, True))

    assert "as the crew is shown it" in crew.html
    assert "LOW PRESS" in crew.html and "FAIL" not in crew.html
    assert "the true state" in truth.html
    viewer = Viewer(broken)
    pages = [viewer.why("left centre pump", "0:51:40"), viewer.events("0:49:00", "0:52:00")]
    assert "truth=True" in pages[0].html
    assert "LOW PRESS" in pages[1].html
    for page in (*pages, viewer.ribbon()):
        assert "failed" not in page.html and "FAIL" not in page.html
    assert "it has failed" in Viewer(broken, truth=True).events("0:49:00", "0:52:00").html
    assert "FAIL" in truth.html


def test_a_temperature_sensor_shows_nothing_while_it_is_dry(halbrook, flight):
    """Its reading while fuel covers it, else only DRY."""
    now = picture(flight, 6000.0)
    bulb = next(s for s in halbrook.sensors if s.kind == "temperature")
    kelvin = now.temperatures[bulb.tank]
    wet = replace(now, positions=now.positions | {bulb.name: "WET"})
    dry = replace(now, positions=now.positions | {bulb.name: "DRY"})

    assert sensor_words(bulb, wet) == f"{round(kelvin - 273.15)} °C".replace("-", "−")
    assert sensor_words(bulb, dry) == "DRY"
    row = {r[0].casefold(): r for r in schematic_table(halbrook, dry)}[bulb.name]
    assert row[1:] == ("temperature sensor", "DRY", "shows nothing; the fuel stands below it")


def test_a_failed_pump_that_is_not_called_for_looks_like_any_that_is_off(halbrook):
    """Its light comes on once it is selected; on a dead bus it is as dark as its neighbours."""
    failed = (Failure(10.0, "left inboard aft pump", "failed"),)
    early = flown(halbrook, "eastmere-port-ellery", failed, 1500.0)
    on = next(a.time for a in early.sector.actions for n, _ in a.sets if "left inboard aft" in n)
    assert view(early, on - 5.0).positions["left inboard aft pump"] == "OFF"
    assert view(early, on + 5.0).positions["left inboard aft pump"] == "LOW PRESS"
    bands = band_pieces(early, "left inboard aft pump", truth=False)
    assert [(p.state, p.start) for p in bands] == [("LOW PRESS", pytest.approx(on))]

    bus = halbrook.by_name["left inboard aft pump"].bus
    dark = flown(halbrook, "eastmere-port-ellery", (*failed, Failure(600.0, bus, "failed")), 1500.0)
    assert view(dark, 900.0).positions["left inboard aft pump"] == "OFF"


def test_amber_and_red_stand_only_where_the_crew_is_told(halbrook, flight, true):
    """A state that no caution or warning tells of is drawn in black, blue or grey."""
    quiet = picture(flight, 300.0)
    levels = {a.level for a in halbrook.alerts if quiet.positions[a.name] == "SHOWN"}

    assert not levels & {"caution", "warning"}
    for colour in (CAUTION, WARNING):
        assert colour not in schematic(halbrook, quiet)
    silent = replace(true, positions=true.positions | {a.name: "OUT" for a in halbrook.alerts})
    for colour in (CAUTION, WARNING):
        assert colour not in schematic(halbrook, silent)
