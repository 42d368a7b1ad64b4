"""Signing in: words, tries, and what the instructor may."""

import re

from fuelkit.classroom.attempts import Attempts
from fuelkit.classroom.register import INSTRUCTOR
from tests.classroom.client import Visitor


def test_a_wrong_word_is_refused_and_tries_are_counted(rig):
    """After five wrong words in a minute even the right one waits; for others nothing changes."""
    visitor = rig.visitor("C3", "0000-0000")
    for _ in range(4):
        status, text = visitor.sign_in("C3", "0000-0000")
        assert status == 403 and "Invalid" in text
    status, text = visitor.sign_in("C3", rig.words["C3"])
    assert status == 429 or "Too many wrong words" in text
    assert rig.visitor("E55").get("/hub/home")[0] == 200


def test_nobody_signs_up_and_codes_are_not_told(rig):
    """An unknown code gets the same answer as a wrong word, and there is no way to sign up."""
    known = rig.visitor("D-4", "wrong").sign_in("D-4", "wrong")
    unknown = rig.visitor("Z99", "wrong").sign_in("Z99", "wrong")
    plain = [re.sub(r"[\w+/=.-]{20,}|D-4|Z99|\d{14}", "", text) for _, text in (known, unknown)]
    assert known[0] == unknown[0] == 403 and plain[0] == plain[1]
    assert rig.visitor("E55").get("/hub/signup")[0] == 404


def test_a_new_word_counts_at_once(rig):
    """--new-word prints another word; the old one is over, with the hub running on."""
    printed = rig.run("--new-word", "b12")
    word = re.search(r"B12: (\S+)", printed)[1]
    visitor = rig.visitor("B12", word)
    assert visitor.get("/hub/home")[0] == 200 and "b12" in visitor.get("/hub/home")[1]
    assert rig.visitor("B12", word.lower().replace("-", " ")).get("/hub/home")[0] == 200
    assert Visitor(rig.address).sign_in("B12", rig.words["B12"])[0] == 403
    rig.words["B12"] = word


def test_words_are_kept_as_hashes_for_root_alone(rig):
    """No word stands in any file of the classroom, and the register has the mode 0600."""
    register = rig.classroom.register_file
    assert register.stat().st_mode & 0o777 == 0o600
    assert rig.classroom.private.stat().st_mode & 0o777 == 0o700
    for path in (p for p in rig.classroom.private.rglob("*") if p.is_file()):
        data = path.read_bytes()
        for word in rig.words.values():
            assert word.encode() not in data and word.replace("-", "").encode() not in data, path


def test_the_instructor_has_no_way_into_a_learners_server(rig):
    """They see sheets and who is there; a learner's page would run what that learner wrote."""
    rig.notebook("A07")
    visitor = rig.visitor(INSTRUCTOR)
    assert visitor.get("/services/desk/")[0] == 200
    assert visitor.get("/hub/admin")[0] == 200
    assert visitor.get("/user/a07/api/contents")[0] in (403, 404)


def test_counts_of_wrong_words_run_out():
    """A minute later a word may be tried again; another place was never shut out."""
    now = [0.0]
    attempts = Attempts(lambda: now[0])
    for _ in range(5):
        assert attempts.wait("A07", "here") == 0.0
        attempts.failed("A07", "here")
    assert attempts.wait("A07", "here") == 60.0
    assert attempts.wait("A07", "there") == attempts.wait("B12", "here") == 0.0
    now[0] = 60.0
    assert attempts.wait("A07", "here") == 0.0
    for place in range(30):
        attempts.failed("A07", place)
    assert attempts.wait("A07", "new") > 0.0, "and many places together are too many"
