"""What a learner tries and may not: from a notebook, from a terminal, over the network."""

import json
import os

import pytest

from fuelkit.assess.sheet import Sheet, write_sheet

SECRET = "must not be seen"


@pytest.fixture(scope="module")
def notebook(rig):
    """Give the running server of A07, whose owner is curious."""
    found = rig.notebook("A07")
    found.end_kernels()  # of other tests
    return found


@pytest.fixture(scope="module")
def targets(rig):
    """Give what A07 would like to get at, each with its path; all of it is there."""
    own = rig.home("B12") / "answers/exercise-cruise.B12.json"
    own.parent.mkdir(parents=True, exist_ok=True)
    write_sheet(Sheet("exercise-cruise", "B12", SECRET), own)
    for path in (own, own.parent, own.parent.parent):
        os.chown(path, rig.account("B12").pw_uid, rig.account("B12").pw_gid)
    on_desk = rig.classroom.handed_in / "exercise-cruise.E55.json"
    write_sheet(Sheet("exercise-cruise", "E55", SECRET), on_desk)
    key = rig.classroom.private / "key.json"
    key.write_text(SECRET)
    yield {
        "another's sheet": own,
        "a sheet on the desk": on_desk,
        "the key": key,
        "the class list": rig.classroom.register_file,
        "the hub's keys": rig.classroom.private / "cookie_secret",
        "the hub's list": rig.classroom.private / "hub.sqlite",
    }
    on_desk.unlink()


WANTED = (
    "another's sheet",
    "a sheet on the desk",
    "the key",
    "the class list",
    "the hub's keys",
    "the hub's list",
)


@pytest.mark.parametrize("what", WANTED)
def test_a_notebook_reads_nothing_that_is_not_its_learners(notebook, targets, what):
    """Sheets of others, keys and the class list: opening one is refused by the system."""
    path = targets[what]
    assert path.exists()
    said = notebook.run(f"print(open({str(path)!r}, 'rb').read())")
    assert said.startswith("PermissionError"), said
    said = notebook.run(f"import os; print(os.listdir({str(path.parent)!r}))")
    assert said.startswith("PermissionError"), said


@pytest.mark.parametrize("what", WANTED)
def test_a_terminal_reads_nothing_that_is_not_its_learners(notebook, targets, what):
    """The same from JupyterLab's own terminal."""
    shown = notebook.terminal(f"cat {targets[what]}")
    assert "Permission denied" in shown and "END=1" in shown, shown
    assert SECRET not in shown


def test_no_program_lends_rights(notebook):
    """In a terminal and a notebook su, sudo and the like lend nothing, whatever is installed."""
    said = notebook.run("print(open('/proc/self/status').read())")
    assert "NoNewPrivs:\t1" in said
    assert all(line.split()[1] == "0" * 16 for line in said.splitlines() if "CapEff" in line)
    assert "uid=0" not in notebook.terminal("su -c id </dev/null; sudo -n id")


@pytest.mark.parametrize("name", ["lessons/01_know_the_tanks.ipynb", "lessons/course.toml"])
def test_lessons_as_given_out_cannot_be_written(rig, notebook, name):
    """Neither a notebook nor a terminal can change, replace or add to what all learners get."""
    path = rig.classroom.course / name
    before = path.read_bytes()
    for attempt in (
        f"open({str(path)!r}, 'a')",
        f"open({str(path.with_name('new.ipynb'))!r}, 'w')",
        f"import os; os.rename({str(path)!r}, {str(path)!r} + '.old')",
        f"import os; os.chmod({str(path)!r}, 0o666)",
    ):
        assert notebook.run(attempt).startswith("PermissionError"), attempt
    for line in (f"echo x >> {path}", f"rm -f {path}", f"mv {path} {path}.old"):
        shown = notebook.terminal(line)
        assert "denied" in shown and "END=0" not in shown, shown
    assert path.read_bytes() == before


def test_the_kit_itself_cannot_be_written(rig, notebook):
    """Nor can the code and the packages that other learners' servers run."""
    for path in ("fuelkit/__init__.py", ".venv/bin/planted", "../proxy/planted"):
        said = notebook.run(f"open({str(rig.classroom.course / path)!r}, 'a')")
        assert said.startswith("PermissionError"), said


def test_accounts_tell_no_code(rig, notebook):
    """Everybody can list accounts, processes and homes' names: no learner's code is in them."""
    seen = notebook.run(
        "import subprocess; "
        "print(open('/etc/passwd').read(), subprocess.getoutput('ps -eo user:40,args'))"
    )
    assert rig.settings.prefix in seen
    for code in rig.words:
        others = [line for line in seen.splitlines() if rig.settings.prefix in line]
        words = {w.upper() for line in others for w in line.replace("/", " ").split()}
        assert code not in words, code


def test_environment_and_memory_of_others_are_closed(rig, notebook):
    """The token of another's server stands in its environment, which nobody else may read."""
    rig.notebook("B12")
    (other, *_) = rig.processes(rig.account("B12"))
    for name in ("environ", "mem", "fd", "cwd"):
        said = notebook.run(
            f"import os; p='/proc/{other}/{name}'; "
            "print(os.listdir(p) if p.endswith('fd') else os.readlink(p) if p.endswith('cwd') "
            "else open(p, 'rb').read())"
        )
        assert said.startswith("PermissionError"), (name, said)
    said = notebook.run(f"import os; os.kill({other}, 0)")
    assert said.startswith("PermissionError")


def test_another_learners_server_is_closed(rig, notebook):
    """Neither A07's token nor A07's browser opens the server of B12, nor is the list shown."""
    rig.notebook("B12")
    token = {"Authorization": f"token {notebook.token}"}
    visitor = rig.visitor("A07")
    for path in ("/user/b12/api/contents", "/user/b12/lab", "/hub/admin", "/hub/api/users/b12"):
        for headers in ({}, token):
            status, text = visitor.get(path, **headers)
            assert status in (401, 403, 404), (path, status)
            assert "answers" not in text
    assert json.loads(visitor.get("/hub/api/users", **token)[1]).get("status") == 403
    assert visitor.get("/services/desk/")[0] == 403


def test_nobody_listens_in_on_a_kernel(rig, notebook):
    """A kernel's messages pass through files of its learner's: on its ports nothing is heard."""
    said = notebook.run(
        "import ipykernel; place = ipykernel.get_connection_file(); print(open(place).read())"
    )
    assert json.loads(said)["transport"] == "ipc", said
    run = rig.home("A07").parent / ".run"
    assert run.stat().st_mode & 0o077 == 0
    listener = _LISTENER.format(uid=rig.account("A07").pw_uid)
    with rig.started_as("B12", rig.classroom.python, "-c", listener) as process:
        assert process.stdout.readline() == "ready\n"
        notebook.run(f"for i in range(50): print({SECRET!r}); import time; time.sleep(0.02)")
        heard, faults = process.communicate(timeout=60)
    assert heard == "heard 0\n", heard + faults


_LISTENER = """
import time, zmq
ports = [
    int(row.split()[1].split(":")[1], 16)
    for row in open("/proc/net/tcp").read().splitlines()[1:]
    if row.split()[3] == "0A" and row.split()[7] == "{uid}"
]
assert ports, "the server at least"
ear = zmq.Context().socket(zmq.SUB)
ear.subscribe("")
for port in ports:
    ear.connect(f"tcp://127.0.0.1:{{port}}")
print("ready", flush=True)
heard, end = 0, time.monotonic() + 3
while time.monotonic() < end:
    heard += bool(ear.poll(200)) and bool(ear.recv_multipart())
print("heard", heard)
"""


def test_own_files_are_closed_to_others(rig, notebook):
    """What A07 writes, B12 cannot read, not even where both may look."""
    notebook.run("open('/tmp/fk-left', 'w').write('mine')")
    try:
        done = rig.as_learner("B12", "cat", "/tmp/fk-left")
        assert "Permission denied" in done.stderr and not done.stdout
        done = rig.as_learner("B12", "ls", str(rig.home("A07")))
        assert "Permission denied" in done.stderr and not done.stdout
    finally:
        os.unlink("/tmp/fk-left")
