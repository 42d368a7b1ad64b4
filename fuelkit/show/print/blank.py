"""Blank schematics to fill in with a pencil: names kept, states and flows left out."""

from itertools import product
from string import ascii_uppercase
from xml.etree import ElementTree

from fuelkit.assess.flights import aircraft_of, flight_of, sectors_for
from fuelkit.show.palette import IDLE, INK, SAFETY
from fuelkit.show.places import plan
from fuelkit.show.print.typeset import (
    across,
    drawing,
    heading,
    paragraph,
    pdf,
    side_by_side,
)
from fuelkit.show.schematic import schematic
from fuelkit.show.symbols import QUESTION
from fuelkit.show.views import view
from fuelkit.show.words import title_case

_SVG = "{http://www.w3.org/2000/svg}"
_BOX = (46.0, 30.0)  # px: room for a state beside a symbol
_BOXES = {"18": (104.0, 24.0), "13": (40.0, 18.0)}  # px: for a tank's fuel, by its letters
_NEAR, _RIM, _LEAST = 30.0, 20.0, 20.0  # px: up or down, half a symbol, the narrowest box
_INSIDE = "20"  # height of the question within a symbol
_ROOM = {"A4": 146.0, "Letter": 150.0}  # mm that the drawing may take of a page on its side
_SMALLER = {"A4": 104.0, "Letter": 108.0}  # mm: leaves room for the names to be written
_HOW = (
    "Choose a moment of a flight. Write the state in each box, the fuel in each tank and what "
    "feeds each engine; draw the surface of the fuel, each valve's bar and each pump's triangle; "
    "blacken the dot of each sensor that is wet; draw every line as the row below shows."
)


def schematics_pdf(aircraft, paper="A4"):
    """Return the blank schematics of an aircraft as one tagged PDF: with names, and with letters.

    Parameters
    ----------
    aircraft : str
        A name in the kit or the path of a file.
    paper : str
        "A4" or "Letter".
    """
    record = aircraft_of(aircraft)
    letters = part_letters(record)
    files = {"names.svg": blank_schematic(aircraft), "letters.svg": lettered_schematic(aircraft)}
    first = heading(f"{record.name}: fill in the fuel system") + paragraph(_HOW, small=True)
    first += _drawn("names.svg", files, paper, "Blank drawing to fill in; every part has its name.")
    second = heading(f"{record.name}: name the parts")
    alt = "Blank drawing with a letter in place of each name."
    second += drawing("letters.svg", files["letters.svg"], alt, share=1.0, highest=_SMALLER[paper])
    rows = [(letter, "") for letter in letters.values()]
    second += side_by_side(("", "part"), rows, "(10mm, 1fr)", row="7mm", columns=4)
    body = across(first) + across(second)
    title = f"{record.name}: blank drawings"
    return pdf(body, title=title, head=title, foot=SAFETY, drawings=files, paper=paper)


def schematics_key_pdf(aircraft, paper="A4"):
    """Return the names to the letters, for whoever checks a sheet that was filled in."""
    record = aircraft_of(aircraft)
    rows = [(letter, title_case(name)) for name, letter in part_letters(record).items()]
    title = f"{record.name}: key to the letters"
    body = heading(title, 1) + side_by_side(("", "part"), rows, "(12mm, 1fr)")
    return pdf(body, title=title, head=title, foot=SAFETY, paper=paper)


def _drawn(name, files, paper, alt):
    return drawing(name, files[name], alt, share=1.0, highest=_ROOM[paper])


def part_letters(aircraft):
    """Return a letter for each pump and each motor valve, in the order of the file.

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> list(part_letters(load_aircraft("halbrook-180")).items())[0]
    ('left inboard forward pump', 'A')
    """
    valves = [n for n in aircraft.lines if n.kind == "valve" and n.group != "refuelling"]
    doubles = ("".join(pair) for pair in product(ascii_uppercase, repeat=2))
    letters = [*ascii_uppercase, *doubles]
    return {part.name: letters[i] for i, part in enumerate((*aircraft.pumps, *valves))}


def blank_schematic(aircraft):
    """Return the drawing of an aircraft's fuel system with names and nothing of its state."""
    return _blank(aircraft, "Time ................  Phase ............................")


def lettered_schematic(aircraft):
    """Return the blank drawing with a letter in place of the name of each pump and motor valve."""
    letters = part_letters(aircraft_of(aircraft))
    return _blank(aircraft, "which part is each letter?", letters)


def _blank(aircraft, subtitle, letters=None):
    """A drawing of which everything is still to be predicted, with boxes in place of questions."""
    flight = flight_of(aircraft, sectors_for(aircraft_of(aircraft))[0], until=1.0)
    now, record = view(flight, 0.0), aircraft_of(aircraft)
    svg = schematic(
        record, now, title=record.name, subtitle=subtitle, hidden=_all_of(record, now),
        lettered=letters, blank=True,
    )  # fmt: skip
    ElementTree.register_namespace("", _SVG[1:-1])
    root = ElementTree.fromstring(svg)
    whole = () if letters else {*_all_of(record, now)} - {c.name for c in record.consumers}
    places = plan(record, now).places
    _clear(root, {name: _next_to(places, name) for name in whole})
    return ElementTree.tostring(root, encoding="unicode")


def _all_of(aircraft, now):
    """Everything whose state a learner writes; overflows and fillers are drawn by hand."""
    lines = plan(aircraft, now).lines
    parts = (
        *aircraft.pumps, *lines, *aircraft.consumers, *aircraft.returns, *aircraft.sensors,
        *aircraft.tanks,
    )  # fmt: skip
    return tuple(part.name for part in parts)


def _next_to(places, name):
    """Where the next symbols to the right of a part stand, for its box to end before them. [px]"""
    x, y = places.get(name, (0.0, 0.0))
    return [at for at, high in places.values() if at > x + 1.0 and abs(high - y) < _NEAR]


def _clear(element, boxed, part_name=""):
    """Take out what is not shown, and every state; leave an empty box for the parts `boxed`.

    An engine is a box by itself.
    """
    for part in list(element):
        if part.get("display") == "none" or part.get("class") == "asked-area":
            element.remove(part)
        elif part.tag == f"{_SVG}text":
            _write_less(element, part, boxed, part_name)
        else:
            _clear(part, boxed, part.get("data-component", part_name))


def _write_less(parent, part, boxed, part_name):
    """A text without its state: a box for a question, the name alone of a sensor."""
    words = part.text or ""
    if part_name and part.get("fill") == IDLE:
        parent.remove(part)  # a switch's position
    elif words == QUESTION:
        parent.remove(part)
        if part_name in boxed and part.get("font-size") != _INSIDE:
            parent.extend(_box(part, boxed[part_name]))
    elif words.endswith(f" {QUESTION}"):
        part.text = words[:-2]


def _box(part, right):
    """An empty box in the place of a text, if there is room for one before what stands right."""
    width, height = _BOXES.get(part.get("font-size"), _BOX)
    x, foot = float(part.get("x")), float(part.get("y"))
    left = {"middle": x - width / 2, "end": x - width}.get(part.get("text-anchor"), x)
    if part.get("text-anchor") == "start":
        width = min([width, *(at - _RIM - left for at in right)])
    if width < _LEAST:
        return []
    place = {"x": f"{left:g}", "y": f"{foot - 14.0:g}", "width": f"{width:g}"}
    look = {"height": f"{height:g}", "rx": "3", "fill": "none", "stroke": INK, "stroke-width": "1"}
    return [ElementTree.Element(f"{_SVG}rect", place | look)]
