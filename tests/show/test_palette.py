"""Colours keep the contrast that WCAG 2.2 asks for, in drawings and on the board."""

import re
from pathlib import Path

import pytest

import fuelkit.show
from fuelkit.flight.picture import picture
from fuelkit.show.dark import theme_css
from fuelkit.show.page import PAGE_CSS, table_page
from fuelkit.show.palette import (
    CAUTION,
    COLOURS,
    DARK,
    INK,
    PAPER,
    SHAPE_PAIRS,
    TEXT_PAIRS,
    WARNING,
    contrast,
)
from fuelkit.show.plan import plan_view
from fuelkit.show.ribbon import ribbon
from fuelkit.show.schematic import schematic

SHOW = Path(fuelkit.show.__file__).parent
BOARD_CSS = (SHOW / "board.css").read_text(encoding="utf-8")
THEMES = {"light": {c: c for c in COLOURS.values()}, "dark": DARK}
HEX = r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl"


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("#ffffff", "#000000", 21.0),
        ("#777777", "#ffffff", 4.48),
        ("#767676", "#ffffff", 4.54),
        ("#0000ff", "#ffffff", 8.59),
    ],
)
def test_contrast_matches_known_ratios(first, second, expected):
    """Ratios of well-known pairs, worked by hand from the definition in WCAG 2.2."""
    assert contrast(first, second) == pytest.approx(expected, abs=0.005)
    assert contrast(second, first) == contrast(first, second)


def in_theme(theme, pair):
    """The two colours as a theme shows them; letters on amber stay dark in both."""
    shown = THEMES[theme]
    return (INK, shown[CAUTION]) if pair == (INK, CAUTION) else (shown[pair[0]], shown[pair[1]])


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("pair", TEXT_PAIRS)
def test_letters_stand_out(theme, pair):
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3), over hatched fuel too."""
    assert contrast(*in_theme(theme, pair)) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("pair", SHAPE_PAIRS)
def test_shapes_stand_out(theme, pair):
    """At least 3 to 1 (WCAG 2.2, success criterion 1.4.11)."""
    assert contrast(*in_theme(theme, pair)) >= 3.0


def test_every_colour_has_its_dark_one_and_signals_keep_theirs():
    """Nothing is forgotten; amber stays as it is, and a warning is more red than anything else."""
    assert set(DARK) == set(COLOURS.values())
    assert DARK[CAUTION] == CAUTION
    red, green, blue = bytes.fromhex(DARK[WARNING][1:])
    assert red > 2 * max(green, blue)
    assert contrast(DARK[PAPER], "#000000") < 1.5 < contrast(DARK[INK], "#000000")


def test_drawings_use_no_colour_outside_the_palette(flight):
    """What the palette does not know would not change with the theme."""
    aircraft = flight.aircraft
    now = picture(flight, 2000.0)
    for svg in (schematic(aircraft, now), ribbon(flight), plan_view(aircraft)):
        used = re.findall(r'(?:fill|stroke)="(?!none|url)([^"]*)"', svg)
        assert len(used) > 50 and set(used) <= set(COLOURS.values())


def test_the_style_sheets_name_no_colour_of_their_own():
    """Board and page take every colour from the palette, so the tests above see them all."""
    own = PAGE_CSS.replace(theme_css(), "")

    assert not re.search(HEX, BOARD_CSS) and not re.search(HEX, own)
    for name in re.findall(r"var\(--(\w+)\)", BOARD_CSS + own):
        assert name in {*COLOURS, "letters", "small", "beside"}, name


def test_a_page_brings_its_style_once_and_prints_in_light():
    """One page inside another is not wrapped twice; dark colours are for the screen alone."""
    page = table_page("A table", ("what", "figure"), [("fuel", "13 kg")])
    again = type(page)(page.html, page.text)

    assert again.html == page.html and page.html.count("<style>") == 1
    for rule in re.findall(rf"[^\n]*{DARK[PAPER]}[^\n]*", theme_css()):
        assert rule.startswith("@media screen")
