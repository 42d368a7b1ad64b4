"""The prediction board: a learner sets states and figures, commits, and only then sees.

The board knows no flight. It shows drawings that it is given and calls back; what is right comes
in only once the prediction is committed, since all that a widget holds lies open in the browser.
"""

from pathlib import Path

import anywidget
import traitlets

from fuelkit.physics.errors import FuelkitError
from fuelkit.show.dark import theme_css
from fuelkit.show.guarded import FAILED, Guarded
from fuelkit.show.palette import SAFETY

KINDS = ("choice", "number", "time", "text", "bands")
MARKS = ("same", "differs")
_HERE = Path(__file__).parent
_SCRIPTS = ("board_words", "board_bands", "board_stage", "board_compare", "board_clock", "board")
_RESULTS = ("comparison", "after_drawing", "after_table", "note", "download")
_TOLD_LATER = ("is_right", "reason")
_HEADING = "Your prediction"


def _read(name):
    return (_HERE / name).read_text(encoding="utf-8")


class BoardError(FuelkitError, ValueError):
    """A board was made of parts that do not fit."""


class PredictionBoard(Guarded, anywidget.AnyWidget):
    """A board in a notebook: situation, prediction, commit, comparison.

    Parameters
    ----------
    title, lead, when : str
        Plain text: the heading, the situation, and what moment is asked for.
    drawing, table : str
        SVG of the situation and its table; a part of the drawing that carries the mark
        `data-component` of an ask can be set there too.
    figures : str
        HTML of figures that the learner may look up.
    asks : list of dict
        Each with `id`, `text`, `kind` ("choice", "number", "time", "text" or "bands"), and where
        they apply `options`, `unit`, `component` and `hint`. A text may be left empty. Options
        that are sentences stand one a line; `long` asks for that. One that is `optional` may be
        left open. An ask with `given`, and
        perhaps `reason`, is shown as set by the course and is not answered. Bands ask when within
        `start` to `end` [s] a part is in `state`; `label` names the axis, `ticks` are phases,
        each with `at` [s] and `words`. Their answer is a text such as
        "0:44:30-1:16:20, 1:31:00-2:40:00", or "never".
    answers : dict of str to str
        What was set before, by the id of the ask, as it was written.
    committed : bool
    comparison : list of dict
        Once committed: `id`, `text`, `given`, `right`, `is_right` and `reason` of each ask. With
        `on_compare`, `is_right` and `reason` are held back until the learner has compared.
    compared : dict of str to str
        How the learner marked each row, by the id of the ask: "same" or "differs".
    after_drawing, after_table, note : str
        Once committed: what the aircraft did, and a sentence on the whole.
    download : dict
        Once committed: a file that the learner may save, `name` and `text`; none if empty.
    restored_note : str
        A sentence on where the answers come from.
    commit_label, panel_heading, done_heading : str
        The words of the button, above the asks, and above what shows once they are committed.
    another_label : str
        The words of a button that asks for another board; none if empty.
    large : bool
        Whether letters are large enough to be read on a projector's screen.
    on_draft : callable, optional
        Called with the answers soon after each change.
    on_commit : callable, optional
        Called with the answers; returns a dict with some of comparison, after_drawing,
        after_table, note and download. An error that it raises is shown on the board and nothing is
        committed.
    on_compare : callable, optional
        Called with the learner's own marking, see `compared`; returns a dict with `reasons`, each
        with `id`, `is_right` and `reason`, and perhaps a note, after_drawing and after_table that
        take the place of the earlier ones. Without it, verdicts and reasons show with the
        comparison.
    on_another : callable, optional
        Called without arguments when another board is asked for.
    left : callable, optional
        Returns how many seconds are left, which are counted down on the board.

    Raises
    ------
    BoardError
        If an ask is not whole, two share an id, or results are given before the commit.
    """

    _esm = "\n".join(_read(f"{name}.js") for name in _SCRIPTS)
    _css = theme_css() + "\n" + _read("board.css")

    title = traitlets.Unicode().tag(sync=True)
    lead = traitlets.Unicode().tag(sync=True)
    when = traitlets.Unicode().tag(sync=True)
    drawing = traitlets.Unicode().tag(sync=True)
    table = traitlets.Unicode().tag(sync=True)
    figures = traitlets.Unicode().tag(sync=True)
    asks = traitlets.List().tag(sync=True)
    answers = traitlets.Dict().tag(sync=True)
    committed = traitlets.Bool(False).tag(sync=True)
    comparison = traitlets.List().tag(sync=True)
    after_drawing = traitlets.Unicode().tag(sync=True)
    after_table = traitlets.Unicode().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)
    download = traitlets.Dict().tag(sync=True)
    restored_note = traitlets.Unicode().tag(sync=True)
    commit_label = traitlets.Unicode("Commit").tag(sync=True)
    panel_heading = traitlets.Unicode(_HEADING).tag(sync=True)
    done_heading = traitlets.Unicode().tag(sync=True)
    another_label = traitlets.Unicode().tag(sync=True)
    large = traitlets.Bool(False).tag(sync=True)
    compares = traitlets.Bool(False).tag(sync=True)
    timed = traitlets.Bool(False).tag(sync=True)
    compared = traitlets.Dict().tag(sync=True)
    error = traitlets.Unicode().tag(sync=True)
    safety = traitlets.Unicode(SAFETY).tag(sync=True)

    def __init__(
        self, *, title, asks, committed=False, answers=None, comparison=(), compared=None,
        after_drawing="", after_table="", on_draft=None, on_commit=None, on_compare=None,
        on_another=None, left=None, **words,
    ):  # fmt: skip
        results = {
            "comparison": list(comparison), "after_drawing": after_drawing,
            "after_table": after_table, "compared": dict(compared or {}),
        }  # fmt: skip
        _check(asks, committed, results)
        _check_words(words)
        if on_compare is not None and not results["compared"]:
            results["comparison"] = _held_back(results["comparison"])
        known = {ask["id"] for ask in asks if not _is_given(ask)}
        kept = {k: str(v) for k, v in (answers or {}).items() if k in known}
        super().__init__(
            title=title, asks=[dict(ask) for ask in asks], answers=kept, committed=committed,
            compares=on_compare is not None, timed=left is not None, **results, **words,
        )  # fmt: skip
        self._left = left
        self._on_draft, self._on_commit = on_draft, on_commit
        self._on_compare, self._on_another = on_compare, on_another
        self._final = dict(self.answers) if self.committed else None
        self.observe(self._drafted, names="answers")
        self.on_msg(self._heard)

    # -------------------------------------------------------------------- what the page sends
    def _drafted(self, change):
        """Keep a draft; once committed, put back what was committed."""
        if self._final is not None:
            if change["new"] != self._final:
                self.answers = dict(self._final)
        elif self._on_draft is not None:
            self.guarded("What you have set is not saved.", self._on_draft, dict(self.answers))

    def _heard(self, _widget, content, _buffers):
        kind = content.get("kind") if isinstance(content, dict) else None
        if kind == "commit":
            self.commit(content.get("answers"))
            self.send({"kind": "answered", "done": self.committed})
        elif kind == "compare":
            self.compare(content.get("marks"))
            self.send({"kind": "answered", "done": bool(self.compared)})
        elif kind == "another":
            self.send({"kind": "answered", "done": self.another()})
        elif kind == "left":
            self.tell_left()

    def tell_left(self):
        """Tell the page how much time is left, as when it has become more."""
        if self._left is not None:
            self.send({"kind": "left", "seconds": self._left()})

    def commit(self, answers):
        """Commit a prediction, as the button does; a second time changes nothing.

        Parameters
        ----------
        answers : dict of str to str
            As they were written, by the id of the ask.
        """
        if self._final is not None:
            return
        asks = [ask for ask in self.asks if not _is_given(ask)]
        answers = {ask["id"]: str((answers or {}).get(ask["id"], "")).strip() for ask in asks}
        failed = self._not_committed()
        if self.guarded(failed, _check_whole, asks, answers) is FAILED:
            return
        result = self._on_commit and self.guarded(failed, self._on_commit, dict(answers))
        if result is FAILED:
            return
        self._final = answers
        with self.hold_sync():
            self.answers = dict(answers)
            for name in _RESULTS:
                if result and name in result:
                    self._take(name, result[name])
            self.committed = True

    def settle(self, answers, note):
        """Close the board from outside, as committed with some answers and a note on why."""
        if self._final is None:
            self._final = {name: str(text) for name, text in answers.items()}
            with self.hold_sync():
                self.answers, self.note, self.committed = dict(self._final), note, True

    def _not_committed(self):
        if self.panel_heading == _HEADING:
            return "Your prediction is not committed."
        return f"“{self.commit_label}” did not go through."

    def _take(self, name, value):
        """Take over a result; what the learner is still to see for themself is held back."""
        if name == "comparison" and self.compares:
            value = _held_back(value)
        setattr(self, name, value)

    def compare(self, marks):
        """Take the learner's own marking and show the reasons; a second time changes nothing.

        Parameters
        ----------
        marks : dict of str to str
            "same" or "differs", by the id of the ask.
        """
        if not (self.compares and self.committed) or self.compared:
            return
        failed = "Your marking is not kept."
        marks = self.guarded(failed, _whole_marks, self.comparison, marks or {})
        if marks is FAILED:
            return
        result = self.guarded(failed, self._reasons, marks)
        if result is FAILED:
            return
        with self.hold_sync():
            for name, value in result.items():
                setattr(self, name, value)
            self.compared = marks

    def _reasons(self, marks):
        """What shows once the learner has compared: the rows with their reasons, and the rest."""
        result = self._on_compare(dict(marks))
        reasons = {row["id"]: row for row in result["reasons"]}
        told = [
            row | {name: reasons[row["id"]][name] for name in _TOLD_LATER}
            for row in self.comparison
        ]
        return {n: result[n] for n in _RESULTS if n in result} | {"comparison": told}

    def another(self):
        """Ask for another board, as the button does; return whether that went through."""
        if self._on_another is None:
            return True
        return self.guarded("There is no other one yet.", self._on_another) is not FAILED

    def guarded(self, failed, function, *arguments):
        """Call a function; an error stays on the board until the next call that goes through."""
        result = super().guarded(failed, function, *arguments)
        if result is not FAILED:
            self.error = ""
        return result


def _is_given(ask):
    """Whether an ask is set by the course and not to be answered."""
    return ask.get("given") is not None


def _held_back(rows):
    return [{k: v for k, v in row.items() if k not in _TOLD_LATER} for row in rows]


def _whole_marks(rows, marks):
    """Return the marking of every row; raise if one is missing or unknown."""
    for row in rows:
        mark = marks.get(row["id"])
        if mark not in MARKS:
            raise BoardError(
                f"'{row['text']}' is marked {mark!r}; it must be {' or '.join(MARKS)}. Mark it."
            )
    return {row["id"]: marks[row["id"]] for row in rows}


def _check_whole(asks, answers):
    """Raise if something is still open or is none of the options."""
    for ask in asks:
        given = answers[ask["id"]]
        if ask.get("optional") and not given.strip():
            continue
        if not given.strip() and (ask["kind"] != "text" or ask.get("long")):
            raise BoardError(f"'{ask['text']}' is still open. Set it and commit again.")
        if ask["kind"] == "choice" and given not in ask["options"]:
            raise BoardError(
                f"'{ask['text']}' is {given}; it must be one of {', '.join(ask['options'])}. "
                "Set it again."
            )


def _check(asks, committed, results):
    faults = [fault for ask in asks for fault in _faults(ask)]
    names = [ask.get("id") for ask in asks]
    doubled = sorted({str(name) for name in names if names.count(name) > 1})
    faults += [f"two asks have the id '{name}'; each needs its own." for name in doubled]
    if not committed:
        early = [name for name, value in results.items() if value]
        faults += [
            f"{name} is given before the commit; it would tell the answer." for name in early
        ]
    if faults:
        raise BoardError("\n".join(f"board: {fault}" for fault in faults))


def _check_words(words):
    known = {
        "lead", "when", "drawing", "table", "figures", "note", "restored_note", "commit_label",
        "panel_heading", "done_heading", "another_label", "large", "download",
    }  # fmt: skip
    for name in words.keys() - known:
        raise TypeError(f"PredictionBoard has no argument '{name}'.")


def _faults(ask):
    name, kind = ask.get("id"), ask.get("kind")
    for field in ("id", "text", "kind"):
        if not isinstance(ask.get(field), str) or not ask[field]:
            yield f"an ask has {field} {ask.get(field)!r}; it must be a text."
    if kind not in KINDS:
        yield f"ask '{name}': kind is '{kind}'; it must be {' or '.join(KINDS)}."
    given = ask.get("given")
    if given is not None and not (isinstance(given, str) and given):
        yield f"ask '{name}': given is {given!r}; it must be a text."
    if kind == "choice" and len(ask.get("options") or ()) < 2:
        yield f"ask '{name}': options are {ask.get('options')}; a choice needs two or more."
    if kind == "bands":
        yield from _band_faults(ask)


def _band_faults(ask):
    name, start, end = ask.get("id"), ask.get("start"), ask.get("end")
    if not all(isinstance(time, int | float) for time in (start, end)) or not 0 <= start < end:
        yield f"ask '{name}': start is {start!r} and end {end!r}; they must be seconds in order."
    if not isinstance(ask.get("state"), str) or not ask["state"]:
        yield f"ask '{name}': state is {ask.get('state')!r}; it must be a text."
