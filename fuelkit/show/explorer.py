"""What pages with controls to play with share: traits, and how they take what the page sends."""

import traceback

import anywidget
import traitlets

from fuelkit.physics.errors import FuelkitError
from fuelkit.show.palette import SAFETY


class ExplorerError(FuelkitError, ValueError):
    """A control was set that there is not, or to what it cannot be."""


class Explorer(anywidget.AnyWidget):
    """A drawing with controls: each change is worked and drawn at once.

    A page of this kind gives `set`, which takes values by the name of their control and draws
    again, and `begin_again`, which puts every control where it began.
    """

    title = traitlets.Unicode().tag(sync=True)
    controls = traitlets.List().tag(sync=True)
    drawing = traitlets.Unicode().tag(sync=True)
    table = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    error = traitlets.Unicode().tag(sync=True)
    safety = traitlets.Unicode(SAFETY).tag(sync=True)

    def _heard(self, _widget, content, _buffers):
        if not isinstance(content, dict) or content.get("kind") not in ("set", "start"):
            return
        try:
            if content["kind"] == "start":
                self.begin_again()
            else:
                self.set(**content.get("values", {}))
        except Exception as problem:
            if not isinstance(problem, FuelkitError):
                traceback.print_exc()
            self.error = f"Not drawn. {problem}"
        self.send({"kind": "drawn"})


def slider(name, label, span, step, value, words):
    """Return a control that is a number, as the page takes it; `span` is (lowest, highest)."""
    low, high = span
    return {
        "id": name, "label": label, "low": low, "high": high, "step": step, "value": value,
        "words": words,
    }  # fmt: skip
