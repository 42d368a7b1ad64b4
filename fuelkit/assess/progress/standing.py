"""How a learner stands with each objective of the course, and when it should come again.

When to come again
------------------
After a day on which an objective went right, it comes again after a longer while than before: 2,
4, 8 days and so on, 64 at most; after a day on which it went wrong, the next day. That practice
spread over time is kept longer, and that the best gap grows with the time for which one wants to
know it: N. J. Cepeda, H. Pashler, E. Vul, J. T. Wixted and D. Rohrer, "Distributed practice in
verbal recall tasks: a review and quantitative synthesis", Psychological Bulletin 132, 2006, pages
354-380 (from memory). That the gap doubles is common practice, no source.
"""

from dataclasses import dataclass
from datetime import date, datetime

from fuelkit.assess.beliefs.models import belief_of
from fuelkit.assess.marking import PASS_SHARE
from fuelkit.assess.objectives import load_objectives
from fuelkit.physics.errors import FuelkitError

LAST = 10
"""So many tries are looked at: the latest ones."""

LEAST = 3
"""With fewer tries than this nothing is said of an objective."""

WORDS = ("not met", "too few to say", "weak", "steady")
"""How an objective can stand."""

_BELIEF_DAYS, _LONGEST_DAYS = 60, 64
_WEAK = 4.0  # times as much again, for one that always goes wrong
_BELIEVED = 1.5  # times the need of an objective that a found belief is about


@dataclass(frozen=True)
class Standing:
    """An objective and what was tried of it. Frozen.

    objective : Objective
    right, count : int
        Tries that went right at the first go, and all of them.
    late_right, late_count : int
        The same of the latest ones.
    last : date or None
        Day of the last try.
    days : int
        After how many days it should come again.
    believed : tuple of str
        Names of beliefs about it that answers have fitted lately.
    """

    objective: object
    right: int = 0
    count: int = 0
    late_right: int = 0
    late_count: int = 0
    last: date | None = None
    days: int = 1
    believed: tuple = ()

    @property
    def word(self):
        """One of `WORDS`."""
        if not self.count:
            return WORDS[0]
        if self.count < LEAST:
            return WORDS[1]
        return WORDS[3] if self.late_right >= PASS_SHARE * self.late_count else WORDS[2]

    @property
    def share(self):
        """How much of it may be expected to go right: of the latest tries, and never sure. [-]

        The rule of succession: one right and one wrong are added. It keeps one lucky try from
        counting as knowledge (P. S. Laplace, 1814; from memory).
        """
        return (self.late_right + 1.0) / (self.late_count + 2.0)

    def need(self, today):
        """How much it should come again: overdue, weak, or misunderstood; 1 if never tried. [-]"""
        if self.last is None:
            return 1.0
        due = min(max((today - self.last).days / self.days, 0.1), 2.0)
        weak = 1.0 + _WEAK * (1.0 - self.share)
        return due * weak * (_BELIEVED if self.believed else 1.0)


def day_of(text):
    """Return the local day of a moment in a record."""
    moment = datetime.strptime(text, "%Y-%m-%dT%H:%M:%S%z")
    return moment.astimezone().date()


def standings(entries, today):
    """Return how a learner stands with every objective of the course, in its order.

    Parameters
    ----------
    entries : sequence of dict
        Of a record of progress.
    today : date

    Returns
    -------
    tuple of Standing
    """
    tries = {}
    for entry in entries:
        for one in entry["tries"] if entry["event"] == "tried" else ():
            for name in one["objectives"]:
                tries.setdefault(name, []).append((day_of(entry["time"]), one["right"]))
    believed = _believed(entries, today)
    return tuple(
        _standing(objective, tries.get(objective.name, []), believed.get(objective.name, ()))
        for objective in load_objectives()
    )


def _standing(objective, tries, believed):
    if not tries:
        return Standing(objective, believed=believed)
    late = [right for _, right in tries[-LAST:]]
    return Standing(
        objective, sum(right for _, right in tries), len(tries), sum(late), len(late),
        tries[-1][0], _days(tries), believed,
    )  # fmt: skip


def _days(tries):
    """After how many days an objective comes again: double for each right day up to the last."""
    by_day = {}
    for day, right in tries:
        by_day.setdefault(day, []).append(right)
    run = 0
    for _, results in sorted(by_day.items(), reverse=True):
        if sum(results) < PASS_SHARE * len(results):
            break
        run += 1
    return min(2**run, _LONGEST_DAYS)


def _believed(entries, today):
    """By objective, the beliefs that answers fitted in the last weeks."""
    found = {}
    for entry in entries:
        if entry["event"] != "believed" or (today - day_of(entry["time"])).days > _BELIEF_DAYS:
            continue
        for name in entry["beliefs"]:
            try:
                objectives = belief_of(name).objectives
            except FuelkitError:
                continue  # of another edition of the kit
            for objective in objectives:
                found.setdefault(objective, {})[name] = True
    return {objective: tuple(names) for objective, names in found.items()}


def in_order(found):
    """Return standings as a learner should see them: weak ones first, what was not met last."""
    order = {word: place for place, word in enumerate(("weak", "too few to say", "steady"))}
    return tuple(sorted(found, key=lambda s: (order.get(s.word, len(order)), _share_of(s))))


def _share_of(standing):
    return standing.share if standing.count else 0.0


def lessons_met(entries):
    """Return the stages of the lessons of which a board was committed, such as {"cruise"}."""
    units = {entry["unit"] for entry in entries if entry["event"] == "tried"}
    names = {unit.removeprefix("practice-") for unit in units}
    return {name.removeprefix("lesson-") for name in names if name.startswith("lesson-")}
