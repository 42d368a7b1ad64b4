"""`open` starts JupyterLab on the first page, tells how to come to it, and ends in order."""

import os
import re
import signal
import socket
import urllib.error
import urllib.request
from pathlib import Path

import psutil
import pytest

from fuelkit.command import lab
from fuelkit.command.faults import CommandError
from fuelkit.command.open import first_page

_POSIX = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX systems")


def _opened(course, *arguments):
    """Start `open` and read what it says until the course is open; give its address too."""
    process, said = course.start("open", "--no-browser", *arguments), []
    for line in process.stdout:
        said.append(line)
        if "To end, press Ctrl+C" in line:
            break
    return process, "".join(said), re.search(r"http://\S+", "".join(said))[0]


@_POSIX
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_open_tells_the_address_and_ends_in_order(furnished, how):
    """The address leads to the first page, for its holder only; then all processes end."""
    lessons = furnished.root / "lessons"
    lessons.mkdir()
    (lessons / "02_second.ipynb").write_text("{}")
    (lessons / "01_first.ipynb").write_text("{}")

    process, said, address = _opened(furnished)
    try:
        children = psutil.Process(process.pid).children(recursive=True)
        assert "The course is open. Copy this address into a browser:" in said
        assert "/lab/tree/lessons/01_first.ipynb?token=" in address
        assert urllib.request.urlopen(address, timeout=30).status == 200
        place, token = address.split("/lab/tree/")[0], address.split("token=")[1]
        contents = f"{place}/api/contents/lessons"
        assert b"02_second" in urllib.request.urlopen(f"{contents}?token={token}").read()
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(contents, timeout=30)
        assert not any(token in word for child in children for word in child.cmdline())
    finally:
        process.send_signal(how)
        rest, _ = process.communicate(timeout=60)

    assert process.returncode == 0
    assert rest.split() == ["Closing", "the", "course", "...", "The", "course", "is", "closed."]
    assert not any(child.is_running() for child in children)


def test_a_lab_that_does_not_start_is_told_with_its_last_words(course):
    """The .venv of this course has no JupyterLab in it."""
    code, output = course.run("open", "--no-browser")

    assert code == 1
    assert "JupyterLab did not start. Its last message was:" in output
    assert "No module named jupyterlab" in output
    assert output.endswith("run: python -m fuelkit doctor")


def test_a_port_in_use_is_passed_over_or_told():
    """Without a wish the next free one is taken; a wish that cannot be met is answered."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]

        assert lab.free_port(port) > port
        with pytest.raises(CommandError, match=f"Port {port} is in use.*Leave out --port"):
            lab.free_port(port, tries=1)


@pytest.mark.parametrize("port", ["80", "65536", "0", "-1", "x", ""])
def test_a_port_that_is_none_is_refused(bare_course, port):
    """Before anything is installed."""
    code, output = bare_course.run("open", f"--port={port}")

    assert code == 2
    assert f"'{port}' is no port; give a number from 1024 to 65535" in output
    assert not bare_course.environment.folder.exists()


def test_the_first_page_is_the_start_page_or_else_the_first_lesson(tmp_path):
    """An empty course has none."""
    assert first_page(tmp_path) == ""
    (tmp_path / "lessons").mkdir()
    for name in ("06_cruise", "04_start"):
        (tmp_path / "lessons" / f"{name}.ipynb").touch()
    assert first_page(tmp_path) == "lessons/04_start.ipynb"
    (tmp_path / "lessons" / "00_start_here.ipynb").touch()
    assert first_page(tmp_path) == "lessons/00_start_here.ipynb"


def test_jupyter_keeps_nothing_in_the_users_home(tmp_path):
    """Each folder that Jupyter writes to is one of the project's."""
    variables = lab.variables(tmp_path)

    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR"):
        assert Path(variables[name]).is_relative_to(tmp_path)


def test_packages_of_other_pythons_are_kept_out(monkeypatch, tmp_path):
    """What a user has set for another Python does not count in the course's own."""
    monkeypatch.setenv("PYTHONPATH", "elsewhere")

    assert "PYTHONPATH" not in lab.variables(tmp_path)
