"""The colours and letters of every drawing, and the contrast between two colours.

Blue is fuel that flows, grey is idle, black is text. Amber is kept for a caution and red for a
warning (14 CFR 25.1322); green means nothing. Colour never stands alone: a word goes with it.
"""

INK = "#111111"
PAPER = "#ffffff"
FLOW = "#0072b2"
IDLE = "#5b6472"
FUEL = "#dbeafe"
HATCH = "#9dbfe6"
SHADE = "#eef2f7"
FAINT = "#c3cad4"
EDGE = "#6b7480"
CAUTION = "#ffbf47"
WARNING = "#b00020"

COLOURS = {
    "ink": INK, "paper": PAPER, "flow": FLOW, "idle": IDLE, "fuel": FUEL, "hatch": HATCH,
    "shade": SHADE, "faint": FAINT, "edge": EDGE, "caution": CAUTION, "warning": WARNING,
}  # fmt: skip
"""Every colour by its name, as style sheets call it."""

DARK = {
    INK: "#f2f4f7", PAPER: "#171b21", FLOW: "#5ab4f0", IDLE: "#a9b3c0", FUEL: "#1c3557",
    HATCH: "#35608f", SHADE: "#252c36", FAINT: "#4d5866", EDGE: "#8f9aa8", CAUTION: CAUTION,
    WARNING: "#ff6b6b",
}  # fmt: skip
"""What each colour becomes in a dark theme. Amber stays, with dark letters on it; red stays red."""

TEXT_PAIRS = (
    (INK, PAPER), (INK, FUEL), (INK, SHADE), (INK, CAUTION), (IDLE, PAPER), (IDLE, SHADE),
    (FLOW, PAPER), (PAPER, FLOW), (PAPER, WARNING), (PAPER, IDLE), (INK, HATCH), (PAPER, INK),
    (WARNING, PAPER),
)  # fmt: skip
"""Colours of letters and of the ground that they stand on, wherever text is drawn."""

SHAPE_PAIRS = (
    (FLOW, PAPER), (IDLE, PAPER), (INK, PAPER), (INK, FUEL), (FLOW, FUEL), (EDGE, PAPER),
    (EDGE, SHADE), (FLOW, SHADE), (IDLE, SHADE), (WARNING, PAPER),
)  # fmt: skip
"""Colours of lines and shapes that must be seen, and of their ground."""

FONT = "Arial, 'Liberation Sans', Helvetica, sans-serif"
"""Three fonts of equal widths, so that what fits on one machine fits on the next."""

SAFETY = (
    "Training aid, not for operational use; the approved manuals, local rules and licensed "
    "practice prevail."
)


def contrast(first, second):
    """Return the contrast ratio of two colours, 1 to 21. [-]

    Parameters
    ----------
    first, second : str
        Colours as "#rrggbb".

    References
    ----------
    .. [1] W3C, "Web Content Accessibility Guidelines (WCAG) 2.2", definitions of relative
       luminance and contrast ratio.

    Examples
    --------
    >>> contrast("#ffffff", "#000000")
    21.0
    """
    low, high = sorted((_luminance(first), _luminance(second)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour):
    """Relative luminance of a colour, 0 to 1. [-]"""
    shares = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
