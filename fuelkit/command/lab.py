"""Start JupyterLab for the course, set up by the project alone: nothing in the user's home counts.

The tests start it through here too, so they see what the learner sees.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

from fuelkit.command.faults import CommandError
from fuelkit.command.install import child_variables

FIRST_PORT = 8888

_CONFIG = Path(__file__).with_name("jupyter")
_START_LIMIT = 90
_FIRST_WORKSPACE = "default-37a8.jupyterlab-workspace"  # JupyterLab's file for "default"
_OPTIONS = (
    "--ServerApp.answer_yes=True",
    "--ServerApp.port_retries=0",
    # What looks beyond this machine, and would put a question to the learner, is off.
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    "--LabApp.extension_manager=readonly",
    "--LabApp.news_url=None",
    "--LanguageServerManager.autodetect=False",
)


def variables(state, **more):
    """Return the environment variables that keep Jupyter's settings in the folder `state`."""
    return child_variables(
        JUPYTER_CONFIG_DIR=str(state / "config"),
        JUPYTER_CONFIG_PATH=str(_CONFIG),
        JUPYTER_DATA_DIR=str(state / "data"),
        JUPYTER_RUNTIME_DIR=str(state / "runtime"),
        IPYTHONDIR=str(state / "ipython"),
        **more,
    )


def start(python, *, root, state, port, token, browser=False, page="", more=()):
    """Start JupyterLab as a child process whose messages go to ``state/lab.log``.

    Parameters
    ----------
    python : Path or str
        The interpreter that has JupyterLab.
    root : Path
        The folder that the learner sees.
    state : Path
        Where Jupyter keeps its own files.
    port : int
        A free one.
    token : str
        The key in the address; handed over unseen by other users of the machine.
    browser : bool
        Whether to open the user's browser.
    page : str
        A notebook to open first, relative to `root`.
    more : sequence of (str, str)
        More environment variables.

    Returns
    -------
    subprocess.Popen
    """
    _lay_out(state / "config" / "lab" / "workspaces")
    command = [python, "-m", "jupyterlab", *_OPTIONS]
    command += [f"--ServerApp.root_dir={root}", f"--ServerApp.port={port}"]
    command += [f"--ServerApp.open_browser={browser}"]
    command += [f"--LabApp.default_url=/lab/tree/{page}" if page else "--LabApp.default_url=/lab"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--ServerApp.allow_root=True")
    with open(state / "lab.log", "wb") as log:
        return subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            cwd=root,
            env=variables(state, JUPYTER_TOKEN=token, **dict(more)),
        )


def _lay_out(workspaces):
    """Have JupyterLab open the first time with its side bar folded: a drawing wants the width."""
    place = workspaces / _FIRST_WORKSPACE
    if not place.exists():
        workspaces.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(_CONFIG / "first_workspace.json", place)


def address(port, token, page=""):
    """Return what to type in a browser to come to a page."""
    place = f"/lab/tree/{page}" if page else "/lab"
    return f"http://localhost:{port}{place}?token={token}"


def wait_until_ready(process, *, port, state):
    """Return when the server answers.

    Raises
    ------
    CommandError
        If it ends or does not answer in time; with the last message of its log.
    """
    end = time.monotonic() + _START_LIMIT
    while time.monotonic() < end and process.poll() is None:
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/api", timeout=5).close()
            return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.1)
    stop(process)
    raise _fault("JupyterLab did not start.", state)


def wait_until_closed(process, *, state):
    """Return when the server has been shut down, from its own menu for example.

    Raises
    ------
    CommandError
        If it came to grief; with the last message of its log.
    """
    if process.wait() != 0:
        raise _fault("JupyterLab has ended by itself.", state)


def _fault(sentence, state):
    log = (state / "lab.log").read_text(encoding="utf-8", errors="replace").strip()
    last = log.splitlines()[-1] if log else "nothing"
    return CommandError(
        f"{sentence} Its last message was: {last}\nTo find out more, run: python -m fuelkit doctor"
    )


def stop(process):
    """End JupyterLab and, through it, its kernels."""
    # On Windows there is only the hard way to end another process, so it first gets the time
    # to end by the Ctrl+C that reached it too; elsewhere a signal asks it to end in order.
    for patience, ask in ((10 if os.name == "nt" else 0, process.terminate), (15, process.kill)):
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(patience)
            return
        ask()
    process.wait()


def free_port(first=FIRST_PORT, *, tries=100):
    """Return the first port from `first` on that nobody uses.

    Raises
    ------
    CommandError
        If all that were tried are in use.
    """
    for port in range(first, min(first + tries, 65536)):
        if _is_free(port):
            return port
    raise CommandError(
        f"Port {first} is in use by another program. "
        "Leave out --port, or choose another number from 1024 to 65535."
    )


def _is_free(port):
    """Whether both names of this machine, old and new style, are free at this port."""
    for family, host in ((socket.AF_INET, "127.0.0.1"), (socket.AF_INET6, "::1")):
        try:
            with socket.socket(family) as probe:
                probe.settimeout(1)
                if probe.connect_ex((host, port)) == 0:
                    return False
        except OSError:
            continue
    return True
