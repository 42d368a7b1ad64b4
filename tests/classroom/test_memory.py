"""Memory: what a learner takes, measured as the system shares it out, and what the limit does."""

import contextlib
import os
import resource
from pathlib import Path

import pytest

from fuelkit.classroom.layout import ClassroomError, Settings
from fuelkit.classroom.limits import Limits
from tests.classroom.rig import wait_for

MOST_MB = 220
KERNELS = 20 if os.environ.get("FUELKIT_CLASSROOM") == "all" else 2
FIRST_BOARD = """
from fuelkit.show.lesson import open_lesson
lesson = open_lesson("lesson-cruise")
shown = [lesson.goals(), lesson.starters(), lesson.example(), lesson.board(1)]
print(type(shown[-1]).__name__)
"""


def shared_out(pids):
    """Return the memory of processes, shared pages counted by their share (PSS). [MB]"""
    total = 0
    for pid in pids:
        with contextlib.suppress(OSError):
            for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
                total += int(line.split()[1]) if line.startswith("Pss:") else 0
    return total / 1024


def test_a_learner_takes_at_most_so_much(rig, record_property):
    """A server and the kernel of a lesson with its first board, with others at work beside them."""
    codes = ("A07", "B12") if KERNELS == 2 else tuple(sorted(set(rig.words) - {"INSTRUCTOR"}))
    for code in codes:
        notebook = rig.notebook(code)
        notebook.end_kernels()
        assert "Board" in notebook.run(FIRST_BOARD, notebook.new_kernel("lessons"))
    taken = {code: shared_out(rig.processes(rig.account(code))) for code in codes}
    record_property("megabytes", str(taken))
    print("MB a learner:", {code: round(mb) for code, mb in taken.items()})
    assert all(80.0 < mb <= MOST_MB for mb in taken.values()), taken


def test_many_kernels_at_once(rig):
    """So many kernels, over the learners, all have a lesson open and all answer."""
    codes = sorted(set(rig.words) - {"INSTRUCTOR"})
    codes = codes[:2] if KERNELS == 2 else codes
    kernels = []
    for code in codes:
        notebook = rig.notebook(code)
        while len(notebook.kernels()) < KERNELS // len(codes):
            notebook.new_kernel("lessons")
        kernels += [(notebook, kernel) for kernel in notebook.kernels()]
    assert len(kernels) >= KERNELS
    for notebook, kernel in kernels:
        said = notebook.run("from fuelkit import open_lesson; open_lesson('lesson-tanks')", kernel)
        assert "Error" not in said, said
    assert all(notebook.run("6 * 7", kernel).strip() == "42" for notebook, kernel in kernels)
    every = [pid for code in codes for pid in rig.processes(rig.account(code))]
    print(f"{len(kernels)} kernels of {len(codes)} learners: {shared_out(every):.0f} MB together")
    for code in codes:
        rig.notebook(code).end_kernels()


def test_too_much_memory_ends_the_kernel_alone(rig):
    """Whoever takes more than the limit loses that kernel; server, answers and others go on."""
    notebook, other = rig.notebook("A07"), rig.notebook("B12")
    kernel = notebook.new_kernel()
    notebook.run("x = 1", kernel)
    before = rig.processes(rig.account("A07"))
    mb = rig.settings.memory_mb
    with contextlib.suppress(Exception):
        said = notebook.run(f"x = bytearray(2 * {mb} * 1_000_000)", kernel, patience=20)
        assert "MemoryError" in said, said
    wait_for("the server", notebook.answers)
    assert shared_out(rig.processes(rig.account("A07"))) <= mb
    server = {pid for pid in before if pid in rig.processes(rig.account("A07"))}
    assert server, "the learner's server goes on"
    assert other.run("6 * 7").strip() == "42"


@pytest.mark.parametrize("kind", ["group", "old group", "process"])
def test_each_kind_of_limit_is_written_down(kind, tmp_path):
    """Groups of either version get the limit and take a process in; without any, each is limited.

    The files of the system are stood in for: what a real kernel makes of them is tried above for
    the kind that this machine has.
    """
    if kind == "group":
        (tmp_path / "cgroup.controllers").write_text("cpu memory pids\n")
        (tmp_path / "fuelkit-classroom/x-1").mkdir(parents=True)
        (tmp_path / "fuelkit-classroom/x-1/memory.swap.max").write_text("max")
    if kind == "old group":
        (tmp_path / "memory").mkdir()
        (tmp_path / "memory/memory.limit_in_bytes").write_text("0")
    limits = Limits.of_machine(tmp_path)
    assert limits.kind == kind
    enter = limits.prepared("x-1", 300)
    child = os.fork()
    if not child:
        enter()
        is_limited = resource.getrlimit(resource.RLIMIT_DATA)[0] == 300 << 20
        os._exit(0 if is_limited == (kind == "process") else 1)
    assert os.waitpid(child, 0)[1] == 0
    if kind == "group":
        group = tmp_path / "fuelkit-classroom/x-1"
        assert (group / "memory.max").read_text() == str(300 << 20)
        assert (group / "memory.swap.max").read_text() == "0"
        assert (group / "cgroup.procs").read_text() == str(child)
    if kind == "old group":
        group = tmp_path / "memory/fuelkit-classroom/x-1"
        assert (group / "memory.limit_in_bytes").read_text() == str(300 << 20)
        assert (group / "cgroup.procs").read_text() == str(child)


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"prefix": "Root"}, "prefix"),
        ({"prefix": "x" * 30 + "-"}, "prefix"),
        ({"port": 80}, "port"),
        ({"memory_mb": 10}, "memory"),
        ({"certificate": "a.pem"}, "certificate"),
    ],
)
def test_settings_that_cannot_be_are_named(options, why):
    """Each fault names the option and what would be right."""
    with pytest.raises(ClassroomError, match=why):
        Settings(**options)
