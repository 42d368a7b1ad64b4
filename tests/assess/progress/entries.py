"""Entries of records as a learner of so many days would have them."""

from datetime import date, timedelta

TODAY = date(2026, 11, 26)


def tried(lesson, objective, *results, ago=5, board="b", situation="halbrook-180 x 0", sure=""):
    """A board of a lesson, committed so many days ago, one try for each result."""
    return {
        "event": "tried", "time": f"{TODAY - timedelta(days=ago)}T12:00:00Z",
        "unit": f"lesson-{lesson}", "board": board, "situation": situation,
        "tries": [{"ask": f"{board}-{i}", "right": right, "objectives": [objective]}
                  for i, right in enumerate(results, 1)],
        "certainty": sure,
    }  # fmt: skip


def believed(name, ago=5):
    """A belief that an answer fitted."""
    time = f"{TODAY - timedelta(days=ago)}T12:00:00Z"
    return {"event": "believed", "time": time, "board": "b", "beliefs": [name]}
