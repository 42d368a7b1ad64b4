"""A marked paper as statements of the Experience API (xAPI 1.0.3), as JSON.

Follows "Experience API, Part Two: Experience API Data" of the Advanced Distributed Learning
Initiative (github.com/adlnet/xAPI-Spec, read). IEEE 9274.1.1 continues it; that these statements
are right by it too is from memory. No claim of conformance is made.

The actor is an account whose name is the learner code, which is what section 2.4.2.4 recommends
where persons are not to be known. The key is left out, and so are written reasons, in which a
learner may have put anything.
"""

import json
from datetime import UTC
from urllib.parse import quote, urlsplit

from fuelkit.assess.exports.identity import stable_uuid
from fuelkit.assess.exports.option_names import option_names
from fuelkit.assess.exports.plain import plain_text
from fuelkit.assess.exports.records import by_learner
from fuelkit.assess.written import read_mass

LANGUAGE = "en-GB"

_VERBS = "http://adlnet.gov/expapi/verbs/"
_ASSESSMENT = "http://adlnet.gov/expapi/activities/assessment"
_INTERACTION = "http://adlnet.gov/expapi/activities/cmi.interaction"
_INTERACTIONS = {
    "choice": "choice", "order": "sequencing", "figure": "numeric", "when": "fill-in",
    "reason": "long-fill-in",
}  # fmt: skip
_PLACES = 6


def statements(papers, marked_at, home_page, pass_share):
    """Return statements of marked papers as JSON bytes.

    For each paper one statement that it was passed or failed, and one for each question that it
    was answered, or left unanswered with no response.

    Parameters
    ----------
    papers : iterable of MarkedPaper
        One a learner.
    marked_at : datetime
        When they were marked, with its time zone; handed in, so that a second export is the same.
    home_page : str
        Address that stands for the system of learner codes, and under which papers and questions
        are named. It must belong to the school; nothing is fetched from it.
    pass_share : float
        Share of the marks that passes. [-]

    Returns
    -------
    bytes
        A JSON array. A statement may never change once it is stored (section 2.3.1), so its
        identifier is made from all that it says: the same paper marked the same gives the same
        bytes, and a changed mark gives a new statement. The old one is then to be voided.

    Raises
    ------
    ValueError
        If the time has no zone, the address is none, or a learner has two papers.
    """
    if marked_at.tzinfo is None:
        raise ValueError(f"marked_at is {marked_at}; it must have a time zone.")
    parts = urlsplit(home_page)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.query or parts.fragment:
        raise ValueError(
            f"home_page is {home_page!r}; it must be an address such as https://school.example."
        )
    home, instant = home_page.rstrip("/"), marked_at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    made = []
    for paper in by_learner(papers):
        made.append(_named(_of_paper(paper, home, instant, pass_share)))
        made += [_named(_of_question(q, paper, home, instant)) for q in paper.questions]
    return json.dumps(made, indent=1, ensure_ascii=True, allow_nan=False).encode("ascii")


def _named(statement):
    return {"id": stable_uuid("statement", statement), **statement}


def _of_paper(paper, home, instant, pass_share):
    passed = paper.has_passed(pass_share)
    return {
        "actor": _actor(paper, home),
        "verb": _verb("passed" if passed else "failed"),
        "object": _paper_activity(paper, home),
        "result": {"score": _score(paper.total, paper.most, paper.share), "success": passed}
        | {"completion": True},
        "context": {"platform": "fuelkit", "language": LANGUAGE},
        "timestamp": instant,
    }


def _of_question(question, paper, home, instant):
    result = {
        "score": _score(question.got, question.most, question.share),
        "success": question.is_right,
        "completion": bool(question.given),
    }
    response = _response(question)
    return {
        "actor": _actor(paper, home),
        "verb": _verb("answered"),
        "object": _question_activity(question, home),
        "result": result | ({"response": response} if response else {}),
        "context": {
            "contextActivities": {"parent": [_paper_activity(paper, home)]},
            "platform": "fuelkit",
            "language": LANGUAGE,
        },
        "timestamp": instant,
    }


def _actor(paper, home):
    return {"objectType": "Agent", "account": {"homePage": home, "name": paper.learner}}


def _verb(word):
    return {"id": _VERBS + word, "display": {LANGUAGE: word}}


def _paper_activity(paper, home):
    definition = {"name": {LANGUAGE: plain_text(f"Paper {paper.paper}")}, "type": _ASSESSMENT}
    return _activity(f"{home}/papers/{quote(plain_text(paper.paper), safe='')}", definition)


def _question_activity(question, home):
    definition = {
        "name": {LANGUAGE: plain_text(question.line)},
        "description": {LANGUAGE: plain_text(question.words)},
        "type": _INTERACTION,
        "interactionType": _interaction(question),
    }
    if question.options and _interaction(question) in ("choice", "sequencing"):
        definition["choices"] = [
            {"id": name, "description": {LANGUAGE: plain_text(option)}}
            for option, name in option_names(question.options).items()
        ]
    return _activity(
        f"{home}/questions/{quote(plain_text(question.identifier), safe='')}", definition
    )


def _activity(address, definition):
    return {"objectType": "Activity", "id": address, "definition": definition}


def _interaction(question):
    return _INTERACTIONS.get(question.kind, "other")


def _score(got, most, share):
    raw = min(max(round(got, _PLACES), 0.0), most)
    return {"scaled": round(share, _PLACES), "raw": raw, "min": 0.0, "max": most}


def _response(question):
    """Return what was given in the form of its interaction, or nothing if it is not of that form.

    Section 2.4.4.1, response patterns: names of options, or a number, or text.
    """
    kind = _interaction(question)
    if kind in ("choice", "sequencing"):
        names = option_names(question.options)
        chosen = [names.get(option) for option in question.given]
        return "" if None in chosen else "[,]".join(chosen)
    if kind == "numeric":
        value = read_mass(question.given[0]) if len(question.given) == 1 else None
        return "" if value is None else repr(value)
    return "" if kind == "long-fill-in" else plain_text("[,]".join(question.given))
