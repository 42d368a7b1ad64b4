"""What goes into the site and where the browser's Python comes from; the rest in tests/browser."""

import hashlib
import json
import shutil
import zipfile
from pathlib import Path

import pytest

from fuelkit.assess.edition.making import EditionError, course_edition
from fuelkit.command import site as command
from fuelkit.command.environment import Environment
from fuelkit.command.faults import CommandError
from fuelkit.command.website import build as building
from fuelkit.command.website.contents import KERNEL, aircraft_there, lay_out
from fuelkit.command.website.first_page import first_page
from fuelkit.command.website.needs import (
    LOCK,
    Package,
    locked,
    packages_of,
    read_lock,
    read_needs,
    wanted,
)
from fuelkit.command.website.runtime import ENTRY, Given, Published
from fuelkit.command.website.wheels import kit_wheel
from tests.browser.site import served

PROJECT = Path(__file__).resolve().parents[2]
FEW = (
    "requirements.txt", "lessons/00_start_here.ipynb", "lessons/06_follow_the_cruise.ipynb",
    "lessons/course.toml", "exercises/06_follow_the_cruise.ipynb", "fuelkit/__init__.py",
    "fuelkit/__main__.py", "fuelkit/aircraft/data/halbrook-180.toml", "fuelkit/command/site.py",
)  # fmt: skip
VERSION = "9.8.7"
BYTES = b"a wheel"
SUM = hashlib.sha256(BYTES).hexdigest()
NO_LISTS = ("", "{", "[]", '{"packages": {}}', '{"packages": [], "info": {}}')


def entry(name, file, *depends):
    """A package as a runtime's list names it."""
    return {
        "name": name, "version": "1.0", "file_name": file, "imports": [name], "sha256": SUM,
        "depends": list(depends), "install_dir": "site", "package_type": "package",
    }  # fmt: skip


LOCKED = {
    "info": {"python": "3.14.2"},
    "packages": {
        "numpy": entry("numpy", "numpy-1.0-cp314-cp314-x.whl"),
        "Prompt": entry("Prompt_er", "prompt-1.0-py3-none-any.whl", "numpy", "far_off"),
    },
}


@pytest.fixture
def runtime(tmp_path):
    """A folder that looks like a runtime."""
    folder = tmp_path / "runtime"
    folder.mkdir()
    (folder / ENTRY).write_text(f'const v="{VERSION}";')
    (folder / LOCK).write_text(json.dumps(LOCKED))
    (folder / "numpy-1.0-cp314-cp314-x.whl").write_bytes(BYTES)
    return folder


@pytest.fixture
def course(tmp_path, monkeypatch):
    """A course of a few files, with what must stay behind beside them."""
    monkeypatch.delenv("FUELKIT_AIRCRAFT", raising=False)
    root = tmp_path / "course"
    for place in FEW:
        (root / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(PROJECT / place, root / place)
    for name in ("solutions", "answers", "marks", ".git"):
        (root / name).mkdir()
        (root / name / "key.json").write_text("{}")
    return root


# ---------------------------------------------------------------------------------- contents
def test_learners_get_lessons_and_exercises_and_nothing_else(course, tmp_path):
    """Notebooks ask for the browser's Python and have no outputs; the rest stays behind."""
    lay_out(course_edition(course, ()), tmp_path / "out")
    found = {p.relative_to(tmp_path / "out").as_posix()
             for p in (tmp_path / "out").rglob("*") if p.is_file()}  # fmt: skip
    assert found == {place for place in FEW if place.startswith(("lessons/", "exercises/"))}
    for path in (tmp_path / "out").rglob("*.ipynb"):
        made = json.loads(path.read_text(encoding="utf-8"))
        assert made["metadata"] == {"kernelspec": KERNEL, "language_info": {"name": "python"}}
        assert not any(cell.get("outputs") for cell in made["cells"])


@pytest.mark.parametrize(
    ("place", "text", "why"),
    [
        ("lessons/answer-key.ipynb", "{}", "it is a key"),
        ("exercises/A07.json", "{}", "of no kind"),
        ("lessons/10_mine.ipynb", "damaged", "no whole notebook"),
        ("lessons/notes.ipynb", '{"cells": [], "note": "a secret of the tests"}', "holds secret"),
    ],
)
def test_what_is_not_for_learners_stops_the_site(course, place, text, why):
    """What was put among the lessons is named, and nothing is made."""
    (course / place).write_text(text)
    with pytest.raises(EditionError, match=why):
        course_edition(course, [b"a secret of the tests"])


def test_an_own_aircraft_goes_with_the_lessons(course, tmp_path):
    """The browser finds the file where Python there looks, and its absence is told at once."""
    assert aircraft_there(course) == "halbrook-180"
    (course / "lessons" / "course.toml").write_text('schema = 1\naircraft = "mine.toml"\n')
    with pytest.raises(EditionError, match="there is no such file"):
        course_edition(course, ())
    shutil.copy(PROJECT / "fuelkit/aircraft/own/starter.toml", course / "lessons" / "mine.toml")
    lay_out(course_edition(course, ()), tmp_path / "out")
    assert aircraft_there(course) == "/drive/lessons/mine.toml"
    assert (tmp_path / "out/lessons/mine.toml").is_file()


def test_the_first_page_links_what_is_there(course, tmp_path):
    """Every lesson and exercise by its heading; no other address."""
    lay_out(course_edition(course, ()), tmp_path / "out")
    page = first_page(tmp_path / "out", 41_000_000)
    assert "lab/index.html?path=lessons/06_follow_the_cruise.ipynb" in page
    assert "Lesson 6: " in page and "Exercise 6" in page and "about 40&nbsp;MB" in page
    assert "//" not in page.replace("// Files", "") and "$" not in page


# ----------------------------------------------------------------------------------- the kit
def test_the_kit_is_packed_alike_each_time(course, tmp_path):
    """Same kit, same bytes; with its data, without the command line."""
    made = [tmp_path / name for name in ("one", "two")]
    for folder in made:
        folder.mkdir()
    one, two = (kit_wheel(course_edition(course, ()), folder) for folder in made)
    assert one == two and one.imports == ("fuelkit",) and "numpy" in one.depends
    assert (made[0] / one.file).read_bytes() == (made[1] / two.file).read_bytes()
    with zipfile.ZipFile(made[0] / one.file) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        (info,) = (name for name in names if name.endswith("RECORD"))
        listed = [row.split(",")[0] for row in archive.read(info).decode().splitlines()]
    assert sorted(listed) == sorted(names)
    assert "fuelkit/aircraft/data/halbrook-180.toml" in names
    assert not [name for name in names if "command" in name or "__main__" in name]


def test_needs_are_followed_to_the_end():
    """Every package is named once, with what it needs; one that nobody knows is named."""
    ours = [
        Package("fuelkit", "1", "fuelkit-1-py3-none-any.whl", ("fuelkit",), ("numpy", "prompt.er")),
        Package("far-off", "1", "far_off-1-py3-none-any.whl"),
    ]
    kernel = [Package(name, "1", f"{name}-1-py3-none-any.whl") for name in read_needs().kernel]
    found = wanted(LOCKED, [*ours, *kernel])
    names = [package.name for package in found]
    assert names == sorted({*names, "fuelkit", "far-off", "numpy", "prompt-er"})
    assert [p.name for p in found if p.is_native] == ["numpy"]
    with pytest.raises(CommandError, match="far-off"):
        wanted(LOCKED, [ours[0], *kernel])


def test_the_site_lists_only_what_it_has():
    """What the runtime lacks is in no list of needs, so that the rest can still be loaded."""
    there = [package for package in packages_of(LOCKED).values() if not package.is_native]
    made = json.loads(locked(LOCKED, there, {there[0].file: "abc"}))
    assert made["info"] == LOCKED["info"] and list(made["packages"]) == ["prompt-er"]
    assert made["packages"]["prompt-er"]["depends"] == []
    assert made["packages"]["prompt-er"]["sha256"] == "abc"


# ------------------------------------------------------------------------------- the runtime
def test_a_runtime_in_a_folder_is_looked_at_first(runtime, tmp_path):
    """No runtime, another version, a damaged file: each is told, with what to do."""
    with pytest.raises(CommandError, match=f"must be the folder with {ENTRY}"):
        Given(tmp_path, VERSION)
    with pytest.raises(CommandError, match=r"not version 9\.8\.70"):
        Given(runtime, VERSION + "0")
    given, to = Given(runtime, VERSION), tmp_path / "to"
    to.mkdir()
    package = packages_of(LOCKED)["numpy"]
    assert given.bring(package.file, to, package.sha256)
    assert not given.bring("absent.whl", to)
    with pytest.raises(CommandError, match="damaged"):
        given.bring(package.file, to, "0" * 64)


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"packages": {}}', '{"packages": [], "info": {}}']
)
def test_a_list_that_is_none_is_refused(text, tmp_path):
    """A damaged list of packages stops the site with a sentence."""
    (tmp_path / LOCK).write_text(text)
    with pytest.raises(CommandError, match="Get the runtime again"):
        read_lock(tmp_path / LOCK)


def test_a_published_runtime_is_fetched_once(runtime, tmp_path, capsys):
    """From a stand-in for its address: kept, not asked for again, and refused if it is another."""
    to, file = tmp_path / "to", "numpy-1.0-cp314-cp314-x.whl"
    to.mkdir()
    with served(runtime) as address:
        published = Published(address, tmp_path / "kept", VERSION)
        assert published.bring(file, to, SUM) and (to / file).read_bytes() == BYTES
        with pytest.raises(CommandError, match="not what the runtime's list says"):
            published.bring(file, to, "0" * 64)
    assert published.bring(file, to, SUM)
    with pytest.raises(
        CommandError, match=rf"(?s)could not be fetched .*pyodide {VERSION}.* --runtime FOLDER"
    ):
        published.bring("other.whl", to)
    assert capsys.readouterr().out.count(f"Fetching {file}") == 2
    assert sorted(p.name for p in (tmp_path / "kept").iterdir()) == [file]


# ------------------------------------------------------------------------------- the building
def test_a_folder_of_the_users_own_is_left_alone(runtime, tmp_path):
    """What is no site of this kit is never replaced."""
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("dear")
    with pytest.raises(CommandError, match="left alone"):
        building.build(Environment(PROJECT, ".venv-none"), mine, Given(runtime, VERSION), VERSION)
    with pytest.raises(CommandError, match="is a file"):
        building.build(Environment(PROJECT), mine / "letter.txt", Given(runtime, VERSION), VERSION)
    assert (mine / "letter.txt").read_text() == "dear"


def test_a_site_that_cannot_be_built_leaves_the_old_one(course, runtime, tmp_path):
    """The old site stays as it was, and nothing is left beside it."""
    old = tmp_path / "web" / "site"
    old.mkdir(parents=True)
    (old / building.MARK).write_text("{}")
    (old / "index.html").write_text("old")
    with pytest.raises(CommandError, match=r"The runtime lacks pyodide\.asm"):
        building.build(Environment(course), old, Given(runtime, VERSION), VERSION)
    assert (old / "index.html").read_text() == "old"
    assert [path.name for path in old.parent.iterdir()] == ["site"]


def test_the_environment_of_the_site_is_apart():
    """What builds the site is never loaded by the course that is installed."""
    assert Environment(PROJECT).folder.name != command.FOLDER
    asked = (PROJECT / "requirements.txt").read_text()
    assert "jupyterlite" not in asked and "jupyterlite" in (PROJECT / command.SITE[0]).read_text()
