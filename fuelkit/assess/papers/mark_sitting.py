"""Mark a folder of handed-in papers: every sound one is marked, every other one named, set aside.

Marks are compared with those that were given before; whose mark moves, and why, is written down.
"""

from dataclasses import dataclass, replace
from functools import partial

from fuelkit.assess.flights import AT_HAND, computed_together, keep_at_hand
from fuelkit.assess.integrity.entry import happened
from fuelkit.assess.integrity.keeping import read_record, write_record
from fuelkit.assess.integrity.lock import held
from fuelkit.assess.integrity.log import append, entries
from fuelkit.assess.integrity.sittings import (
    is_paper,
    key_file,
    learners_of,
    paper_name,
    sitting_of,
    sittings,
)
from fuelkit.assess.mark_folder import NotMarkedError, SetAside, sheet_files, without_doubles
from fuelkit.assess.papers.amendments import check_amendments, read_amendments
from fuelkit.assess.papers.begun import check_seal
from fuelkit.assess.papers.beliefs_found import with_beliefs
from fuelkit.assess.papers.issue import (
    LOG_FILE,
    PLAN_FILE,
    over_cores,
    secret_of,
)
from fuelkit.assess.papers.keys import key_from
from fuelkit.assess.papers.marking import mark_paper
from fuelkit.assess.papers.spoken import spoken
from fuelkit.assess.papers.time_limit import digests, minutes_of
from fuelkit.assess.sheet import SheetError, read_sheet

_NO_PAPERS = ("exercise-", "lesson-", "practice-")
_MANY = 4  # sheets for which it is worth while to compute their flights together
AWARDS_FILE, AMENDMENTS_FILE = "reasons.json", "amendments.toml"


@dataclass(frozen=True)
class Moved:
    """A mark that is not what it was, or that another sheet has earned. Frozen."""

    learner: str
    old: float
    new: float
    why: str

    @property
    def words(self):
        """From which mark to which, and why."""
        marks = (
            f"{self.old:g} as before" if self.old == self.new else f"{self.old:g} to {self.new:g}"
        )
        return f"{marks}: {self.why}"


@dataclass(frozen=True)
class MarkedSitting:
    """A sitting, marked. Frozen.

    name : str
    plan : dict
        Title, minutes, pass share and lines, as the blueprint had them.
    papers : tuple of PaperMark
        By learner.
    set_aside : tuple of SetAside
    moved : tuple of Moved
        Marks that differ from those of the last time.
    missing : tuple of str
        Codes of those who were given a paper and have no mark, in order.
    amendments : tuple of Amendment
        How the key was changed.
    """

    name: str
    plan: dict
    papers: tuple
    set_aside: tuple
    moved: tuple
    missing: tuple = ()
    amendments: tuple = ()


def key_of(sitting, learner):
    """Return the key of a learner's paper from the instructor's files."""
    return key_from(read_record(sitting.personal, key_file(learner), "key")["key"])


def awards_of(sitting):
    """Return what was given for written reasons: learner, question, share of its marks."""
    if not (sitting.personal / AWARDS_FILE).exists():
        return {}
    return read_record(sitting.personal, AWARDS_FILE, "reasons")


def keep_award(sitting, learner, question, share):
    """Write down what a written reason earns, at once and whole. [-]"""
    with held(sitting.personal / AWARDS_FILE):  # two may mark at once
        awards = awards_of(sitting)
        awards.setdefault(learner, {})[question] = share
        write_record(sitting.personal, AWARDS_FILE, "reasons", awards)


def mark_sitting(folder, name, sheets, progress=lambda done, total: None, work=None):
    """Mark the sheets of a sitting and write the marks into the log.

    Parameters
    ----------
    folder : Path
        The instructor's.
    name : str
        Of the sitting.
    sheets : str or Path
        Folder with the handed-in sheets (*.json).
    progress, work : callable
        As for `issue.draw_sitting`.

    Returns
    -------
    MarkedSitting

    Notes
    -----
    The marks of one sheet depend on its key alone: the same on any number of cores. The log is
    written once all are marked; a stop before that leaves it as it was, and marking anew gives
    the same marks.
    """
    sitting = sitting_of(folder, name)
    plan = read_record(sitting.folder, PLAN_FILE, "plan")
    amendments = read_amendments(sitting.folder / AMENDMENTS_FILE)
    check_amendments(amendments, _parts_of(sitting) if amendments else {}, AMENDMENTS_FILE)
    paths = sheet_files(sheets)
    secret = secret_of(folder, name)
    awards = awards_of(sitting)
    others = [other.name for other in sittings(folder) if other.name != name]
    mark = partial(_marked, sitting, others, awards, amendments, plan["minutes"], secret)
    papers, aside = [], []
    for done, found in enumerate((work or _with_flights(plan, paths))(mark, paths), start=1):
        (aside if isinstance(found, SetAside) else papers).append(found)
        progress(done, len(paths))
    papers, doubled = without_doubles(papers)
    moved = _written_down(folder, name, papers, amendments, awards)
    missing = set(learners_of(sitting)) - {paper.sheet.learner for paper in papers}
    return MarkedSitting(
        name, plan, tuple(sorted(papers, key=lambda p: p.sheet.learner)),
        tuple(sorted([*aside, *doubled], key=lambda a: a.file)), moved, tuple(sorted(missing)),
        tuple(amendments),
    )  # fmt: skip


def _with_flights(plan, paths):
    """How to map over the cores: with the sitting's flights at hand in each process.

    Every process would compute them all again, which takes longer than the marking of a class.
    """
    if len(paths) < _MANY:
        return over_cores
    asked = [tuple(flight) for flight in plan.get("flights", ())][:AT_HAND]
    return partial(over_cores, begin=partial(keep_at_hand, computed_together(asked, over_cores)))


def _parts_of(sitting):
    """How many parts each question of the sitting's papers has, by its name in the pool."""
    keys = [key_of(sitting, learner) for learner in learners_of(sitting)]
    return {q.source: len(q.right) for key in keys for q in key.questions}


def _marked(sitting, others, awards, amendments, minutes, secret, path):
    """One sheet's marks, or why it is set aside."""
    file = path.name.encode("utf-8", "replace").decode()  # a name may be no text at all
    try:
        if path.is_symlink() or not path.is_file():
            raise SheetError("it is not a plain file")
        sheet = read_sheet(path)
        if sheet.unit.startswith(_NO_PAPERS):
            raise NotMarkedError("it is no paper; exercises are marked by themselves")
        if not is_paper(sheet.unit):
            raise SheetError("it is no paper")
        for other in others:
            if sheet.unit == paper_name(other, sheet.learner):
                raise NotMarkedError(f"it is a paper of the sitting {other}, marked by itself")
        if not (sitting.personal / key_file(sheet.learner)).exists():
            raise SheetError(f"there is no paper of {sheet.learner} in the sitting {sitting.name}")
        record = read_record(sitting.personal, key_file(sheet.learner), "key")
        check_seal(sheet, record["digest"])
        marked = mark_paper(
            key_from(record["key"]), replace(sheet, drafts={}), file, amendments=amendments,
            awards=awards.get(sheet.learner, {}), minutes=minutes,
            more=_more(sheet, digests(secret, sitting.name, sheet.learner)),
        )  # fmt: skip
        return with_beliefs(marked)
    except SheetError as problem:
        return SetAside(file, str(problem), not isinstance(problem, NotMarkedError))


def _more(sheet, known):
    """Minutes given beside the limit: each word is tried, and counts once however written."""
    words = {
        word for name, entry in sheet.answers.items() if name.startswith("more-time")
        for word in entry["given"].values()
    }  # fmt: skip
    return float(sum({minutes_of(word, sheet.learner, known) for word in words}))


def _written_down(folder, name, papers, amendments, awards):
    """Write marks into the log, only those that are new or have moved; return what moved."""
    path = folder / LOG_FILE
    before, issued = {}, set()
    for entry in entries(path) if path.exists() else ():
        if entry.sitting == name and entry.personal and entry.event in ("marked", "re-marked"):
            before[entry.learner] = entry.personal
        if entry.sitting == name and entry.event == "handed in":
            issued.add(entry.learner)
    events, moved = [], []
    for paper in papers:
        learner, digest = paper.sheet.learner, spoken(paper.sheet)
        if learner not in issued:
            events.append(happened("handed in", name, learner, {"receipt": digest}))
        old = before.get(learner)
        now = {"marks": paper.marks, "of": paper.full, "receipt": digest}
        if old is None:
            events.append(happened("marked", name, learner, now))
        elif (old.get("marks"), old.get("receipt")) != (paper.marks, digest):
            why = _why(paper, amendments, old, digest, awards)
            moved.append(Moved(learner, old["marks"], paper.marks, why))
            told = {"old": old["marks"], "new": paper.marks, "why": why, **now}
            events.append(happened("re-marked", name, learner, told))
    if events:
        append(path, *events)
    return tuple(sorted(moved, key=lambda m: m.learner))


def _why(paper, amendments, old, digest, awards):
    """What has moved a mark, in words."""
    if old.get("receipt") != digest:
        return "another sheet was handed in"
    told = [
        f"{one.question}: {one.because}" for one in amendments
        if _earns(paper, [a for a in amendments if a is not one], awards) != paper.marks
    ]  # fmt: skip
    if told:
        return "; ".join(told)
    own = awards.get(paper.sheet.learner, {})
    # The same paper without some of the reasons' marks would have what it had the last time.
    some = [dict(list(own.items())[:count]) for count in range(len(own))]
    if any(_earns(paper, amendments, {paper.sheet.learner: few}) == old["marks"] for few in some):
        return "written reasons were marked"
    return "a written reason was marked anew, an amendment was taken back, or the kit has changed"


def _earns(paper, amendments, awards):
    """What a paper would earn with these amendments alone."""
    own = awards.get(paper.sheet.learner, {})
    return mark_paper(paper.key, paper.sheet, amendments=amendments, awards=own).marks
