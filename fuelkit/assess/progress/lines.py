"""The lines of a record of progress: what each may say, and a check that shows damage.

    the first line: format, schema, and the learner's code; then
    {"event": "tried", "time": ..., "unit": ..., "board": ..., "situation": ..., "tries": [...],
     "certainty": "guess" or ""}
    {"event": "believed", "time": ..., "board": ..., "beliefs": [...]}
    {"event": "drawn", "time": ..., "day": ..., "questions": [...]}
    {"event": "erased", "time": ...}

Each line carries its check, the first signs of a digest of the rest. It shows a line that was torn
or damaged; it keeps nobody from writing another one.
"""

import hashlib
import json
import re

FORMAT, SCHEMA = "fuelkit progress", 1
LARGEST_LINE = 60_000
CERTAINTIES = ("guess", "fairly sure", "certain")
"""How sure a learner says to be of an answer."""

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_SIGNS = 16
_LONGEST = 400


def head(learner):
    """Return the first entry of a learner's record."""
    return {"format": FORMAT, "schema": SCHEMA, "learner": learner}


def written(entry):
    """Return an entry as the bytes of its line, with its check and its end."""
    line = {**entry, "check": _check(entry)}
    return (json.dumps(line, ensure_ascii=False) + "\n").encode("utf-8")


def parsed(data):
    """Return the entry of a line without its check, or None if it is damaged."""
    if len(data) > LARGEST_LINE:
        return None
    try:
        line = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    if not isinstance(line, dict) or line.pop("check", None) != _check(line):
        return None
    return line if is_head(line) or is_sound(line) else None


def _check(entry):
    text = json.dumps(entry, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:_SIGNS]


def is_head(line, learner=None):
    """Whether a line is the first one of a record of this edition, and of a learner if given."""
    known = line.get("format") == FORMAT and line.get("schema") == SCHEMA
    return known and _is_text(line.get("learner")) and learner in (None, line["learner"])


def is_sound(line):
    """Whether an entry has the fields of its event, each of its kind."""
    fields = _FIELDS.get(line.get("event") if isinstance(line.get("event"), str) else "")
    if fields is None or set(line) != {"event", "time", *fields}:
        return False
    known = {"time": _is_time, **fields}
    return all(is_kind(line[name]) for name, is_kind in known.items())


def _is_text(value):
    return isinstance(value, str) and 0 < len(value) <= _LONGEST


def _is_time(value):
    return isinstance(value, str) and _TIME.fullmatch(value) is not None


def _is_day(value):
    return isinstance(value, str) and _DAY.fullmatch(value) is not None


def _are_texts(value):
    return isinstance(value, list) and all(map(_is_text, value))


def _are_tries(value):
    return isinstance(value, list) and all(map(_is_try, value))


def _is_try(value):
    if not isinstance(value, dict) or set(value) != {"ask", "right", "objectives"}:
        return False
    return (
        _is_text(value["ask"])
        and isinstance(value["right"], bool)
        and _are_texts(value["objectives"])
    )


def _are_questions(value):
    return isinstance(value, list) and all(map(_is_question, value))


def _is_question(value):
    """What a question was drawn from: all texts, the number of the draw apart."""
    if not isinstance(value, dict) or set(value) != {
        "board", "question", "kind", "sector", "what", "draw", "situation",
    }:  # fmt: skip
        return False
    texts = all(_is_text(value[name]) for name in ("board", "question", "kind", "situation"))
    more = all(isinstance(value[name], str) for name in ("sector", "what"))
    return texts and more and type(value["draw"]) is int and 0 < value["draw"] < 10**9


def _is_certainty(value):
    return value == "" or value in CERTAINTIES


_FIELDS = {
    "tried": {
        "unit": _is_text, "board": _is_text, "situation": _is_text, "tries": _are_tries,
        "certainty": _is_certainty,
    },
    "believed": {"board": _is_text, "beliefs": _are_texts},
    "drawn": {"day": _is_day, "questions": _are_questions},
    "erased": {},
}  # fmt: skip
