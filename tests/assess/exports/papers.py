"""Marked papers for the tests of exports: every kind, two learners, a hostile one on request."""

from dataclasses import replace

from fuelkit.assess.exports.records import MarkedPaper, MarkedQuestion

CHOICE = MarkedQuestion(
    "crossfeed-1", "cruise, choice", "choice", "What does the crossfeed valve do?",
    ("joins the two feed lines", "levels the two tanks", "sends fuel back to the tanks"),
    ("joins the two feed lines",), ("levels the two tanks",), 0.0, 1.0, None, "",
)  # fmt: skip
ORDER = MarkedQuestion(
    "climb-order", "climb, order", "order", "Put these in the order in which they happen.",
    ("centre pumps stop", "flaps are up", "centre tank is empty"),
    ("flaps are up", "centre tank is empty", "centre pumps stop"),
    ("flaps are up", "centre tank is empty", "centre pumps stop"), 2.0, 2.0, None, "",
)  # fmt: skip
FIGURE = MarkedQuestion(
    "uplift-3", "sheets, figure", "figure", "How much fuel was delivered?", (),
    ("12 500 kg",), ("12,480",), 2.0, 2.0, 50.0, "kg",
)  # fmt: skip
WHEN = MarkedQuestion(
    "transfer-2", "cruise, when", "when", "When do the transfer valves open?", (),
    ("1:32:05",), ("1:40",), 0.0, 1.0, 120.0, "h:mm:ss",
)  # fmt: skip
REASON = MarkedQuestion(
    "why-4", "abnormal, reason", "reason", "Why does the pump show low pressure?", (),
    ("The inlet is dry.",), ("I think the tank ran out.",), 1.5, 3.0, None, "",
)  # fmt: skip
STATE = MarkedQuestion(
    "state-5", "climb, state", "state", "Set each pump.", (), ("RUN", "OFF"), ("RUN", "RUN"),
    0.5, 1.0, None, "",
)  # fmt: skip
ALL = (CHOICE, ORDER, FIGURE, WHEN, REASON, STATE)


def papers():
    """Two learners: B2 earned 6 of 10 on all kinds, A1 all marks of the same questions."""
    right = tuple(replace(q, got=q.most, given=q.right) for q in ALL)
    return [MarkedPaper("B2", "paper-B2", ALL), MarkedPaper("A1", "paper-A1", right)]


def one(question, learner="A1", **changes):
    """A paper of a single question."""
    return MarkedPaper(learner, f"paper-{learner}", (replace(question, **changes),))
