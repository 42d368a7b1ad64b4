"""Results for a school's gradebook: rows in the form of OneRoster 1.2 CSV.

Follows the 1EdTech "OneRoster: CSV Binding", version 1.2.1 (imsglobal.org/spec/oneroster/v1p2/bind
/csv), of which the opening was read, but not the tables. The names of fields and their order are
as two public programs that write or check such files have them, and as remembered; the tables of
the older version 1.1 are the same but for what 1.2 added. No claim of conformance is made.

Only what the kit knows is written: line items and results. They refer to a class, a school, a
category, a session and students that the receiving system already has, by its identifiers. So the
files are a "delta", which may refer to what it does not hold (from memory), and not a "bulk", which
may not (overview of version 1.1, read).
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from fuelkit.assess.exports.cells import csv_bytes
from fuelkit.assess.exports.identity import stable_uuid
from fuelkit.assess.exports.records import by_learner

FILES = (
    "academicSessions", "categories", "classes", "classResources", "courses", "courseResources",
    "demographics", "enrollments", "lineItemLearningObjectiveIds", "lineItems",
    "lineItemScoreScales", "orgs", "resources", "resultLearningObjectiveIds", "results",
    "resultScoreScales", "roles", "scoreScales", "userProfiles", "userResources", "users",
)  # fmt: skip
"""Every file that the manifest of version 1.2 speaks of."""

LINE_ITEM_FIELDS = (
    "sourcedId", "status", "dateLastModified", "title", "description", "assignDate", "dueDate",
    "classSourcedId", "categorySourcedId", "academicSessionSourcedId", "resultValueMin",
    "resultValueMax", "schoolSourcedId",
)  # fmt: skip

RESULT_FIELDS = (
    "sourcedId", "status", "dateLastModified", "lineItemSourcedId", "studentSourcedId",
    "scoreStatus", "score", "scoreDate", "comment", "textScore", "classSourcedId", "inProgress",
    "incomplete", "late", "missing",
)  # fmt: skip

_WRITTEN = ("lineItems", "results")


@dataclass(frozen=True)
class Gradebook:
    """Where in the receiving system the results belong. Frozen.

    school, class_group, category, session : str
        The receiving system's own identifiers ("sourcedId") of the school, the class, the category
        of line items and the academic session.
    students : tuple of (str, str)
        Learner code and the receiving system's identifier of that student. A learner who is not
        named here goes by the code.
    """

    school: str
    class_group: str
    category: str
    session: str
    students: tuple[tuple[str, str], ...] = ()

    def __post_init__(self):
        """Check that every reference is given."""
        for field in ("school", "class_group", "category", "session"):
            if not getattr(self, field):
                raise ValueError(f"gradebook: {field} is empty; give the receiving system's own.")


@dataclass(frozen=True)
class Sitting:
    """What was sat, and when. Frozen.

    name : str
        Names the sitting for good: identifiers are made from it.
    title : str
        As the gradebook shows it.
    sat, marked : date
        Days of the sitting and of the marking.
    changed : datetime
        When marks last changed, with its time zone.
    """

    name: str
    title: str
    sat: date
    marked: date
    changed: datetime

    def __post_init__(self):
        """Check that the time has a zone."""
        if not self.name or not self.title:
            raise ValueError("sitting: name and title must both be given.")
        if self.changed.tzinfo is None:
            raise ValueError(f"sitting: changed is {self.changed}; it must have a time zone.")


def oneroster(papers, sitting, gradebook):
    """Return manifest.csv, lineItems.csv and results.csv of a marked sitting.

    Parameters
    ----------
    papers : iterable of MarkedPaper
        One a learner, all worth the same.
    sitting : Sitting
    gradebook : Gradebook

    Returns
    -------
    dict of str to bytes
        File names and contents. There is one line item, the paper as a whole. Identifiers follow
        from the sitting and the learner code alone: a second export changes the rows of the first.

    Raises
    ------
    ValueError
        If there is no paper, if papers are not worth the same, or if a learner has two.
    """
    papers = by_learner(papers)
    worth = sorted({round(paper.most, 6) for paper in papers})
    if len(worth) != 1:
        raise ValueError(
            f"papers are worth {', '.join(map(str, worth)) or 'nothing'}; a line item has one "
            "maximum. Export the papers of one blueprint."
        )
    return {
        "manifest.csv": csv_bytes(_manifest()),
        "lineItems.csv": csv_bytes([LINE_ITEM_FIELDS, _line_item(sitting, gradebook, worth[0])]),
        "results.csv": csv_bytes(
            [RESULT_FIELDS, *(_result(paper, sitting, gradebook) for paper in papers)]
        ),
    }


def _manifest():
    files = [(f"file.{name}", "delta" if name in _WRITTEN else "absent") for name in FILES]
    head = [("propertyName", "value"), ("manifest.version", "1.0"), ("oneroster.version", "1.2")]
    return [*head, *files, ("source.systemName", "fuelkit"), ("source.systemCode", "fuelkit")]


def _line_item_id(sitting):
    return stable_uuid("line item", sitting.name)


def _line_item(sitting, gradebook, most):
    days = (sitting.sat.isoformat(), sitting.sat.isoformat())
    return (
        _line_item_id(sitting), "active", _instant(sitting.changed), sitting.title, "", *days,
        gradebook.class_group, gradebook.category, gradebook.session, 0.0, most, gradebook.school,
    )  # fmt: skip


def _result(paper, sitting, gradebook):
    student = dict(gradebook.students).get(paper.learner, paper.learner)
    return (
        stable_uuid("result", sitting.name, paper.learner), "active", _instant(sitting.changed),
        _line_item_id(sitting), student, "fully graded", paper.total, sitting.marked.isoformat(),
        "", "", gradebook.class_group, "false", "false", "false", "false",
    )  # fmt: skip


def _instant(moment):
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
