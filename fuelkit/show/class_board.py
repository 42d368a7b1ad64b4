"""The projector view of a board: one question at a time, a show of hands, then the answer.

As the learner's board it knows no flight. What is right is asked for when it is to be revealed,
one question at a time, since all that a widget holds lies open in the browser.
"""

import copy
from pathlib import Path

import anywidget
import traitlets

from fuelkit.assess.written import read_mass, read_time
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.dark import theme_css
from fuelkit.show.guarded import FAILED, Guarded
from fuelkit.show.palette import SAFETY

KINDS = ("choice", "number", "time", "text", "bands")
MOST_HANDS = 500
MOST_VALUES = 6
LONGEST_VALUE = 40
_ASK = ("id", "text", "kind", "options", "unit", "hint", "component")
_READ = {"number": read_mass, "time": read_time}
_WRITE = {"number": "a figure such as 3 250 kg", "time": "a time such as 1:32:00"}
_HERE = Path(__file__).parent
_SCRIPTS = ("board_words", "class_views", "class_count", "class_board")


def _read(name):
    return (_HERE / name).read_text(encoding="utf-8")


class ClassBoardError(FuelkitError, ValueError):
    """A class board was made of parts that do not fit, or a count cannot be taken."""


class ClassBoard(Guarded, anywidget.AnyWidget):
    """A board in front of a class: ask, count the hands, reveal, discuss.

    Parameters
    ----------
    title, lead, when : str
        Plain text: the heading, the situation, and what moment is asked for.
    drawing, table : str
        SVG of the situation and its table.
    asks : list of dict
        Each with `id`, `text`, `kind` ("choice", "number", "time", "text" or "bands"), and where
        they apply `options`, `unit`, `hint` and `component`. Whatever else a dict holds stays
        in Python.
    figures : str
        HTML of figures that the class may look up.
    counts : dict of str to dict of str to int
        Hands counted before, by the id of the ask and the option, or the value that was heard.
    revealed : sequence of str
        Ids of asks that were revealed before; each is asked of `on_reveal` again.
    on_counts : callable, optional
        Called with all counts after each change.
    on_reveal : callable
        Called with the id of an ask; returns a dict with `right` and `reason`, and perhaps
        `after_drawing` and `after_table`, which are shown when all asks are revealed.
    on_again : callable, optional
        Called without arguments when the board is cleared for another class.
    agrees : callable, optional
        Called with the id of an ask and a value heard; returns whether it counts as right.
        Without it figures and times are right when they read as the computed answer does, and
        other texts are not judged.

    Raises
    ------
    ClassBoardError
        If an ask is not whole, two share an id, or a count is none.
    """

    own_fault = "Something is wrong in the course, not in what was set ({})."

    _esm = "\n".join(_read(f"{name}.js") for name in _SCRIPTS)
    _css = theme_css() + "\n" + _read("class_board.css")

    title = traitlets.Unicode().tag(sync=True)
    lead = traitlets.Unicode().tag(sync=True)
    when = traitlets.Unicode().tag(sync=True)
    drawing = traitlets.Unicode().tag(sync=True)
    table = traitlets.Unicode().tag(sync=True)
    figures = traitlets.Unicode().tag(sync=True)
    asks = traitlets.List().tag(sync=True)
    counts = traitlets.Dict().tag(sync=True)
    reveals = traitlets.Dict().tag(sync=True)
    after_drawing = traitlets.Unicode().tag(sync=True)
    after_table = traitlets.Unicode().tag(sync=True)
    error = traitlets.Unicode().tag(sync=True)
    safety = traitlets.Unicode(SAFETY).tag(sync=True)

    def __init__(
        self, *, title, asks, on_reveal, lead="", when="", drawing="", table="", figures="",
        counts=None, revealed=(), on_counts=None, on_again=None, agrees=None,
    ):  # fmt: skip
        _check_asks(asks)
        known = {ask["id"] for ask in asks}
        kept = {k: dict(v) for k, v in (counts or {}).items() if k in known}
        check_counts(asks, kept)
        super().__init__(
            title=title, lead=lead, when=when, drawing=drawing, table=table, figures=figures,
            asks=[{k: ask[k] for k in _ASK if k in ask} for ask in asks], counts=kept,
        )  # fmt: skip
        self._on_counts, self._on_reveal, self._on_again = on_counts, on_reveal, on_again
        self._agrees, self._after = agrees, ("", "")
        self._kept = copy.deepcopy(kept)
        for identifier in revealed:
            if identifier in known:
                self.reveal(identifier)
        self.observe(self._counted, names="counts")
        self.on_msg(self._heard)

    @property
    def revealed(self):
        """Ids of the asks that are revealed, in the order of the board."""
        return tuple(ask["id"] for ask in self.asks if ask["id"] in self.reveals)

    # -------------------------------------------------------------------- what the page sends
    def _heard(self, _widget, content, _buffers):
        kind = content.get("kind") if isinstance(content, dict) else None
        if kind == "reveal":
            self.reveal(content.get("ask"))
        elif kind == "reveal all":
            self.reveal_all()
        elif kind == "again":
            self.start_again()
        self.send({"kind": "answered"})

    def _counted(self, change):
        """Take a new count, or put back the last good one and say why."""
        if change["new"] == self._kept:
            return
        self.error = ""
        new = copy.deepcopy(change["new"])
        if self.guarded("The count is not taken.", check_counts, self.asks, new) is FAILED:
            self.counts = copy.deepcopy(self._kept)
            return
        self._kept = new
        self._judge()
        if self._on_counts:
            self.guarded("The count is not saved.", self._on_counts, copy.deepcopy(new))

    # ------------------------------------------------------------------------------- revealing
    def reveal(self, identifier):
        """Reveal the answer to one ask, as the button does; a second time changes nothing.

        Parameters
        ----------
        identifier : str
            The id of the ask.

        Returns
        -------
        bool
            Whether it is revealed now.
        """
        if identifier in self.reveals:
            return True
        self.error = ""
        found = self.guarded("The answer is not revealed.", self._answer, identifier)
        if found is FAILED:
            return False
        drawing, table = found.get("after_drawing") or "", found.get("after_table") or ""
        self._after = (drawing or self._after[0], table or self._after[1])
        shown = {"right": found["right"], "reason": str(found.get("reason") or "")}
        with self.hold_sync():
            self.reveals = self.reveals | {identifier: shown}
            self._judge()
            if len(self.revealed) == len(self.asks):
                self.after_drawing, self.after_table = self._after
        return True

    def reveal_all(self):
        """Reveal every ask in order; stops at the first that fails, which is told."""
        all(self.reveal(ask["id"]) for ask in self.asks)

    def start_again(self):
        """Clear counts and answers for another class."""
        self._after, self.error = ("", ""), ""
        with self.hold_sync():
            self.reveals, self.after_drawing, self.after_table = {}, "", ""
            self.counts = {}
        if self._on_again:
            self.guarded("The new start is not saved.", self._on_again)

    def _answer(self, identifier):
        """What is right, asked for now; raises if there is no such ask or no answer."""
        known = [ask["id"] for ask in self.asks]
        if identifier not in known:
            raise ClassBoardError(f"ask is {identifier!r}; it must be one of {', '.join(known)}.")
        found = self._on_reveal(identifier)
        right = found.get("right") if isinstance(found, dict) else None
        if not isinstance(right, str) or not right:
            raise ClassBoardError(f"ask '{identifier}': right is {right!r}; it must be a text.")
        return found

    def _judge(self):
        """Write into each revealed answer which options or values of the class had it."""
        judged = {}
        for ask in self.asks:
            if shown := self.reveals.get(ask["id"]):
                had = self.guarded("The values are not judged.", self._had, ask, shown["right"])
                judged[ask["id"]] = {**shown, "had": None if had is FAILED else had}
        self.reveals = judged

    def _had(self, ask, right):
        """Options or values heard that are right; None if that cannot be told."""
        if ask["kind"] == "choice":
            return [right] if right in ask["options"] else None
        heard = list(self._kept.get(ask["id"], {}))
        if self._agrees:
            return [value for value in heard if self._agrees(ask["id"], value)]
        read = _READ.get(ask["kind"])
        if read is None or read(right) is None:
            return None
        return [value for value in heard if read(value) == read(right)]


# ------------------------------------------------------------------------------------- checks
def check_counts(asks, counts):
    """Raise if counts of hands cannot be taken; every fault is named.

    Parameters
    ----------
    asks : list of dict
        As a class board takes them.
    counts : dict of str to dict of str to int
        By the id of the ask and the option or value; whole numbers from 0 to 500.

    Raises
    ------
    ClassBoardError
        Names the field, its value, and what would be right.
    """
    by_name = {ask["id"]: ask for ask in asks}
    faults = []
    for name, hands in counts.items():
        if name not in by_name:
            faults.append(f"counts has '{name}'; it must be one of {', '.join(by_name)}.")
        elif not isinstance(hands, dict):
            faults.append(f"counts of '{name}' is {hands!r}; it must be a number for each answer.")
        else:
            faults += _count_faults(by_name[name], hands)
    if faults:
        raise ClassBoardError("\n".join(faults))


def _count_faults(ask, hands):
    where = ask["text"].rstrip("?. ")
    for answer, count in hands.items():
        whole = isinstance(count, int) and not isinstance(count, bool)
        if not whole or not 0 <= count <= MOST_HANDS:
            yield (
                f"{where}, {answer}: hands is {count!r}; it must be a whole number from 0 to "
                f"{MOST_HANDS}."
            )
        yield from _answer_faults(ask, where, answer)
    if ask["kind"] != "choice" and len(hands) > MOST_VALUES:
        yield f"{where}: {len(hands)} values are given; it must be {MOST_VALUES} at most."


def _answer_faults(ask, where, answer):
    """Whether an answer is one of the options, or a value that can be read."""
    if ask["kind"] == "choice":
        if answer not in ask["options"]:
            yield f"{where}: option is '{answer}'; it must be {' or '.join(ask['options'])}."
        return
    if not answer.strip() or len(answer) > LONGEST_VALUE:
        yield f"{where}: value is '{answer}'; it must have 1 to {LONGEST_VALUE} characters."
    elif ask["kind"] in _READ and _READ[ask["kind"]](answer) is None:
        yield f"{where}: value is '{answer}'; it must be {_WRITE[ask['kind']]}."


def _check_asks(asks):
    faults = [fault for ask in asks for fault in _ask_faults(ask)]
    names = [ask.get("id") for ask in asks]
    doubled = sorted({str(name) for name in names if names.count(name) > 1})
    faults += [f"two asks have the id '{name}'; each needs its own." for name in doubled]
    if not asks:
        faults.append("asks is empty; a class board needs one or more.")
    if faults:
        raise ClassBoardError("\n".join(f"class board: {fault}" for fault in faults))


def _ask_faults(ask):
    for field in ("id", "text", "kind"):
        if not isinstance(ask.get(field), str) or not ask[field]:
            yield f"an ask has {field} {ask.get(field)!r}; it must be a text."
    if ask.get("kind") not in KINDS:
        kinds = " or ".join(KINDS)
        yield f"ask '{ask.get('id')}': kind is '{ask.get('kind')}'; it must be {kinds}."
    if ask.get("kind") == "choice" and len(ask.get("options") or ()) < 2:
        options = ask.get("options")
        yield f"ask '{ask.get('id')}': options are {options}; a choice needs two or more."
