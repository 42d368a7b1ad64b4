"""Pictures of what a notebook shows: two sizes, light, dark and grey, for a person to look at.

`FUELKIT_PICTURE_KINDS`, such as "1280-light 1920-grey", asks for some of the kinds only.
"""

import os
import re

SIZES = ((1280, 720), (1920, 1080))
THEMES = ("light", "dark", "grey")
KINDS = os.environ.get("FUELKIT_PICTURE_KINDS", "").split()
_WORKED = {
    "set": [(SIZES[0], "light")],
    "comparing": [(SIZES[0], "light"), (SIZES[0], "dark"), (SIZES[1], "light")],
}  # of the last state of each board there are pictures of every kind among those of the cells
_AROUND = 160  # px; what JupyterLab itself takes of the height
_THEME = """theme => {
  document.body.setAttribute('data-jp-theme-light', String(theme !== 'dark'));
  document.documentElement.style.filter = theme === 'grey' ? 'grayscale(1)' : '';
}"""
_HEIGHTS = """() => [...document.querySelectorAll('.jp-CodeCell .jp-Cell-outputArea')]
  .map(e => e.getBoundingClientRect().height)"""


class Pictures:
    """Takes pictures into a folder.

    Parameters
    ----------
    page : Page
        With an open notebook.
    folder : Path
        Made when there is something to put in.
    """

    def __init__(self, page, folder):
        self.page, self.folder = page, folder
        self.taken = 0

    def board(self, place, word):
        """Take a board while it is worked, by what it shows: see `Learner.watch`."""
        if word not in _WORKED:
            return
        self.taken += 1
        title = re.sub(r"\W+", "-", place.get_attribute("aria-label"))[:40]
        for (width, height), theme in _WORKED[word]:
            if not _is_wanted(width, theme):
                continue
            self._resize(width, height, lambda: place.bounding_box()["height"])
            self.page.evaluate(_THEME, theme)
            self._take(f"board-{self.taken:02d}-{title}-{word}", place, width, theme)
        self._back()

    def cells(self):
        """Take what each code cell shows."""
        areas = self.page.locator(".jp-CodeCell .jp-Cell-outputArea")
        shown = [n for n in range(areas.count()) if areas.nth(n).bounding_box()["height"] > 20.0]
        for width, height in SIZES:
            self._resize(width, height, lambda: max(self.page.evaluate(_HEIGHTS)))
            for theme in [t for t in THEMES if _is_wanted(width, t)]:
                self.page.evaluate(_THEME, theme)
                for number in shown:
                    self._take(f"cell-{number:02d}", areas.nth(number), width, theme)
        self._back()

    def _resize(self, width, height, needed):
        """Make the window as wide as the screen, and as high as what is to be seen at once.

        `needed` tells how high that is: drawings grow with the width.
        """
        self.page.set_viewport_size({"width": width, "height": height})
        self.page.wait_for_timeout(200)
        whole = max(height, min(int(needed()) + _AROUND, 5000))
        self.page.set_viewport_size({"width": width, "height": whole})
        self.page.wait_for_timeout(200)

    def _take(self, name, place, width, theme):
        self.folder.mkdir(parents=True, exist_ok=True)
        path = self.folder / f"{name}-{width}-{theme}.png"
        place.screenshot(path=path, animations="disabled")

    def _back(self):
        self.page.evaluate(_THEME, "light")
        self.page.set_viewport_size({"width": SIZES[0][0], "height": SIZES[0][1]})


def _is_wanted(width, theme):
    return not KINDS or f"{width}-{theme}" in KINDS
