"""Colours keep the contrast that WCAG 2.2 asks for, in drawings and on the board."""

import re
from pathlib import Path

import pytest

import fuelkit.show
from fuelkit.show.palette import HATCH, INK, SHAPE_PAIRS, TEXT_PAIRS, contrast

BOARD_CSS = (Path(fuelkit.show.__file__).parent / "board.css").read_text(encoding="utf-8")


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


@pytest.mark.parametrize("pair", TEXT_PAIRS)
def test_letters_stand_out(pair):
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    assert contrast(*pair) >= 4.5


@pytest.mark.parametrize("pair", SHAPE_PAIRS)
def test_shapes_stand_out(pair):
    """At least 3 to 1 (WCAG 2.2, success criterion 1.4.11)."""
    assert contrast(*pair) >= 3.0


def test_letters_over_hatched_fuel_can_be_read():
    """The hatch runs behind nothing darker than itself."""
    assert contrast(INK, HATCH) >= 4.5


def test_the_board_uses_colours_that_stand_out():
    """Ink, paper, flow, idle, shade, edge and wrong of the board's own style sheet."""
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", BOARD_CSS))

    for ground in ("paper", "shade"):
        for letters in ("ink", "idle"):
            assert contrast(colours[letters], colours[ground]) >= 4.5
        for shape in ("flow", "edge", "wrong"):
            assert contrast(colours[shape], colours[ground]) >= 3.0
    assert contrast(colours["paper"], colours["flow"]) >= 4.5
    assert contrast(colours["wrong"], colours["paper"]) >= 4.5


def test_the_board_names_no_colour_outside_its_list():
    """So that the test above sees them all."""
    beyond = BOARD_CSS.split("}", 1)[1]

    assert not re.search(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl", beyond)
