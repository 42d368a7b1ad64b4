"""The commands around a sitting, from blueprint to class report, as an instructor types them."""

import csv
import io
import json
import shutil
import stat
from dataclasses import replace
from datetime import date

import pytest

from fuelkit.assess.integrity.entry import happened
from fuelkit.assess.integrity.keeping import VARIABLE, instructor_folder
from fuelkit.assess.integrity.log import append, entries
from fuelkit.assess.integrity.sittings import new_sitting, sitting_of
from fuelkit.assess.integrity.verify import verify
from fuelkit.assess.papers.blueprint import read_blueprint
from fuelkit.assess.papers.issue import LOG_FILE
from fuelkit.assess.papers.mark_sitting import awards_of, key_of
from fuelkit.assess.papers.spoken import spoken
from fuelkit.assess.sheet import FORMAT, SCHEMA, read_sheet, sheet_path, write_sheet
from fuelkit.assess.teach import unit_for
from fuelkit.command import reasons
from fuelkit.command.main import main
from fuelkit.command.paper import PRINTED, most_shared
from fuelkit.show.papers.sitting import PaperSitting, read_paper
from tests.assess.conftest import right_answers, sheet_of
from tests.small_sitting import COUNTS, MARKS, OWN, pool, texts

CODES = ("A01", "A02", "A03")
FORMULA = '=cmd|"/c calc"!A0'


def blueprint_text(sitting="trial-1", counts=COUNTS):
    """A blueprint of the guide's own aircraft as a file."""
    head = (
        f'schema = 1\nsitting = "{sitting}"\ntitle = "A trial"\naircraft = {json.dumps(OWN)}\n'
        "minutes = 60\nflights = 6\nspread_percent = 4\n"
    )
    return head + "".join(
        f'[[lines]]\nname = "{kind}"\nkinds = ["{kind}"]\ncount = {count}\n'
        f"marks = {MARKS.get(kind, 2)}\n"
        for kind, count in counts.items()
    )


def _prepare(folder, patch):
    """Give a folder to work in, an instructor's folder outside, and the pool of the tests' own."""
    patch.setenv(VARIABLE, str(folder / "instructor"))
    patch.setattr("fuelkit.assess.papers.issue.make_pool", lambda *_: list(pool()))
    patch.setattr("fuelkit.assess.papers.issue._ENOUGH_TO_SPREAD", 10_000)
    work = folder / "work"
    work.mkdir(exist_ok=True)
    (work / "bp.toml").write_text(blueprint_text())
    (work / "class.txt").write_text("code\n" + "\n".join(CODES) + "\n")
    return work


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder to work in, with blueprint and class list."""
    return _prepare(tmp_path, monkeypatch)


def drawn(place, out="out"):
    """The papers of the class, drawn by the command."""
    words = ["paper", str(place / "bp.toml"), "--class", str(place / "class.txt"), "--out",
             str(place / out)]  # fmt: skip
    assert main(words) == 0
    return place / out


def sat(place, code, said=None):
    """A learner's paper, sat to the end from what was given out; the sheet is handed in."""
    key = key_of(sitting_of(instructor_folder(), "trial-1"), code)
    paper = PaperSitting(read_paper(place / "out" / code / "paper.json"), place / "sheets")
    paper.begin().commit({})
    for number, question in enumerate(key.questions, start=1):
        answers = texts(question)
        if said and question.kind in said:
            answers = {ask: said[question.kind] for ask in answers}
        board = paper.question(number)
        board.commit(answers)
        assert board.committed, board.error
    paper.hand_in().commit({})
    return key


def rows(path):
    """The rows of a CSV file."""
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))


@pytest.fixture(scope="module")
def _made(tmp_path_factory):
    """Three learners: all right; all right with formulas for reasons; times that are wrong."""
    folder = tmp_path_factory.mktemp("made")
    with pytest.MonkeyPatch.context() as patch:
        place = _prepare(folder, patch)
        drawn(place)
        sat(place, "A01")
        sat(place, "A02", {"reason": FORMULA})
        sat(place, "A03", {"when": "0:00:01", "reason": "=1+1"})
        assert main(["mark", str(place / "sheets")]) == 0
    return folder


@pytest.fixture
def marked(_made, tmp_path, monkeypatch):
    """That class, drawn, sat and marked, in a copy for this test alone."""
    shutil.copytree(_made, tmp_path, dirs_exist_ok=True)
    return _prepare(tmp_path, monkeypatch)


def test_the_example_of_a_blueprint_can_be_used_as_it_is(tmp_path, capsys):
    """Written once, never over another file; it loads."""
    path = tmp_path / "mine.toml"
    assert main(["paper", "--new", str(path)]) == 0
    assert read_blueprint(path).count == 20 and "Written" in capsys.readouterr().out
    before = path.read_bytes()
    assert main(["paper", "--new", str(path)]) == 1
    assert "is there already" in " ".join(capsys.readouterr().err.split())
    assert path.read_bytes() == before


def test_papers_are_given_out_and_keys_are_not(marked):
    """Each learner has data, notebook and print; keys and schemes lie with the instructor, 0600.

    Drawn again, every paper is the same to the byte.
    """
    out = marked / "out"
    files = {p.relative_to(out).as_posix(): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    names = ("paper.ipynb", "paper.json", PRINTED)
    assert sorted(files) == sorted(f"{code}/{name}" for code in CODES for name in names)
    sitting = sitting_of(instructor_folder(), "trial-1")
    for code in CODES:
        for name in (f"key-{code}.json", f"scheme-{code}.pdf"):
            assert stat.S_IMODE((sitting.personal / name).stat().st_mode) == 0o600
    again = drawn(marked, "again")
    assert {n: (again / n).read_bytes() for n in files} == files
    assert verify(instructor_folder() / LOG_FILE) == ()


def test_what_neighbours_have_in_common_is_counted(marked):
    """Counted pair by pair as they sit; of a paper beside itself all are in common."""
    sitting = sitting_of(instructor_folder(), "trial-1")
    one, two, three = (key_of(sitting, code) for code in CODES)
    names = [{q.source for q in key.questions} for key in (one, two, three)]
    assert most_shared([one, two, three]) == max(len(names[0] & names[1]), len(names[1] & names[2]))
    assert most_shared([one, one, three]) == len(names[0])


def test_what_cannot_be_done_is_one_sentence(place, capsys):
    """No blueprint; a line that cannot be met; a code that is none."""
    words = ["paper", str(place / "bp.toml"), "--class", str(place / "class.txt")]
    assert main(["paper"]) == 1
    assert "Name a blueprint and a class list" in capsys.readouterr().err
    (place / "bp.toml").write_text(blueprint_text(counts=COUNTS | {"choice": 60 - 11}))
    assert main([*words, "--out", str(place / "out")]) == 1
    assert "line 'choice' needs 49, and" in " ".join(capsys.readouterr().err.split())
    assert not (place / "out").exists()
    (place / "class.txt").write_text("A Person\n")
    assert main(words) == 1
    assert "line 1" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["trial-2", "A01", "10"], "there is: trial-1"),
        (["trial-1", "Z99", "10"], "no paper of Z99"),
        (["trial-1", "A01", "ten"], "minutes: it is ten; it must be one of 5, 10"),
        (["trial-1", "A01", "7"], "minutes: it is 7; it must be one of 5, 10"),
    ],
)
def test_no_word_is_told_that_would_open_nothing(marked, capsys, words, told):
    """Another sitting, a learner without a paper, minutes that are no number: named, none made."""
    assert main(["paper", "--more-time", *words]) == 1
    assert told in " ".join(capsys.readouterr().err.split())
    assert not list(instructor_folder().glob("trial-2*"))


def test_papers_that_may_be_out_are_not_replaced_unasked(place, capsys):
    """The same again changes nothing; another blueprint is refused until --replace is added."""
    words = ["paper", str(place / "bp.toml"), "--class", str(place / "class.txt")]
    words += ["--out", str(place / "out")]
    assert main(words) == 0
    sitting = sitting_of(instructor_folder(), "trial-1")
    log = instructor_folder() / LOG_FILE
    before, told = [key_of(sitting, code) for code in CODES], log.read_bytes()
    assert main(words) == 0
    assert log.read_bytes() == told
    (place / "bp.toml").write_text(blueprint_text(counts={**COUNTS, "state": 1}))
    capsys.readouterr()
    assert main(words) == 1
    assert "3 of 3 papers would now be others (A01, A02, A03)" in " ".join(
        capsys.readouterr().err.split()
    )
    assert [key_of(sitting, code) for code in CODES] == before
    assert main([*words, "--replace"]) == 0
    replaced = [key_of(sitting, code) for code in CODES]
    assert replaced != before
    assert not verify(log)
    append(log, happened("handed in", "trial-1", "A02", {"receipt": "a receipt"}))
    assert main([*words, "--replace"]) == 0  # the same papers once more
    (place / "bp.toml").write_text(blueprint_text(counts=COUNTS))
    capsys.readouterr()
    assert main([*words, "--replace"]) == 1
    assert "handed in and marked (1); they are not replaced" in " ".join(
        capsys.readouterr().err.split()
    )
    assert [key_of(sitting, code) for code in CODES] == replaced


def test_a_cluster_that_is_not_there_is_said_of_both_commands(marked, capsys):
    """Without the optional package, or without a scheduler at the address: one sentence."""
    place, address = marked, "tcp://127.0.0.1:9"
    words = ["paper", str(place / "bp.toml"), "--class", str(place / "class.txt")]
    for command in (words, ["mark", str(place / "sheets")]):
        assert main([*command, "--cluster", address]) == 1
        assert "--cluster" in capsys.readouterr().err


def test_a_word_for_more_time_is_told_and_is_the_learners_own(marked, capsys):
    """The command prints it; the learner's paper takes it, a neighbour's does not."""
    place = marked
    assert main(["paper", "--more-time", "trial-1", "a01", "10"]) == 0
    word = capsys.readouterr().out.split()[-1]
    for code, taken in (("A01", True), ("A02", False)):
        paper = PaperSitting(read_paper(place / "out" / code / "paper.json"), place / "new")
        board = paper.more_time()
        board.commit({"word": word})
        assert board.committed is taken


def test_a_marked_class_has_its_sheets_reports_and_log(marked):
    """By hand: A01 all right but the reason, which waits: 39 of 41; A03 without 2 for the time."""
    place = marked / "sheets" / "marks" / "trial-1"
    table = rows(place / "mark-sheet.csv")
    total = table[0].index("total")
    assert [(row[0], float(row[total])) for row in table[1:]] == [
        ("A01", 39.0), ("A02", 39.0), ("A03", 37.0)
    ]  # fmt: skip
    for name in ("class-report.html", "class-report.pdf", "set-aside.csv"):
        assert (place / name).stat().st_size > 0
    for code in CODES:
        assert code in (place / "feedback" / f"{code}.html").read_text(encoding="utf-8")
        assert (place / "feedback" / f"{code}.pdf").read_bytes().startswith(b"%PDF-")
    log = instructor_folder() / LOG_FILE
    assert [e.learner for e in entries(log) if e.event == "marked"] == list(CODES)
    assert main(["verify"]) == 0


RECEIVER = {
    "school": "s-17", "class_group": "c-4", "category": "papers-9", "session": "autumn",
    "home_page": "https://ground.example/learners",
}  # fmt: skip


def test_exports_carry_what_the_receiving_system_is_called(marked, tmp_path, capsys):
    """Its own names, from a file; without them, or with a fault in it, a sentence."""
    words = ["mark", str(marked / "sheets"), "--export", "oneroster"]
    assert main(words) == 1
    assert "--receiver FILE" in capsys.readouterr().err
    file = tmp_path / "receiver.toml"
    file.write_text("schema = 1\nschool = 'one'\n", encoding="utf-8")
    assert main([*words, "--receiver", str(file)]) == 1
    assert "class_group" in capsys.readouterr().err


def test_no_answer_becomes_a_formula_or_markup(marked, tmp_path):
    """In every CSV that is written, no cell begins as a formula; in HTML nothing is run."""
    file = tmp_path / "receiver.toml"
    lines = ["schema = 1", *(f'{name} = "{value}"' for name, value in RECEIVER.items())]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    words = ["mark", str(marked / "sheets"), "--export", "oneroster", "--export", "qti",
             "--export", "statements", "--receiver", str(file)]  # fmt: skip
    assert main(words) == 0
    place = marked / "sheets" / "marks" / "trial-1"
    written = (place / "oneroster" / "lineItems.csv").read_text(encoding="utf-8")
    assert all(RECEIVER[name] in written for name in ("school", "class_group", "category"))
    assert RECEIVER["home_page"] in (place / "statements.json").read_text(encoding="utf-8")
    tables = list(place.rglob("*.csv"))
    assert len(tables) > 4
    for path in tables:
        for row in rows(path):
            for cell in row:
                is_number = cell.lstrip("-").replace(".", "", 1).isdigit()
                assert cell[:1] not in tuple("=+-@\t\r") or cell == "" or is_number, path
    page = (place / "feedback" / "A02.html").read_text(encoding="utf-8")
    assert "cmd|&quot;/c calc&quot;" in page and FORMULA not in page


def test_reasons_are_marked_by_one_key_each_and_counted(marked, monkeypatch, capsys):
    """Full, later, a key that is none, a half, stop: kept at once; marking again counts them."""
    keys = iter("4s")
    monkeypatch.setattr(reasons, "_pressed", lambda: next(keys, "q"))
    sitting = sitting_of(instructor_folder(), "trial-1")
    words = ["reasons", "trial-1", str(marked / "sheets")]
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "1 of 3" in told and "Stopped" in told and not any(code in told for code in CODES)
    (first,) = awards_of(sitting)
    assert list(awards_of(sitting)[first].values()) == [1.0]
    keys = iter("x20")
    monkeypatch.setattr(reasons, "_pressed", lambda: next(keys))
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "1 of 2" in told and "'x' is none of these" in told and "Done" in told
    given = {code: list(a.values())[0] for code, a in awards_of(sitting).items()}
    assert sorted(given.values()) == [0.0, 0.5, 1.0]
    assert main(["mark", str(marked / "sheets")]) == 0
    assert "moved" in capsys.readouterr().out
    table = rows(marked / "sheets" / "marks" / "trial-1" / "mark-sheet.csv")
    totals = {row[0]: float(row[table[0].index("total")]) for row in table[1:]}
    base = {"A01": 39.0, "A02": 39.0, "A03": 37.0}
    assert totals == {code: base[code] + 2.0 * given[code] for code in CODES}
    assert main(words) == 0
    assert "no written reason to be marked" in capsys.readouterr().out
    monkeypatch.setattr(reasons, "_pressed", lambda: "1")
    assert main([*words, "--again"]) == 0
    assert {v for a in awards_of(sitting).values() for v in a.values()} == {0.25}


def test_hostile_sheets_beside_sound_ones_do_not_stop_the_reports(marked, capsys):
    """Set aside and named in print and in the list; the class is reported all the same."""
    sheets = marked / "sheets"
    whole = read_sheet(next(sheets.glob("*.A01.json")))
    odd = replace(whole, answers={**whole.answers, "q01": {"given": {"q01-1": "\ud800"},
                                                           "committed": ""}})  # fmt: skip
    content = {"format": FORMAT, "schema": SCHEMA, **odd.__dict__}
    (sheets / "half.json").write_text(json.dumps(content))
    (sheets / "=sum.json").write_text("{")
    (sheets / "deep.json").write_text("[" * 200_000)
    assert main(["mark", str(sheets)]) == 1
    told = capsys.readouterr().out
    assert "3 papers marked" in told
    for name in ("half.json", "=sum.json", "deep.json"):
        assert f"set aside: {name}: " in told
    table = rows(sheets / "marks" / "trial-1" / "set-aside.csv")
    assert [row[0] for row in table[1:]] == ["'=sum.json", "deep.json", "half.json"]


def test_a_receipt_that_is_read_out_is_checked(marked, capsys):
    """Right, though in capitals and spaced otherwise; of another sheet; misheard."""
    first, other = (path for path in sorted((marked / "sheets").glob("*.json"))[:2])
    words = spoken(read_sheet(first))
    assert main(["verify", "--receipt", f"  {words.swapcase()} ", str(first)]) == 0
    assert "It fits: A01" in capsys.readouterr().out
    assert main(["verify", "--receipt", words, str(other)]) == 1
    assert "It does not fit" in capsys.readouterr().out
    assert main(["verify", "--receipt", words[:-2], str(first)]) == 1


def test_exercises_and_papers_that_lie_together_are_each_marked(marked, tmp_path, capsys):
    """As on a desk: neither is set aside for being the other; each has its own mark sheet."""
    sheets = marked / "sheets"
    sheet = sheet_of("exercise-tanks", "A01", right_answers(unit_for("exercise-tanks")))
    path = write_sheet(sheet, sheet_path(sheets, sheet.unit, "A01"))
    assert main(["mark", str(sheets), "--out", str(tmp_path / "both")]) == 0
    told = capsys.readouterr().out
    assert "3 papers marked" in told and "Marked 1 sheet;" in told and "set aside" not in told
    assert (tmp_path / "both" / "trial-1" / "mark-sheet.csv").exists()
    (_, row) = rows(tmp_path / "both" / "mark-sheet.csv")
    assert row[:2] == ["A01", "exercise-tanks"] and row[4] == "100"
    kept = sheet_path(sheets, sheet.unit, "A01")
    assert path is None or path == kept
    words = read_sheet(kept).receipt
    assert main(["verify", "--receipt", words.lower().replace("-", " "), str(kept)]) == 0
    assert main(["verify", "--receipt", words[:-1] + ("A" if words[-1] != "A" else "B"),
                 str(kept)]) == 1  # fmt: skip


def test_a_changed_key_and_a_changed_log_are_found(marked, capsys):
    """One right answer in a key, one sign in the log: verify names each and ends with 1."""
    folder = instructor_folder()
    path = sitting_of(folder, "trial-1").personal / "key-A02.json"
    whole = path.read_text()
    content = json.loads(whole)
    text = json.dumps(content).replace('"marks": 8.0', '"marks": 9.0', 1)
    assert text != json.dumps(content)
    path.write_text(text)
    assert main(["verify"]) == 1
    assert "trial-1: key-A02.json does not fit its seal" in capsys.readouterr().out
    path.write_text(whole)
    assert main(["verify"]) == 0
    log = folder / LOG_FILE
    lines = log.read_text().splitlines(keepends=True)
    log.write_text("".join([*lines[:2], *lines[3:]]))
    assert main(["verify"]) == 1


def test_a_purge_takes_the_papers_and_leaves_a_log_that_verifies(marked, capsys):
    """Before its date only with a reason; keys, awards and schemes are gone; the chain is whole."""
    folder = instructor_folder()
    assert main(["purge"]) == 0 and "No sitting is over" in capsys.readouterr().out
    early = ["purge", "--sitting", "trial-1", "--why", "the class asked for it"]
    sitting = sitting_of(folder, "trial-1")
    assert main(early) == 0 and "Nothing is taken away yet" in capsys.readouterr().out
    assert list(sitting.personal.iterdir())
    assert main(["purge", "--sitting", "trial-1", "--for-good"]) == 1
    assert main([*early, "--for-good"]) == 0
    assert not sitting.personal.exists() or not list(sitting.personal.iterdir())
    assert verify(folder / LOG_FILE) == ()
    assert not any(e.personal for e in entries(folder / LOG_FILE) if e.sitting == "trial-1")


def test_whoever_was_given_a_paper_and_has_no_mark_is_named(marked, capsys):
    """Also where no sheet came in at all, which no list of files can show."""
    sheets = marked / "sheets"
    next(sheets.glob("*.A03.json")).unlink()
    main(["mark", str(sheets)])
    assert "No paper marked of: A03." in capsys.readouterr().out


def test_sheets_of_another_sitting_do_not_spoil_this_one(marked, capsys):
    """A sitting whose name begins as another's does is not taken for it."""
    folder = instructor_folder()
    new_sitting(folder, "trial", date(2100, 1, 1))
    assert main(["mark", str(marked / "sheets")]) == 0
    assert "set aside" not in capsys.readouterr().out
