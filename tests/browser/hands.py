"""Two ways to work the controls of a board in a browser: the mouse, and the keyboard alone."""

import re

_TABS = 120  # so many presses of Tab at the most from one control to the next
# The key that leads to an element from where the focus is; none if it is there.
_WAY = """e => {
  const now = document.activeElement;
  if (e.contains(now)) return '';
  const before = e.compareDocumentPosition(now) & Node.DOCUMENT_POSITION_FOLLOWING;
  return before ? 'Shift+Tab' : 'Tab';
}"""


class Mouse:
    """Sets a board's controls by pointing and typing."""

    def set(self, group, kind, text):
        """Answer an ask of that kind, given as its group of controls."""
        if kind == "bands":
            self._bands(group, text)
        elif group.locator("select").count():
            group.locator("select").select_option(text)
        elif group.locator("input[type=radio]").count():
            self._choose(group, text)
        else:
            group.locator("input").fill(text)

    def mark(self, row, mark):
        """Mark a row of the comparison "same" or "differs"."""
        self._choose(row, mark)

    @staticmethod
    def _choose(group, text):
        group.locator("label.choice").filter(has_text=re.compile(_exactly(text))).click()

    def _bands(self, group, text):
        if text == "never":
            group.get_by_label("Not at all in this stretch").check()
            return
        for number, band in enumerate(text.split(", "), start=1):
            group.get_by_role("button", name="Add a band").click()
            for name, time in zip(("begins", "ends"), band.split("-"), strict=True):
                group.get_by_label(f"Band {number} {name}", exact=True).fill(time)

    def press(self, button):
        """Press a button."""
        button.click()


def _exactly(text):
    return rf"^\s*{re.escape(text)}\s*$"


class Keyboard:
    """Sets a board's controls with Tab, Space, Enter, arrows and letters; nothing is pointed at."""

    def __init__(self, page, place):
        self.page = page
        place.locator("button, input, select").first.focus()  # arrives with Tab from the cell above

    def _tab_to(self, target):
        for _ in range(_TABS):
            way = target.evaluate(_WAY)
            if not way:
                return
            self.page.keyboard.press(way)
        raise AssertionError(f"Tab does not lead to {target}")

    def set(self, group, kind, text):
        """Answer an ask of that kind, given as its group of controls."""
        self._tab_to(group)
        if kind == "bands":
            self._bands(group, text)
        elif group.locator("select").count():
            self._select(group.locator("select"), text)
        elif group.locator("input[type=radio]").count():
            self._choose(group, text)
        else:
            self.page.keyboard.press("Control+a")
            self.page.keyboard.type(text)

    def mark(self, row, mark):
        """Mark a row of the comparison "same" or "differs"."""
        self._tab_to(row)
        self._choose(row, mark)

    def _choose(self, group, text):
        self.page.keyboard.press("Space")
        for _ in range(group.locator("input").count()):
            if group.locator("input:checked").input_value() == text:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"the arrows do not lead to '{text}'")

    def _select(self, select, text):
        for _ in range(select.locator("option").count()):
            self.page.keyboard.press("ArrowDown")
            if select.input_value() == text:
                return
        raise AssertionError(f"the arrows do not lead to '{text}'")

    def _bands(self, group, text):
        if text == "never":
            self._tab_to(group.get_by_label("Not at all in this stretch"))
            self.page.keyboard.press("Space")
            return
        for band in text.split(", "):
            self._tab_to(group.get_by_role("button", name="Add a band"))
            self.page.keyboard.press("Enter")
            begins, ends = band.split("-")
            self.page.keyboard.type(begins)  # the new field has the focus
            self.page.keyboard.press("Tab")
            self.page.keyboard.type(ends)

    def press(self, button):
        """Press a button."""
        self._tab_to(button)
        self.page.keyboard.press("Enter")
