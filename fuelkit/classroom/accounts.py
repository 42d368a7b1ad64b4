"""System accounts: one a learner, one for the desk, one for the proxy. None can log in."""

import contextlib
import os
import pwd
import signal
import subprocess
import time
from pathlib import Path

from fuelkit.classroom.layout import ClassroomError

_SHELL = "/usr/sbin/nologin"


def account(name):
    """Return what the system knows of an account, or None."""
    try:
        return pwd.getpwnam(name)
    except KeyError:
        return None


def make_account(name, home):
    """Make sure that there is an account with this home; it has no password and no shell.

    Raises
    ------
    ClassroomError
        If there is one of that name that is not the classroom's, or none can be made.
    """
    found = account(name)
    if found is None:
        _run(
            "useradd", "--user-group", "--no-create-home", "--home-dir", str(home),
            "--shell", _SHELL, "--no-log-init", "-K", "SUB_UID_COUNT=0", "-K", "SUB_GID_COUNT=0",
            "--comment", "fuelkit classroom", name,
        )  # fmt: skip
        found = account(name)
    if found.pw_dir != str(home):
        raise ClassroomError(
            f"There is an account '{name}' on this machine that is not this classroom's (its home "
            f"is {found.pw_dir}). Choose other names with --prefix."
        )
    return found


def make_folder(path, mode, owner=None):
    """Make a folder with this mode and owner. What stands above it belongs to root alone.

    Raises
    ------
    ClassroomError
        If there is a link or a file in its place.
    """
    path.mkdir(mode=0o700, exist_ok=True)
    handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        about = owner or pwd.getpwuid(os.geteuid())
        os.fchown(handle, about.pw_uid, about.pw_gid)
        os.fchmod(handle, mode)
    finally:
        os.close(handle)


def remove_account(name, home):
    """Take an account away, if it is the classroom's; nothing happens where there is none."""
    found = account(name)
    if found is None or found.pw_dir != str(home):
        return
    _end_processes(found.pw_uid)
    _run("userdel", name)


def _end_processes(uid):
    """Kill what an account still runs; return when nothing is left, or after some seconds."""
    for _ in range(100):
        left = list(_processes(uid))
        for pid in left:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        if not left:
            return
        time.sleep(0.1)


def _processes(uid):
    for place in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if place.stat().st_uid == uid:
                yield int(place.name)


def _run(*command):
    try:
        done = subprocess.run(command, capture_output=True, text=True)
    except FileNotFoundError:
        raise ClassroomError(
            f"The program '{command[0]}' is missing, which makes accounts. On Debian: apt install "
            "passwd"
        ) from None
    if done.returncode:
        raise ClassroomError(f"{command[0]} says: {done.stderr.strip() or done.stdout.strip()}")
