"""Run the hub: started, watched, started again should it fall over, and stopped in order."""

import contextlib
import os
import signal
import ssl
import subprocess
import time
import urllib.request
from pathlib import Path

from fuelkit.assess.integrity.lock import taken
from fuelkit.classroom.layout import VARIABLE, ClassroomError

_LOCK = "hub.lock"
_START_LIMIT = 90.0  # s
_FALLS = 5  # within _FALLS_WITHIN seconds: then something is wrong that a new start does not mend
_FALLS_WITHIN = 120.0
_STOP_LIMIT = 60.0


class Hub:
    """The hub of a classroom, while this program keeps it running."""

    def __init__(self, classroom, settings):
        self.classroom, self.settings = classroom, settings
        self._process = None

    @property
    def address(self):
        """What is typed into a browser on this machine."""
        scheme = "https" if self.settings.certificate else "http"
        host = self.settings.address
        host = "127.0.0.1" if host == "0.0.0.0" else host
        return f"{scheme}://{host}:{self.settings.port}/"

    @contextlib.contextmanager
    def alone(self):
        """Hold the classroom's lock, which the hub shares: there is never a second one.

        Raises
        ------
        ClassroomError
            If a hub is running.
        """
        with open(self.classroom.private / _LOCK, "ab") as file:
            if not taken(file.fileno()):
                raise ClassroomError(
                    "The classroom is running already. To stop it: python3 -m fuelkit classroom "
                    "--stop"
                )
            self._lock = file.fileno()
            yield

    def start(self):
        """Start the hub and return when it answers."""
        _forget_stranger(self.classroom.private / "proxy.pid", str(self.classroom.proxy))
        variables = {
            name: os.environ[name] for name in ("LANG", "LC_ALL", "TZ") if name in os.environ
        }
        with open(self.classroom.log, "ab", opener=_private) as log:
            self._process = subprocess.Popen(
                [
                    *(self.classroom.python, "-m", "jupyterhub", "-f"),
                    self.classroom.course / "fuelkit/classroom/data/jupyterhub_config.py",
                ],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                cwd=self.classroom.private,
                start_new_session=True,
                pass_fds=(self._lock,),
                env={
                    **variables,
                    VARIABLE: str(self.classroom.folder),
                    "PATH": f"{self.classroom.python.parent}:/usr/local/sbin:/usr/local/bin:"
                    "/usr/sbin:/usr/bin:/sbin:/bin",
                    "PYTHONNOUSERSITE": "1",
                    "PYTHONUTF8": "1",
                },
            )
        self._wait_until_ready()

    def _wait_until_ready(self):
        end = time.monotonic() + _START_LIMIT
        while time.monotonic() < end and self._process.poll() is None:
            if answers(f"{self.address}hub/api/"):  # through the proxy, as browsers come
                return
            time.sleep(0.1)
        self.stop()
        raise ClassroomError(f"The hub did not start. Its messages are in {self.classroom.log}.")

    def keep(self, tell=print):
        """Return when the hub was stopped in order; should it fall over, start it again.

        Learners' servers outlast a fall of the hub, and it finds them again.
        """
        falls = []
        while self._process.wait() != 0:
            falls = [t for t in falls if t > time.monotonic() - _FALLS_WITHIN] + [time.monotonic()]
            if len(falls) > _FALLS:
                raise ClassroomError(
                    f"The hub ended {len(falls)} times in a row. Its messages are in "
                    f"{self.classroom.log}."
                )
            tell("The hub has ended by itself and is started again; no answer is lost.")
            self.start()

    def stop(self):
        """End the hub and, through it, learners' servers, proxy and desk."""
        if self._process is None:
            return
        end(self._process.pid, self._process.poll)
        # A hub that was killed has left its proxy behind.
        pid = _pid(self.classroom.private / "proxy.pid")
        if pid is not None and _is(pid, str(self.classroom.proxy)):
            end(pid, lambda: None if _is(pid, str(self.classroom.proxy)) else 0)


def stop_running(classroom):
    """Stop a hub that another run of the command started; whether there was one."""
    with open(classroom.private / _LOCK, "ab") as file:
        if taken(file.fileno()):
            return False
    pid = _pid(classroom.private / "hub.pid")
    if pid is None or not _is(pid, "jupyterhub"):
        raise ClassroomError(
            "The classroom is running, but which process it is cannot be found; look for "
            "jupyterhub in the list of processes."
        )
    end(pid, lambda: None if Path(f"/proc/{pid}").exists() else 0)
    return True


def end(pid, poll):
    """Ask a process to end, in order first; return when it has."""
    for ask, patience in ((signal.SIGTERM, _STOP_LIMIT), (signal.SIGKILL, 10.0)):
        if poll() is not None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, ask)
        limit = time.monotonic() + patience
        while poll() is None and time.monotonic() < limit:
            time.sleep(0.05)


def is_running(classroom):
    """Whether a hub of this classroom is running."""
    if not (classroom.private / _LOCK).exists():
        return False
    with open(classroom.private / _LOCK, "ab") as file:
        return not taken(file.fileno())


def answers(address):
    """Whether the page at an address of this machine is there."""
    open_to_all = ssl.create_default_context()
    open_to_all.check_hostname, open_to_all.verify_mode = False, ssl.CERT_NONE
    opener = urllib.request.build_opener(
        urllib.request.ProxyHandler({}), urllib.request.HTTPSHandler(context=open_to_all)
    )
    try:
        opener.open(address, timeout=5).close()
    except OSError:
        return False
    return True


def _forget_stranger(pid_file, sign):
    """Remove a note of a process that is now another one, so that the hub does not stop that."""
    pid = _pid(pid_file)
    if pid is not None and not _is(pid, sign):
        pid_file.unlink(missing_ok=True)


def _pid(path):
    try:
        return int(path.read_text())
    except (OSError, ValueError):
        return None


def _is(pid, sign):
    try:
        return sign.encode() in Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return False


def _private(path, flags):
    return os.open(path, flags, 0o600)
