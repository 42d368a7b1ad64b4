"""The ribbon: what is drawn is what changed, on one time axis."""

import pytest

from fuelkit.aircraft.model import Consumer
from fuelkit.flight.history import AskedError
from fuelkit.show.bands import alert_marks, band_pieces, feeding_pieces, state_pieces, tank_groups
from fuelkit.show.phases import spread
from fuelkit.show.ribbon import ribbon, ribbon_names, ribbon_table, ribbon_table_html
from tests.show.conftest import SVG


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
    """The drawn line of each group, turned back into kg at its ends and in between."""
    order = [tank.name for tank in halbrook.tanks]
    lines = {p.get("data-group"): p for p in root.iter(f"{SVG}path") if p.get("data-group")}
    assert set(lines) == {label for label, _ in tank_groups(halbrook)}
    for label, members in tank_groups(halbrook):
        points = [tuple(map(float, p.split(","))) for p in lines[label].get("d")[1:].split(" L")]
        for x, y in points[:: max(1, len(points) // 20)]:
            time = min(flight.sector.end, (x - 210.0) / 1012.0 * flight.sector.end)
            masses = flight.samples([max(0.0, time)])[0]
            total = sum(masses[order.index(name)] for name in members)
            assert (322.0 - y) / 174.0 * 8000.0 == pytest.approx(total, abs=30.0)


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
    rows = ribbon_table(flight, names=("left centre pump",))
    own = [row for row in rows if row[0] == "Left centre pump"]
    changes = flight.changes_of("left centre pump")

    assert [(row[2], row[3], row[4]) for row in own] == [
        (c.before, c.after, c.reason) for c in changes
    ]
    assert parsed(ribbon_table_html(flight)).find("tbody")[0][0].get("scope") == "row"


def test_an_unknown_name_is_refused(flight):
    """A band for a part that is not there."""
    with pytest.raises(AskedError, match="no component 'left center pump'"):
        ribbon(flight, names=("left center pump",))
