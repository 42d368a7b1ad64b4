"""Sit a paper in a notebook: one board a question, nothing told, answers kept at each commit."""

import json
from datetime import datetime, timedelta
from html import escape
from pathlib import Path

from fuelkit.assess.answer_file import AnswerFile, answers_folder
from fuelkit.assess.papers.begun import BEGIN, SEAL, check_seal
from fuelkit.assess.papers.spoken import spoken
from fuelkit.assess.papers.time_limit import end_of, minutes_of, seconds_left
from fuelkit.assess.sheet import SheetError, moment_words
from fuelkit.figures.quantities import UNITS, expected_words, read_figure
from fuelkit.physics.errors import FuelkitError
from fuelkit.show.board import PredictionBoard
from fuelkit.show.hand_in import hand_in_board, state_words
from fuelkit.show.page import Page
from fuelkit.show.papers.form import FORMAT, HOW_MARKED, SCHEMA, pass_mark
from fuelkit.show.reveal import BoardPlace

MORE = "more-time"
_LARGEST = 30_000_000
_FEW = 3  # open parts that are named; of more, it is said that there are others
_FIELDS = {"paper": str, "title": str, "learner": str, "fingerprint": str, "minutes": (int, float),
           "extensions": dict, "marks": (int, float), "seal": str, "questions": list}  # fmt: skip


class PaperError(FuelkitError, ValueError):
    """A file is no paper, or an answer comes too late; the message says why."""


def open_paper(path="paper.json"):
    """Return a paper, ready to be sat in a notebook.

    Parameters
    ----------
    path : str or Path
        Of the file that the instructor gave out, beside the notebook.

    Raises
    ------
    PaperError
        If the file is no paper of this kit.
    """
    return PaperSitting(read_paper(path), answers_folder())


def read_paper(path):
    """Return the content of a paper's file, checked; nothing in it is ever run."""
    path = Path(path)
    try:
        data = path.read_bytes()[: _LARGEST + 1]
        content = json.loads(data.decode("utf-8"))
    except OSError as problem:
        raise PaperError(f"paper: '{path}' cannot be read ({problem.strerror}).") from None
    except (ValueError, RecursionError):
        raise PaperError(f"paper: '{path.name}' is damaged. Ask for it again.") from None
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise PaperError(f"paper: '{path.name}' is not a paper of this kit.")
    if content.get("schema") != SCHEMA:
        raise PaperError(
            f"paper: its version is {content.get('schema')!r}; this kit reads {SCHEMA}."
        )
    for name, kind in _FIELDS.items():
        if not isinstance(content.get(name), kind):
            raise PaperError(f"paper: its field '{name}' is damaged. Ask for it again.")
    return content


class PaperSitting:
    """A paper as it is sat. Each method is one short call of a notebook cell.

    Parameters
    ----------
    content : dict
        As `read_paper` returns it.
    folder : str or Path
        Where answers are kept.
    """

    def __init__(self, content, folder):
        self.content, self._places, self._ends = content, [], []
        self._told_open, self._told_parts, self._boards = "", {}, []
        self.file = AnswerFile(folder, content["paper"], content["learner"], content["fingerprint"])
        self._seal = "".join(content["seal"].split())
        try:
            check_seal(self.file.sheet, self._seal)
        except SheetError as problem:
            self.file.put_aside(f"{problem}")

    # ------------------------------------------------------------------------------------ begin
    def begin(self):
        """Return a board that begins the paper: from then on its time runs."""
        sheet = self.file.sheet
        minutes = self.content["minutes"]
        limit = "There is no limit."
        if minutes:
            limit = (
                f"You have {minutes:g} minutes from Begin on; what is set when they are up counts "
                "as it stands."
            )
        return PredictionBoard(
            title=f"{self.content['title']} · {self.content['learner']}",
            lead=f"{len(self.content['questions'])} questions, {self.content['marks']:g} marks. "
            f"{pass_mark(self.content)}{limit} Each answer is saved when you commit it, and stays "
            f"as it is then; nothing is told until your paper is marked. {HOW_MARKED} Seal of the "
            "key: "
            f"{' '.join(self.content['seal'].split())}",
            when="When you are ready",
            panel_heading="Begin",
            done_heading="Begun",
            asks=[],
            answers={},
            committed=BEGIN in sheet.answers,
            note=self._begun(sheet) if BEGIN in sheet.answers else "",
            commit_label="Begin",
            on_commit=lambda _: self._begin(),
        )

    def _begin(self):
        sheet = self.file.commit(BEGIN, {SEAL: self._seal})
        self._refresh()
        return {"note": self._begun(sheet)}

    def _begun(self, sheet):
        begun = f"Begun {moment_words(sheet.answers[BEGIN]['committed'])}."
        left = self._left(sheet)
        if left is None:
            return f"{begun} There is no time limit."
        if left <= 0.0:
            return f"{begun} The time is up: hand in, unless you are given more."
        end = datetime.now().astimezone() + timedelta(seconds=left)
        return f"{begun} The time is up at {end:%H:%M} by this machine's clock."

    def _left(self, sheet):
        return seconds_left(*self._limit(sheet))

    def _left_now(self):
        """The seconds that are left now; once there are none, the end of the paper says so."""
        sheet = self.file.sheet
        if self._is_up(sheet):
            self._tell_state(sheet)
        return self._left(sheet)

    def _limit(self, sheet):
        """When the paper was begun, its minutes, and those given beside them."""
        more = sum(
            minutes_of(word, self.content["learner"], self.content["extensions"])
            for name, entry in sheet.answers.items() if name.startswith(MORE)
            for word in entry["given"].values()
        )  # fmt: skip
        return sheet.answers[BEGIN]["committed"], self.content["minutes"], more

    def _is_up(self, sheet):
        """Whether the time is up; never before the paper is begun."""
        left = self._left(sheet) if BEGIN in sheet.answers else None
        return left is not None and left < 0.0

    def more_time(self):
        """Return a board in which the instructor's word for more time is entered."""
        return PredictionBoard(
            title="More time",
            lead="Only if your instructor has given you a word for it.",
            when="The word",
            panel_heading="More time",
            done_heading="More time",
            asks=[{"id": "word", "text": "Word", "kind": "text", "options": [], "unit": "",
                   "hint": "as your instructor reads it out"}],
            answers={},
            commit_label="Enter",
            on_commit=self._more,
        )  # fmt: skip

    def _more(self, values):
        minutes = minutes_of(
            values.get("word", ""), self.content["learner"], self.content["extensions"]
        )
        if not minutes:
            raise PaperError("The word is not known for this paper. Ask for it again.")
        name = f"{MORE}-{minutes}"
        if name in self.file.sheet.answers:
            raise PaperError("This word was entered before.")
        sheet = self.file.commit(name, {"word": values["word"]})
        for _, board in self._boards:
            board.tell_left()
        begun = self._begun(sheet) if BEGIN in sheet.answers else ""
        return {"note": f"{minutes} minutes more. {begun}".strip()}

    # -------------------------------------------------------------------------------- questions
    def question(self, number):
        """Return a question by its number, from 1; it opens once the paper is begun."""
        questions = self.content["questions"]
        if not 1 <= number <= len(questions):
            return _sentence(f"This paper has {len(questions)} questions.")
        if not self._closed():
            return self._board(number)
        place = BoardPlace(lambda: self._board(number), self._closed)
        self._places.append(place)
        return place

    def _closed(self):
        return "" if BEGIN in self.file.sheet.answers else "This opens when you have begun."

    def _board(self, number):
        question = self.content["questions"][number - 1]
        sheet, name = self.file.sheet, question["name"]
        entry = sheet.answers.get(name)
        drafts = {} if sheet.handed_in else sheet.drafts
        given = entry["given"] if entry else drafts.get(name, {})
        is_timed = self.content["minutes"] and not entry and not sheet.handed_in
        board = PredictionBoard(
            title=f"{number} of {len(self.content['questions'])} · {question['title']} · "
            f"{question['marks']:g} marks",
            lead=question["lead"],
            when=question["when"],
            drawing=question["drawing"],
            table=question["table"],
            figures=question["figures"],
            asks=[{**ask, "optional": True} for ask in question["asks"]],
            answers=given,
            committed=bool(entry or sheet.handed_in),
            panel_heading="Your answer",
            done_heading="Your answer",
            note=_closed_note(entry) if entry or sheet.handed_in else "",
            restored_note="What you had set was restored."
            if given and not entry
            else self.file.note,
            on_draft=lambda values: self._draft(name, values),
            on_commit=lambda values: self._commit(question, values),
            left=self._left_now if is_timed else None,
        )
        self._boards.append((name, board))
        return board

    def _draft(self, name, values):
        if self._is_up(self.file.sheet):
            raise PaperError("The time is up, and what is changed now counts no more. Hand in.")
        self.file.draft(name, values)

    def _commit(self, question, values):
        name = question["name"]
        if self._is_up(self.file.sheet):
            raise PaperError("The time is up. What was set by then counts as it stood: hand in.")
        if faults := [*_unread(question["asks"], values), *_twice(question["asks"], values)]:
            raise PaperError(" ".join(faults))
        self._check_open(question, values)
        sheet = self.file.commit(name, values)
        self._tell_state(sheet)
        return {"note": _kept(sheet.answers[name]["committed"])}

    def _check_open(self, question, values):
        """Raise PaperError once for parts that are left open, and always if all of them are."""
        name = question["name"]
        texts = [ask["text"] for ask in question["asks"] if not values[ask["id"]]]
        if len(texts) == len(question["asks"]):
            raise PaperError("Nothing is answered here yet.")
        if texts and texts != self._told_parts.get(name):
            self._told_parts[name] = texts  # asked once; who answers more is asked anew
            named = texts if len(texts) <= _FEW + 1 else [*texts[:_FEW], "and others"]
            raise PaperError(
                f"Parts still open, which would earn nothing: {'; '.join(named)}. Press “Commit” "
                "once more to commit all the same; it cannot be changed afterwards."
            )

    # ---------------------------------------------------------------------------------- hand in
    def hand_in(self):
        """Return a board that hands the paper in and shows the receipt to read out."""
        lead = self._state(self.file.sheet)
        board = hand_in_board(lambda: self.file, lead, self._receipt, self._hand_in)
        self._ends.append(board)
        return board

    def _tell_state(self, sheet):
        for board in self._ends:
            board.lead = self._state(sheet)

    def _state(self, sheet):
        done = sum(name.startswith("q") for name in sheet.answers)
        count = len(self.content["questions"])
        if sheet.handed_in:
            return f"Handed in with {done} of {count} questions, for learner {sheet.learner}."
        if self._is_up(sheet):
            return (
                f"The time is up. {done} of {count} questions are committed, for learner "
                f"{sheet.learner}; what was set in the others by then counts as it stood."
            )
        return state_words(done, count, "questions", sheet.learner, "paper")

    def _hand_in(self):
        is_up = self._is_up(self.file.sheet)
        if is_up:
            self._collect()
        if not any(name.startswith("q") for name in self.file.sheet.answers):
            raise SheetError("There is nothing to hand in yet: commit at least one question.")
        left = self._open_ones(self.file.sheet)
        if left and left != self._told_open and not is_up:
            self._told_open = left  # asked once; who commits more is asked anew
            raise SheetError(
                f"Questions still open, which would earn nothing: {left}. Press “Hand in” once "
                "more to hand the paper in all the same; it cannot be changed afterwards."
            )
        sheet = self.file.hand_in()
        for name, board in self._boards:
            entry = sheet.answers.get(name)
            board.settle(entry["given"] if entry else {}, _closed_note(entry))
        self._tell_state(sheet)
        return sheet

    def _collect(self):
        """Commit what was set in time, as it stood when the time was up; later it is not kept."""
        sheet = self.file.sheet
        if sheet.handed_in:
            return
        end = end_of(*self._limit(sheet))
        for question in self.content["questions"]:
            given = sheet.drafts.get(question["name"], {})
            if any(given.values()):
                whole = {ask["id"]: given.get(ask["id"], "").strip() for ask in question["asks"]}
                self.file.commit(question["name"], whole, at=end)

    def _open_ones(self, sheet):
        """The numbers of the questions that are not committed, in words."""
        found = []
        for number, question in enumerate(self.content["questions"], start=1):
            name = question["name"]
            if name not in sheet.answers:
                is_set = any(sheet.drafts.get(name, {}).values())
                found.append(f"{number} (set, not committed)" if is_set else f"{number}")
        return ", ".join(found)

    def _receipt(self, sheet):
        return (
            f"Handed in {moment_words(sheet.handed_in)}. Your receipt, to read out: "
            f"{spoken(sheet)}. Your sheet is the file {self.file.path.name} in the folder "
            "answers."
        )

    def _refresh(self):
        for place in self._places:
            place.refresh()


def _unread(asks, values):
    """Sentences on figures that cannot be read as what their sheet asks for, to be asked again."""
    return [
        f"'{ask['text']}': {values[ask['id']]!r} cannot be read; "
        f"write {expected_words(ask['unit'])}."
        for ask in asks
        if ask["kind"] in ("number", "time") and ask["unit"] in UNITS
        and values[ask["id"]] and read_figure(values[ask["id"]], ask["unit"]) is None
    ]  # fmt: skip


def _twice(asks, values):
    """A sentence where an event takes two places of an order: no flight has it so."""
    said = [values[ask["id"]] for ask in asks if ask.get("once")]
    doubled = [value for value in dict.fromkeys(said) if value and said.count(value) > 1]
    return [
        f"'{value}' takes {said.count(value)} places; give each event one." for value in doubled
    ]


def _kept(time):
    return (
        f"Committed and saved ({moment_words(time)}). Nothing is told until the papers are marked."
    )


def _closed_note(entry):
    """The note of a question that can be answered no more, committed or left open."""
    if entry:
        return _kept(entry["committed"])
    return "The paper is handed in; this question was left open."


def _sentence(words):
    return Page(f"<p><em>{escape(words)}</em></p>", words)
