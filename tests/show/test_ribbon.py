"""The ribbon: what is drawn is what changed, on one time axis."""

import pytest

from fuelkit.aircraft.model import Consumer
from fuelkit.assess.flights import flight_of
from fuelkit.flight.history import AskedError
from fuelkit.physics.writing import clock, read_clock
from fuelkit.show.bands import alert_marks, band_pieces, feeding_pieces, state_pieces, tank_groups
from fuelkit.show.phases import spread
from fuelkit.show.ribbon import ribbon, ribbon_names, ribbon_table, ribbon_table_html
from tests.show.conftest import SVG
from tests.show.other_aircraft import flown


@pytest.fixture(scope="module")
def root(flight, parsed):
    """The ribbon of the course's first flight, read as XML."""
    return parsed(ribbon(flight))


def test_it_is_an_image_with_a_name_and_a_safety_line(root, words):
    """Well-formed, labelled, and it says what it must not be used for."""
    assert root.get("role") == "img"
    assert root.get("aria-label").startswith("Time ribbon.")
    assert "Training aid, not for operational use" in words(root)


def test_pieces_follow_the_changes_without_gaps(halbrook, flight):
    """The state at any time is that of its piece; MOVING counts to the one before."""
    for name in ribbon_names(halbrook):
        pieces = state_pieces(flight, name)
        assert pieces[0].start == 0.0
        assert pieces[-1].end == flight.sector.end
        for before, after in zip(pieces, pieces[1:], strict=False):
            assert before.end == after.start
            assert before.state != after.state
        for piece in pieces:
            middle = flight.position(name, 0.5 * (piece.start + piece.end))
            assert middle in (piece.state, "MOVING")
            assert piece.state != "MOVING"


def test_every_band_shows_exactly_the_pieces_of_its_component(root, halbrook, flight):
    """Bars of the drawing against the pieces: same times, same states, none left out."""
    bands = {g.get("data-band"): g for g in root.iter(f"{SVG}g") if g.get("data-band")}

    assert tuple(bands) == ribbon_names(halbrook)
    for name, band in bands.items():
        bars = [
            (float(r.get("data-start")), float(r.get("data-end")), r.get("data-state"))
            for r in band.iter(f"{SVG}rect")
            if r.get("data-start")
        ]
        pieces = band_pieces(flight, name)
        assert [b[2] for b in bars] == [p.state for p in pieces]
        for bar, piece in zip(bars, pieces, strict=True):
            assert bar[:2] == pytest.approx((piece.start, piece.end), abs=1e-3)


def test_bars_stand_at_their_times(root, flight):
    """One time axis: the same scale for every bar."""
    for rect in root.iter(f"{SVG}rect"):
        if rect.get("data-start"):
            x = 210.0 + 1012.0 * float(rect.get("data-start")) / flight.sector.end
            assert float(rect.get("x")) == pytest.approx(x, abs=0.01)


def test_bands_of_engines_tell_which_tanks_feed(halbrook, flight):
    """At the middle of each piece, the flight names the same tanks."""
    for consumer in halbrook.consumers:
        assert isinstance(consumer, Consumer)
        for piece in feeding_pieces(flight, consumer.name):
            fed = flight.feeding(consumer.name, 0.5 * (piece.start + piece.end))
            assert " + ".join(fed) == piece.state


def test_quantities_are_the_sums_of_the_groups(root, flight, halbrook):
    """The drawn line of each group, turned back into kg by the scale beside it."""
    scale = {t.text: float(t.get("y")) - 5.0 for t in root.iter(f"{SVG}text")
             if t.text and t.text.endswith(" t")}  # fmt: skip
    foot, high = scale["0 t"], scale["0 t"] - scale["8 t"]
    order = [tank.name for tank in halbrook.tanks]
    lines = {p.get("data-group"): p for p in root.iter(f"{SVG}path") if p.get("data-group")}
    assert set(lines) == {label for label, _ in tank_groups(halbrook)}
    for label, members in tank_groups(halbrook):
        points = [tuple(map(float, p.split(","))) for p in lines[label].get("d")[1:].split(" L")]
        for x, y in points[:: max(1, len(points) // 20)]:
            time = min(flight.sector.end, (x - 210.0) / 1012.0 * flight.sector.end)
            masses = flight.samples([max(0.0, time)])[0]
            total = sum(masses[order.index(name)] for name in members)
            assert (foot - y) / high * 8000.0 == pytest.approx(total, abs=30.0)


def test_alerts_are_marked_where_they_are_first_shown(flight):
    """Alerts within a minute share a mark."""
    marks = alert_marks(flight)

    assert [m.time for m in marks] == sorted(m.time for m in marks)
    for mark in marks:
        for words in mark.words.split("; "):
            assert any(c.after == "SHOWN" for c in flight.changes_of(words))
            assert 0.0 <= flight.changes_of(words)[0].time - mark.time <= 60.0


def test_labels_in_a_row_never_touch():
    """Labels that want the same place are set side by side, in order, inside the limits."""
    widths = [50.0, 60.0, 40.0, 30.0]
    places = spread([10.0, 12.0, 14.0, 400.0], widths, (0.0, 405.0), gap=8.0)

    edges = [(p - w / 2, p + w / 2) for p, w in zip(places, widths, strict=True)]
    assert edges[0][0] == 0.0
    assert edges[-1][1] == 405.0
    for (_, end), (start, _) in zip(edges, edges[1:], strict=False):
        assert start - end >= 8.0 - 1e-9


def test_the_table_lists_the_changes_with_their_reasons(flight, parsed):
    """In order of time, with a headed table."""
    rows = ribbon_table(flight, only=("left centre pump",))
    own = [row for row in rows if row[0] == "Left centre pump"]
    changes = flight.changes_of("left centre pump")

    assert [(row[2], row[3], row[4]) for row in own] == [
        (c.before, c.after, c.reason) for c in changes
    ]
    assert parsed(ribbon_table_html(flight)).find("tbody")[0][0].get("scope") == "row"


def test_an_unknown_name_is_refused(flight):
    """A band for a part that is not there."""
    with pytest.raises(AskedError, match="no component 'left center pump'"):
        ribbon(flight, only=("left center pump",))


# ------------------------------------------------------------------------- a stretch of the flight
STRETCH = (9000.0, 11000.0)
"""From 2:30:00 to 3:03:20 the centre tank runs empty."""


@pytest.fixture(scope="module")
def part(flight, parsed):
    """Half an hour of the flight with three bands, read as XML."""
    names = ("left centre pump", "right centre pump", "engine 1")
    return parsed(ribbon(flight, start=STRETCH[0], end=STRETCH[1], only=names))


def test_a_stretch_fills_the_axis_and_says_which_it_is(part, words):
    """Bars stand at their times on the longer scale, cut at the ends; nothing else is drawn."""
    bands = [g.get("data-band") for g in part.iter(f"{SVG}g") if g.get("data-band")]
    assert bands == ["left centre pump", "right centre pump", "engine 1"]
    assert "2:30:00 to 3:03:20" in words(part)
    bars = [r for r in part.iter(f"{SVG}rect") if r.get("data-start")]
    assert len(bars) > 3
    for bar in bars:
        start, end = float(bar.get("data-start")), float(bar.get("data-end"))
        assert STRETCH[0] <= start < end <= STRETCH[1]
        left = 210.0 + 1012.0 * (start - STRETCH[0]) / (STRETCH[1] - STRETCH[0])
        assert float(bar.get("x")) == pytest.approx(left, abs=0.01)
        width = 1012.0 * (end - start) / (STRETCH[1] - STRETCH[0])
        assert float(bar.get("width")) == pytest.approx(max(width, 1.5), abs=0.02)


def test_a_stretch_names_only_its_phases_and_its_alerts(part, flight, words):
    """What lies outside is not squeezed against the ends."""
    written = words(part)
    assert "cruise, later" in written
    assert "descent" not in written and "taxi out" not in written
    for mark in alert_marks(flight, start=STRETCH[0], end=STRETCH[1]):
        assert STRETCH[0] <= mark.time <= STRETCH[1]
        assert mark.words in written
        assert clock(mark.time) in written
    early = [m for m in alert_marks(flight) if m.time < STRETCH[0]]
    assert early and not any(clock(mark.time) in written for mark in early)


def test_the_times_on_the_axis_stand_where_they_belong(part, words):
    """Written h:mm, at most thirteen, each at its own place."""
    times = [
        (float(t.get("x")), read_clock(f"{t.text}:00"))
        for t in part.iter(f"{SVG}text")
        if t.text and read_clock(f"{t.text}:00") is not None
    ]
    assert 4 <= len(times) <= 13
    for x, time in times:
        place = 210.0 + 1012.0 * (time - STRETCH[0]) / (STRETCH[1] - STRETCH[0])
        assert x == pytest.approx(place, abs=0.01)


def test_the_table_of_a_stretch_is_cut_from_the_whole(flight):
    """The same rows, those within the stretch."""
    whole = ribbon_table(flight)
    part = ribbon_table(flight, start=STRETCH[0], end=STRETCH[1])

    inside = [row for row in whole if STRETCH[0] <= read_clock(row[1]) <= STRETCH[1]]
    assert part == inside and 0 < len(part) < len(whole)
    html = ribbon_table_html(flight, start=STRETCH[0], end=STRETCH[1])
    assert f"{clock(STRETCH[0])} to {clock(STRETCH[1])}" in html


def test_the_shown_table_of_a_stretch_is_cut_from_the_whole():
    """Also where something fails and only what is shown is told."""
    failed = flight_of("halbrook-180", "sable-cay-karn-ness")
    whole = ribbon_table(failed, truth=False)
    part = ribbon_table(failed, start=3000.0, end=4000.0, truth=False)

    assert part == [row for row in whole if 3000.0 <= read_clock(row[1]) <= 4000.0]
    assert 0 < len(part) < len(whole)


@pytest.mark.parametrize("stretch", [(5.0, 5.0), (-1.0, 50.0), (0.0, 21001.0)])
def test_a_stretch_outside_the_flight_is_refused(flight, stretch):
    """With what would be right."""
    for ask in (ribbon, ribbon_table_html):
        with pytest.raises(AskedError, match="must begin at 0 or later"):
            ask(flight, start=stretch[0], end=stretch[1])


def test_a_ribbon_fits_a_projectors_screen_where_its_bands_let_it(flight):
    """The course's aircraft with all bands is no higher than 720 at 1280 wide; three bands too."""
    for names in (None, ("left centre pump", "right centre pump", "engine 1")):
        svg = ribbon(flight, only=names)
        assert float(svg.split('viewBox="0 0 1280 ')[1].split('"')[0]) <= 720.0


def test_names_of_quantities_stand_over_the_names_of_the_bands(halbrook, parsed):
    """Also where every group begins nearly empty: none lies on another, none on a band's name."""
    history = flown(halbrook, "tarn-hollow-eastmere", (), 400.0)
    drawn = parsed(ribbon(history))
    names = [label for label, _ in tank_groups(halbrook)]
    ends = [t for t in drawn.iter(f"{SVG}text") if t.get("text-anchor") == "end"]
    heights = {t.text: float(t.get("y")) for t in ends if t.text in names}
    bands = [t for t in drawn.iter(f"{SVG}text") if t.text == ribbon_names(halbrook)[0]]

    assert len(heights) == len(names) > 2
    steps = sorted([*heights.values(), float(bands[0].get("y"))])
    assert all(after - before > 14.0 for before, after in zip(steps, steps[1:], strict=False))
