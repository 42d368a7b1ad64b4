"""The learner's edition, opened with an eye of its own: what is planted is found, always.

Nothing here asks the kit's own scan what is forbidden: archives are opened with `zipfile`, and
what may not be in them is said here once more.
"""

import base64
import json
import os
import shutil
import subprocess
import sys
import zipfile
from datetime import date
from pathlib import Path

import pytest

from fuelkit.assess.edition import making
from fuelkit.assess.edition.contents import load_contents
from fuelkit.assess.integrity.keeping import VARIABLE, write_record
from fuelkit.assess.integrity.sittings import key_file, new_sitting, paper_name
from fuelkit.assess.papers.issue import secret_of
from fuelkit.assess.sheet import Sheet, write_sheet
from fuelkit.command import bundle
from fuelkit.command.environment import Environment
from fuelkit.command.main import COMMANDS, main
from fuelkit.show.papers.bundle import bundle as paper_files

PROJECT = Path(__file__).resolve().parents[2]
FEW = (
    "requirements.txt", "lessons/00_start_here.ipynb",
    "lessons/00_your_progress.ipynb", "lessons/06_follow_the_cruise.ipynb",
    "lessons/course.toml", "lessons/pictures/board.png", "exercises/06_follow_the_cruise.ipynb",
    "fuelkit/__init__.py", "fuelkit/__main__.py", "fuelkit/aircraft/data/halbrook-180.toml",
    "README.md", "DEVELOPERS.md", "solutions/06_follow_the_cruise.ipynb",
)  # fmt: skip
SCHOOL = "Eastmere & *Co* <b>School</b>"
STARTER = PROJECT / "fuelkit" / "aircraft" / "own" / "starter.toml"
MAY_BE_THERE = {"README.md", "requirements.txt", "lessons", "exercises", "fuelkit", "papers"}
NEVER_NAMED = (
    "solution",
    "answer-key",
    "mark-log",
    "class-list",
    ".git",
    "__pycache__",
    "names.csv",
)
NEVER_SAID = (
    b'"format": "fuelkit instructor', b'"format": "fuelkit answer sheet', b'"committed":',
    b"application/vnd.jupyter.widget-state+json",
)  # fmt: skip


@pytest.fixture
def course(tmp_path, monkeypatch):
    """A course of a few files, with all that learners must not have lying beside them."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "instructor"))
    monkeypatch.delenv("FUELKIT_AIRCRAFT", raising=False)
    root = tmp_path / "course"
    for place in FEW:
        (root / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(PROJECT / place, root / place)
    (root / "lessons" / "pictures" / "board.png").write_bytes(b"\x89PNG\r\n")  # quick to look at
    monkeypatch.setattr(Environment, "of_project", classmethod(lambda cls: cls(root)))
    return root


def opened(path):
    """The files of an archive by their place in the course, all under one folder."""
    with zipfile.ZipFile(path) as packed:
        assert packed.testzip() is None
        parts = [name.partition("/") for name in packed.namelist()]
        assert {first for first, _, _ in parts} == {"fuel-course"}
        return {rest: packed.read(f"fuel-course/{rest}") for _, _, rest in parts}


def check(files):
    """Nothing in an archive is what a learner must not have, by this file's own rules."""
    for place, data in files.items():
        parts = place.split("/")
        assert parts[0] in MAY_BE_THERE and ".." not in parts, place
        is_kit = parts[0] == "fuelkit"
        for name in NEVER_NAMED:
            assert name not in parts[-1].lower() or (is_kit and place.endswith(".py")), place
        assert not any(part.startswith(".") for part in parts), place
        if not is_kit:
            for text in NEVER_SAID:
                assert text not in data, place
        if place.endswith(".ipynb"):
            check_notebook(json.loads(data), place)


def check_notebook(book, place):
    """No outputs, no states of widgets, no attachments."""
    assert not book["metadata"].get("widgets"), place
    for cell in book["cells"]:
        assert not cell.get("outputs") and not cell.get("attachments"), place


def made(tmp_path, *words):
    """Run the command; return its exit code and the archive's path."""
    path = tmp_path / "out.zip"
    return main(["bundle", str(path), *words]), path


# ---------------------------------------------------------------------------------- what is made
@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The archive of the real course, made by the command where no instructor has a folder."""
    folder = tmp_path_factory.mktemp("whole")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(VARIABLE, str(folder / "instructor"))
        code, path = made(folder, "--school", SCHOOL)
    assert code == 0
    assert not (folder / "instructor").exists()  # to look for secrets makes no folder for them
    return path


def test_the_whole_course_makes_an_edition_that_holds_what_it_says(whole):
    """The real course: every lesson and exercise, the kit, and nothing else."""
    files = opened(whole)
    check(files)
    for folder in ("lessons", "exercises"):
        names = {f"{folder}/{p.name}" for p in (PROJECT / folder).glob("*.ipynb")}
        assert names == {place for place in files if place.startswith(folder) and "ipynb" in place}
    modules = {p.relative_to(PROJECT).as_posix() for p in (PROJECT / "fuelkit").rglob("*.py")}
    assert modules <= set(files)
    assert f'school = "{SCHOOL}"' in files["lessons/course.toml"].decode()
    first = json.loads(files["lessons/00_start_here.ipynb"])["cells"][0]["source"]
    assert "**Eastmere &amp; \\*Co\\* &lt;b&gt;School&lt;/b&gt;**\n" in first


def test_every_excuse_is_needed_and_names_a_file(tmp_path, monkeypatch):
    """The list of programs that sound like what is refused has no line that excuses nothing."""
    contents, found = load_contents(), []
    bare = type(contents)(contents.goes_in, contents.needed, contents.passed_over, {})
    monkeypatch.setattr(making, "load_contents", lambda: bare)
    root = tmp_path / "course"
    for file in contents.excused:
        (root / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(PROJECT / file, root / file)
    by_name = [f for f in making.make_edition(root).refused if f.place in contents.excused]
    named = {f.place for f in by_name}
    # A file refused by its name is not read: read it under the list that excuses names alone.
    names_only = {f.place: (f.why,) for f in by_name}
    some = type(contents)(contents.goes_in, contents.needed, contents.passed_over, names_only)
    monkeypatch.setattr(making, "load_contents", lambda: some)
    found = [*by_name, *making.make_edition(root).refused]
    said = {(f.place, f.why.partition(" (")[0]) for f in found}
    assert named == set(contents.excused)
    assert {(file, why) for file, whys in contents.excused.items() for why in whys} <= said


def test_what_lies_beside_the_listed_folders_does_not_go_in(course, tmp_path):
    """Worked answers, answers, keys, a history and the guide for contributors stay behind."""
    for place in (".git/config", "answers/a.json", "keys/key.json", "class.csv", "secret.txt",
                  "fuelkit/__pycache__/x.pyc", "lessons/.ipynb_checkpoints/x.ipynb"):  # fmt: skip
        (course / place).parent.mkdir(parents=True, exist_ok=True)
        (course / place).write_text("planted", encoding="utf-8")
    code, path = made(tmp_path)
    assert code == 0
    files = opened(path)
    check(files)
    assert set(files) == {*FEW} - {"DEVELOPERS.md", "solutions/06_follow_the_cruise.ipynb"}
    assert not any(b"planted" in data for data in files.values())


def test_the_same_course_makes_the_same_bytes(course, tmp_path):
    """Sorted, with one date for all files, whatever theirs are."""
    _, path = made(tmp_path)
    first = path.read_bytes()
    for file in course.rglob("*"):
        os.utime(file, (1, 1))
    _, path = made(tmp_path)
    assert path.read_bytes() == first


def test_the_readme_speaks_only_of_what_is_there(course, tmp_path):
    """Every folder, picture and command that it names is in the archive."""
    _, path = made(tmp_path)
    files = opened(path)
    text = files["README.md"].decode()
    words = text.replace("`", " ").replace("(", " ").replace(")", " ").split()
    named = [w.rstrip(".,;:") for w in words if "/" in w and "://" not in w]
    for word in named:
        there = any(place.startswith(word) for place in files)
        assert there or word.startswith("answers"), word
    commands = [words[i + 3].strip(".,;") for i, w in enumerate(words[:-3])
                if words[i : i + 3] == ["python", "-m", "fuelkit"]]  # fmt: skip
    assert set(commands) == {"open", "doctor", "mark"} <= set(COMMANDS)
    for absent in ("solutions", "tests", "DEVELOPERS", "<!--", "papers"):
        assert absent not in text


def test_an_own_aircraft_goes_in_and_is_taught(course, tmp_path):
    """Its file stands beside the lessons and the settings name it; a faulty one is refused."""
    mine = tmp_path / "mine.toml"
    shutil.copyfile(STARTER, mine)
    code, path = made(tmp_path, "--aircraft", str(mine))
    files = opened(path)
    assert code == 0 and files["lessons/mine.toml"] == mine.read_bytes()
    assert 'aircraft = "mine.toml"' in files["lessons/course.toml"].decode()
    mine.write_text("schema = 1\n", encoding="utf-8")
    assert main(["bundle", str(path), "--aircraft", str(mine)]) == 1


def test_an_aircraft_that_the_course_names_goes_in_too(course, tmp_path):
    """An instructor who teaches an own aircraft need not say so again."""
    shutil.copyfile(STARTER, course / "lessons" / "mine.toml")
    text = 'schema = 1\naircraft = "mine.toml"\nschool = "Ours"\n'
    (course / "lessons" / "course.toml").write_text(text, encoding="utf-8")
    code, path = made(tmp_path)
    assert code == 0 and "lessons/mine.toml" in opened(path)
    assert 'school = "Ours"' in opened(path)["lessons/course.toml"].decode()


# ------------------------------------------------------------------------------------ the planted
def outputs(book):
    """Plant a stored output."""
    cell = next(c for c in book["cells"] if c["cell_type"] == "code")
    cell["outputs"] = [{"output_type": "stream", "name": "stdout", "text": ["it is shut"]}]


def widget_state(book):
    """Plant the state of a board."""
    state = {"application/vnd.jupyter.widget-state+json": {"state": {"a": {"answers": {"q": "x"}}}}}
    book["metadata"]["widgets"] = state


def pasted_picture(book):
    """Plant a picture of anything."""
    book["cells"][0]["attachments"] = {"key.png": {"image/png": "aGVsbG8="}}


def right_answer(book):
    """Plant a right answer in a line of code."""
    book["cells"].append({"cell_type": "code", "id": "z", "metadata": {}, "outputs": [],
                          "execution_count": None, "source": ['{"right": ["shut"]}']})  # fmt: skip


@pytest.mark.parametrize("plant", [outputs, widget_state, pasted_picture, right_answer])
def test_a_notebook_with_something_in_it_is_refused(course, tmp_path, capsys, plant):
    """What a notebook keeps is looked into; the older archive stays as it is."""
    _, path = made(tmp_path)
    before = path.read_bytes()
    place = course / "lessons" / "06_follow_the_cruise.ipynb"
    book = json.loads(place.read_text(encoding="utf-8"))
    plant(book)
    place.write_text(json.dumps(book), encoding="utf-8")
    assert made(tmp_path)[0] == 1
    assert "lessons/06_follow_the_cruise.ipynb: it" in capsys.readouterr().out
    assert path.read_bytes() == before


PLANTED = {
    "fuelkit/assess/data/paper-key.toml": 'schema = 1\nright = ["shut"]\n',
    "fuelkit/aircraft/data/more.toml": 'schema = 1\n[[q]]\nanswers = ["shut"]\n',
    "fuelkit/physics/more.py": 'TOLD = {"right": ["shut"]}\n',
    "lessons/notes.txt": "A01\nA02\n",
    "lessons/class.csv": "code,name\nA01,Somebody\n",
    "lessons/pictures/photo.png": "PNG",
    "exercises/exercise-cruise.A01.json": "",
    "lessons/.git": "gitdir: elsewhere\n",
    "lessons/.git/HEAD": "ref: refs/heads/main\n",
    "fuelkit/show/.git/objects/aa": "x",
    "exercises/mark-sheet.csv": "learner,marks\n",
    "exercises/06_solutions": "{}",
    "lessons/progress.jsonl": "{}",
}


@pytest.mark.parametrize("place", PLANTED)
def test_a_file_that_does_not_belong_is_refused_by_name(course, tmp_path, capsys, place):
    """A key, a class list, an answer sheet, a history: none is written, each is named."""
    (course / place).parent.mkdir(parents=True, exist_ok=True)
    (course / place).write_text(PLANTED[place], encoding="utf-8")
    code, path = made(tmp_path)
    assert code == 1 and not path.exists()
    said = " ".join(capsys.readouterr().out.split())
    assert place.split("/HEAD")[0].split("/objects")[0] in said


def test_an_answer_sheet_under_any_name_is_refused(course, tmp_path, capsys):
    """It is known by what it says, also where a file of that name may lie."""
    sheet = Sheet("lesson-cruise", "A01", "f" * 16)
    write_sheet(sheet, tmp_path / "sheet.json")
    place = course / "fuelkit" / "command" / "jupyter" / "settings.json"
    place.parent.mkdir(parents=True)
    place.write_bytes((tmp_path / "sheet.json").read_bytes())
    code, path = made(tmp_path)
    assert code == 1 and not path.exists()
    assert "settings.json: it is a learner's answer sheet" in capsys.readouterr().out


@pytest.mark.skipif(not hasattr(os, "symlink") or os.name == "nt", reason="needs links")
@pytest.mark.parametrize("what", ["file", "folder", "whole"])
def test_a_link_is_refused(course, tmp_path, what):
    """It could bring in anything of the machine."""
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "x.ipynb").write_text("{}", encoding="utf-8")
    link = {"file": course / "lessons" / "10_x.ipynb", "folder": course / "fuelkit" / "more",
            "whole": course / "exercises"}[what]  # fmt: skip
    if what == "whole":
        shutil.rmtree(course / "exercises")
    link.symlink_to(outside / "x.ipynb" if what == "file" else outside)
    code, path = made(tmp_path)
    assert code == 1 and not path.exists()


def test_a_secret_of_this_machine_is_found_however_it_is_written(course, tmp_path, capsys):
    """The secret of a sitting and the salt of a key, in base64 and in hexadecimal, in prose."""
    folder = tmp_path / "instructor"
    folder.mkdir(mode=0o700)
    sitting = new_sitting(folder, "trial-1", date(2099, 1, 1))
    secret, salt = secret_of(folder, "trial-1"), "ab" * 16
    write_record(sitting.personal, key_file("A01"), "key", {"salt": salt})
    place = course / "lessons" / "06_follow_the_cruise.ipynb"
    for planted in (base64.b64encode(secret).decode(), salt):
        book = json.loads((PROJECT / "lessons" / place.name).read_text(encoding="utf-8"))
        book["cells"][0]["source"].append(planted)
        place.write_text(json.dumps(book), encoding="utf-8")
        assert made(tmp_path)[0] == 1
        assert f"{place.name}: it holds secret" in capsys.readouterr().out


# ------------------------------------------------------------------------------------- the papers
def a_paper(folder, code, **more):
    """The folder of one learner's paper as it is given out, without questions."""
    content = {
        "format": "fuelkit paper", "schema": 1, "paper": paper_name("trial-1", code),
        "title": "A trial", "learner": code, "aircraft": "Halbrook 180", "fingerprint": "f" * 16,
        "minutes": 0, "extensions": {}, "marks": 0, "seal": "0", "questions": [], **more,
    }  # fmt: skip
    folder.mkdir(parents=True)
    for name, data in paper_files(content).items():
        (folder / name).write_bytes(data)
    (folder / "paper.pdf").write_bytes(b"%PDF")
    return folder


def test_papers_go_into_one_archive_a_learner(course, tmp_path):
    """With the folder of a sitting, each learner gets the own paper and nobody else's."""
    for code in ("A01", "A02"):
        a_paper(tmp_path / "papers" / code, code)
    code, path = made(tmp_path, "--paper", str(tmp_path / "papers"))
    assert code == 0 and not path.exists()
    for code, other in (("A01", "a02"), ("A02", "a01")):
        files = opened(tmp_path / f"out-{code}.zip")
        check(files)
        place = f"papers/paper-trial-1-{code.lower()}"
        assert {p for p in files if p.startswith("papers")} == {
            f"{place}/paper.ipynb", f"{place}/paper.json"
        }  # fmt: skip
        assert f"{place}/paper.ipynb" in files["README.md"].decode()
        assert not any(other in p for p in files)


@pytest.mark.parametrize("field", [{"right": ["shut"]}, {"learner": "../A01"}, {"paper": "../x"}])
def test_a_paper_is_looked_into_like_everything_else(course, tmp_path, field):
    """A key inside a paper, or a name that leads out of the folder, is refused."""
    one = a_paper(tmp_path / "papers" / "A01", "A01", **field)
    code, path = made(tmp_path, "--paper", str(one))
    assert code == 1 and not list(tmp_path.glob("*.zip"))


def test_another_learners_code_in_a_paper_is_refused(course, tmp_path, capsys):
    """As far as this machine's instructor knows who else sits."""
    folder = tmp_path / "instructor"
    folder.mkdir(mode=0o700)
    sitting = new_sitting(folder, "trial-1", date(2099, 1, 1))
    for code in ("A01", "B77"):
        write_record(sitting.personal, key_file(code), "key", {"salt": "cd" * 16})
    one = a_paper(tmp_path / "papers" / "A01", "A01", title="A trial, beside B77")
    assert made(tmp_path, "--paper", str(one))[0] == 1
    assert "paper.json: it holds secret" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [(["x.tar"], "does not end in .zip"), (["no/such/x.zip"], "in a folder that is there"),
     (["x.zip", "--school", "a\nb"], "one line"), (["x.zip", "--paper", "no"], "no paper.json")],
)  # fmt: skip
def test_a_wrong_command_line_is_told_in_a_sentence(course, tmp_path, monkeypatch, capsys, words,
                                                    said):  # fmt: skip
    """The field, the value, and what would be right; nothing is written."""
    monkeypatch.chdir(tmp_path)
    assert main(["bundle", *words]) == 1
    assert said in " ".join(capsys.readouterr().err.split())
    assert not list(tmp_path.glob("*.zip"))


def test_a_stop_while_the_archive_is_written_leaves_the_old_one(course, tmp_path, monkeypatch):
    """The disk fills: a sentence, the older archive, and no piece of the new one."""
    _, path = made(tmp_path)
    before = path.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    (course / "lessons" / "course.toml").write_text('schema = 1\naircraft = "halbrook-40"\n')
    assert made(tmp_path)[0] == 1
    assert path.read_bytes() == before and [p.name for p in tmp_path.glob("*out*")] == ["out.zip"]


# ------------------------------------------------------------------------------------- on arrival
def test_an_edition_runs_where_it_is_unpacked(whole, tmp_path):
    """From a path with blanks and letters: commands are listed, the kit is its own, doctor looks.

    What `open` installs the first time is tried by hand on a fresh machine, with a network.
    """
    home = tmp_path / "Meine Kurse, été"
    with zipfile.ZipFile(whole) as packed:
        packed.extractall(home)
    root = home / "fuel-course"

    def said(*words):
        variables = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", VARIABLE)}
        done = subprocess.run([sys.executable, *words], cwd=root, env=variables, text=True,
                              capture_output=True, timeout=120)  # fmt: skip
        return done.returncode, " ".join((done.stdout + done.stderr).split())

    code, text = said("-m", "fuelkit")
    assert code == 0 and "python -m fuelkit open" in text
    code, text = said("-m", "fuelkit", "doctor")
    assert code == 1 and "The course is not set up yet. Run: python -m fuelkit open" in text
    code, text = said("-m", "fuelkit", "test")
    assert code == 1 and "This is a learner's edition" in text
    show = "import fuelkit; print(fuelkit.__file__); print(fuelkit.open_lesson('lesson-tanks'))"
    code, text = said("-c", show)
    assert code == 0 and str(root) in text


def test_the_command_says_what_it_does():
    """It is thin: what goes in and what is refused is said elsewhere."""
    assert len(Path(bundle.__file__).read_text(encoding="utf-8").splitlines()) < 140
