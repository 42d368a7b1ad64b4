"""Start a learner's server: run by the learner's own account, first renews the working copy."""

import os
import shutil
import sys
from pathlib import Path

from fuelkit.classroom.layout import Classroom
from fuelkit.classroom.working_copy import TOLD, renew

_FIRST_PAGE = "/lab/tree/lessons/00_start_here.ipynb"
_CHANGED_PAGE = f"/lab/tree/{TOLD.replace(' ', '%20')}?factory=Markdown%20Preview"
_FIRST_WORKSPACE = "default-37a8.jupyterlab-workspace"  # JupyterLab's file for "default"


def main(arguments):
    """Renew the copy, choose the first page, and become the server."""
    course, home = Classroom.of_variable().course, Path.home()
    changed = renew(course, home / "course")
    given = Classroom.of_variable().given / home.name
    changed += renew(given, home / "course", folders=("papers",), record=".given-papers.json")
    _lay_out(course, home)
    os.environ["JUPYTERHUB_DEFAULT_URL"] = _CHANGED_PAGE if changed else _FIRST_PAGE
    # A grammar for addresses, which nothing here needs: without it a server starts in half the
    # time and takes 16 MB less.
    sys.modules["rfc3987_syntax"] = None
    _serve(arguments)


def _serve(arguments):
    """Run JupyterHub's server for one user."""
    from jupyterhub.singleuser import main as serve

    sys.argv = ["jupyterhub-singleuser", *arguments]
    serve()


def _lay_out(course, home):
    """Have JupyterLab open the first time with its side bar folded: a drawing wants the width."""
    place = home / ".jupyter/lab/workspaces" / _FIRST_WORKSPACE
    if not place.exists():
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(course / "fuelkit/command/jupyter/first_workspace.json", place)


if __name__ == "__main__":
    main(sys.argv[1:])
