"""Light and dark: one style sheet for boards, pages and drawings, made from the palette.

Drawings carry their colours as plain attributes, so that they are whole by themselves. Each
colour is looked up here in the theme that shows: JupyterLab's own, or, on a page that stands
alone, what the reader's machine asks for. Print is always light.
"""

from fuelkit.show.palette import CAUTION, COLOURS, DARK, INK

_PLACES = ":is(.fuelkit-board,.fuelkit-class,.fuelkit-page)"
_IN_DARK_LAB = f'[data-jp-theme-light="false"] {_PLACES}'
_ALONE = f"{_PLACES}:not([data-jp-theme-light] *)"


def theme_css():
    """Return the style sheet that gives boards, pages and drawings their colours.

    It counts within elements of class `fuelkit-board`, `fuelkit-class` or `fuelkit-page`. A page
    that stands alone puts it in its head and gives its body the class `fuelkit-page`.
    """
    dark = _values(DARK, "dark")
    return "\n".join(
        [
            f"{_PLACES}{{{_values({}, 'light')}}}",
            f"@media screen{{{_IN_DARK_LAB}{{{dark}}}}}",
            f"@media screen and (prefers-color-scheme:dark){{{_ALONE}{{{dark}}}}}",
            f"{_PLACES} svg{{background:var(--paper)!important}}",
            *_drawing_rules(),
        ]
    )


def _values(theme, scheme):
    """The palette as properties of a style sheet, in one theme."""
    named = "".join(f"--{name}:{theme.get(c, c)};" for name, c in COLOURS.items())
    return f"{named}color-scheme:{scheme}"


def _drawing_rules():
    """A colour written on a shape gives way to the same colour of the theme that shows."""
    for name, colour in COLOURS.items():
        for what in ("fill", "stroke"):
            yield f'{_PLACES} svg [{what}="{colour}"]{{{what}:var(--{name})}}'
    # Amber stays amber in both themes, so what is written on it stays dark.
    yield f'{_PLACES} svg [fill="{CAUTION}"]+text{{fill:{INK}}}'
