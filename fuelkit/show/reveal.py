"""A page that opens only when a prediction is committed, and then by itself."""

from pathlib import Path

import anywidget
import ipywidgets
import traitlets

from fuelkit.show.page import PAGE_CSS


class Reveal(anywidget.AnyWidget):
    """A place in a notebook that shows a sentence until it may show its page.

    Parameters
    ----------
    page : callable
        Makes the page once it may be shown; not called before.
    closed : callable
        Returns the sentence to show instead, or nothing once the page may be shown.
    """

    _esm = Path(__file__).parent / "reveal.js"
    _css = PAGE_CSS
    html = traitlets.Unicode().tag(sync=True)
    closed = traitlets.Unicode().tag(sync=True)

    def __init__(self, page, closed):
        super().__init__()
        self._page, self._closed = page, closed
        self.refresh()

    @property
    def is_open(self):
        """Whether the page is shown."""
        return not self.closed

    def refresh(self):
        """Show the page if it may be shown now."""
        sentence = self._closed()
        with self.hold_sync():
            self.closed = sentence
            self.html = "" if sentence else self._page().html


class BoardPlace(ipywidgets.VBox):
    """A place in a notebook where a board opens once it may, and then by itself.

    Parameters
    ----------
    make : callable
        Makes the board; not called before it may be shown.
    closed : callable
        Returns the sentence to show instead, or nothing once the board may be shown.
    """

    def __init__(self, make, closed):
        self._make, self._closed = make, closed
        super().__init__([Reveal(lambda: None, closed)])

    @property
    def is_open(self):
        """Whether the board is shown."""
        return not isinstance(self.children[0], Reveal)

    def refresh(self):
        """Show the board if it may be shown now; a board that is shown stays as it is."""
        if self.is_open:
            return
        if self._closed():
            self.children[0].refresh()
        else:
            self.children = (self._make(),)
