"""The prediction board: a learner sets states and figures, commits, and only then sees.

The board knows no flight. It shows drawings that it is given and calls back; what is right comes
in only once the prediction is committed, since all that a widget holds lies open in the browser.
"""

import traceback
from pathlib import Path

import anywidget
import traitlets

from fuelkit.physics.errors import FuelkitError
from fuelkit.show.palette import SAFETY

KINDS = ("choice", "number", "time", "text")
_HERE = Path(__file__).parent
_RESULTS = ("comparison", "after_drawing", "after_table", "note")


class BoardError(FuelkitError, ValueError):
    """A board was made of parts that do not fit."""


class PredictionBoard(anywidget.AnyWidget):
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
        Each with `id`, `text`, `kind` ("choice", "number", "time" or "text"), and where they
        apply `options`, `unit`, `component` and `hint`. A text may be left empty.
    answers : dict of str to str
        What was set before, by the id of the ask, as it was written.
    committed : bool
    comparison : list of dict
        Once committed: `id`, `text`, `given`, `right`, `is_right` and `reason` of each ask.
    after_drawing, after_table, note : str
        Once committed: what the aircraft did, and a sentence on the whole.
    restored_note : str
        A sentence on where the answers come from.
    commit_label : str
    on_draft : callable, optional
        Called with the answers soon after each change.
    on_commit : callable, optional
        Called with the answers; returns a dict with some of comparison, after_drawing,
        after_table and note. An error that it raises is shown on the board and nothing is
        committed.

    Raises
    ------
    BoardError
        If an ask is not whole, two share an id, or results are given before the commit.
    """

    _esm = _HERE / "board.js"
    _css = _HERE / "board.css"

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
    restored_note = traitlets.Unicode().tag(sync=True)
    commit_label = traitlets.Unicode("Commit").tag(sync=True)
    error = traitlets.Unicode().tag(sync=True)
    safety = traitlets.Unicode(SAFETY).tag(sync=True)

    def __init__(
        self, *, title, asks, lead="", when="", drawing="", table="", figures="", answers=None,
        committed=False, comparison=(), after_drawing="", after_table="", note="",
        restored_note="", commit_label="Commit", on_draft=None, on_commit=None,
    ):  # fmt: skip
        results = {
            "comparison": list(comparison), "after_drawing": after_drawing,
            "after_table": after_table,
        }  # fmt: skip
        _check(asks, committed, results)
        known = {ask["id"] for ask in asks}
        kept = {k: str(v) for k, v in (answers or {}).items() if k in known}
        super().__init__(
            title=title, asks=[dict(ask) for ask in asks], lead=lead, when=when, drawing=drawing,
            table=table, figures=figures, answers=kept, committed=committed, note=note,
            restored_note=restored_note, commit_label=commit_label, **results,
        )  # fmt: skip
        self._on_draft, self._on_commit = on_draft, on_commit
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
            self._guarded("What you have set is not saved.", self._on_draft, dict(self.answers))

    def _heard(self, _widget, content, _buffers):
        if isinstance(content, dict) and content.get("kind") == "commit":
            self.commit(content.get("answers"))
            self.send({"kind": "answered", "committed": self.committed})

    def commit(self, answers):
        """Commit a prediction, as the button does; a second time changes nothing.

        Parameters
        ----------
        answers : dict of str to str
            As they were written, by the id of the ask.
        """
        if self._final is not None:
            return
        answers = {ask["id"]: str((answers or {}).get(ask["id"], "")).strip() for ask in self.asks}
        failed = "Your prediction is not committed."
        if self._guarded(failed, _check_whole, self.asks, answers) is _FAILED:
            return
        result = self._on_commit and self._guarded(failed, self._on_commit, dict(answers))
        if result is _FAILED:
            return
        self._final = answers
        with self.hold_sync():
            self.answers = dict(answers)
            for name in _RESULTS:
                if result and name in result:
                    setattr(self, name, result[name])
            self.committed = True

    def _guarded(self, failed, function, *arguments):
        """Call a function; an error is told on the board, and in full in the notebook's log."""
        try:
            result = function(*arguments)
        except Exception as problem:
            traceback.print_exc()
            self.error = f"{failed} {_in_words(problem)}"
            return _FAILED
        self.error = ""
        return result


_FAILED = object()


def _in_words(problem):
    if isinstance(problem, FuelkitError):
        return str(problem)
    if isinstance(problem, OSError):
        return f"The computer says: {problem.strerror or problem}."
    return (
        f"Something is wrong in the course, not in your answer ({type(problem).__name__}: "
        f"{problem}). Please tell your instructor."
    )


def _check_whole(asks, answers):
    """Raise if something is still open or is none of the options."""
    for ask in asks:
        given = answers[ask["id"]]
        if ask["kind"] != "text" and not given:
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


def _faults(ask):
    for field in ("id", "text", "kind"):
        if not isinstance(ask.get(field), str) or not ask[field]:
            yield f"an ask has {field} {ask.get(field)!r}; it must be a text."
    if ask.get("kind") not in KINDS:
        kinds = " or ".join(KINDS)
        yield f"ask '{ask.get('id')}': kind is '{ask.get('kind')}'; it must be {kinds}."
    if ask.get("kind") == "choice" and len(ask.get("options") or ()) < 2:
        options = ask.get("options")
        yield f"ask '{ask.get('id')}': options are {options}; a choice needs two or more."
