"""Build the site: everything is made in a hidden folder beside the target, then put in its place.

Until then the old site stays as it is. A stop in the very instant of the exchange leaves it in that
hidden folder, under the name `old`; half a site is never left in the target.
"""

import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from fuelkit.assess.choice import VARIABLE as AIRCRAFT
from fuelkit.assess.edition.making import course_edition
from fuelkit.assess.sheet import write_atomically
from fuelkit.command.faults import CommandError
from fuelkit.command.install import child_variables
from fuelkit.command.website.contents import aircraft_there, lay_out
from fuelkit.command.website.first_page import first_page
from fuelkit.command.website.needs import LOCK, locked, read_lock, read_needs, wanted
from fuelkit.command.website.runtime import digest
from fuelkit.command.website.wheels import kernel_packages, kernel_wheels, kit_wheel, pure_wheels

MARK = "fuelkit-site.json"
"""In every site that was made here; a folder without it is never replaced."""

_HERE = Path(__file__).parent
_WORKSPACE = _HERE.parent / "jupyter" / "first_workspace.json"
_KERNEL_PLUGIN = "@jupyterlite/pyodide-kernel-extension:kernel"
_LAST = 2000
_PAGE = 8_000_000  # bytes; the notebook page itself, about


def build(environment, target, runtime, version, *, secrets=(), incomplete=False):
    """Build the site into a folder; return names of packages that the runtime lacks.

    Parameters
    ----------
    environment : Environment
        With what `requirements.txt` beside this file asks for.
    target : Path
        A new folder, an empty one, or a site that was made here before.
    runtime : Given or Published
    version : str
        Of the runtime.
    secrets : sequence of bytes
        What must not occur in any file that is given out.
    incomplete : bool
        Build also if the runtime lacks packages; lessons then stop where they need one.

    Raises
    ------
    CommandError
        With a sentence that says what is wrong and how to mend it.
    """
    _refuse_foreign(target)
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=f".{target.name}.") as work:
        plan, made = Path(work) / "plan", Path(work) / "site"
        contents = plan / "course"
        contents.mkdir(parents=True)
        print("  Lessons and exercises", flush=True)
        edition = course_edition(environment.root, secrets)
        lay_out(edition, contents)
        print("  Python for the browser", flush=True)
        lacking = _lay_out_runtime(environment, runtime, edition, plan, incomplete=incomplete)
        _write_settings(plan, aircraft_there(environment.root))
        print("  The site itself", flush=True)
        _run(environment, plan, made)
        write_atomically(made / "index.html", first_page(contents, _loaded(plan)))
        mark = {"schema": 1, "runtime": version, "lacking": list(lacking)}
        write_atomically(made / MARK, json.dumps(mark, indent=1) + "\n")
        _put_in_place(made, target)
    return lacking


def _refuse_foreign(target):
    if target.exists() and not target.is_dir():
        raise CommandError(f"'{target}' is a file. Name a folder for the site.")
    if target.is_dir() and any(target.iterdir()) and not (target / MARK).is_file():
        raise CommandError(
            f"'{target}' holds something else than a site of this kit, so it is left alone. "
            "Name a new folder."
        )


def _lay_out_runtime(environment, runtime, edition, plan, *, incomplete):
    """Put the runtime and all wheels where the builder looks for them; return what it lacks."""
    folder = plan / "static" / "pyodide"
    folder.mkdir(parents=True)
    kept = environment.folder / "wheels"
    for name in read_needs().core:
        if not runtime.bring(name, folder):
            raise CommandError(f"The runtime lacks {name}. Get the runtime again.")
    lock = read_lock(folder / LOCK)
    kernel = kernel_wheels(environment)
    own = [kit_wheel(edition, folder), *kernel_packages(kernel), *read_needs().packages]
    ours = {"fuelkit", *kernel}
    packages = wanted(lock, own)
    native = [p for p in packages if p.is_native]
    lacking = tuple(p.name for p in native if not runtime.bring(p.file, folder, p.sha256))
    if lacking and not incomplete:
        raise CommandError(
            f"The runtime lacks {', '.join(lacking)}, without which no lesson runs. "
            "Give the folder of the whole runtime."
        )
    python = ".".join(lock["info"]["python"].split(".")[:2])
    pure = [p for p in packages if not p.is_native and p.name not in ours]
    fetched = pure_wheels(environment, pure, kept, python)
    for path in [*kernel.values(), *(kept / p.file for p in fetched)]:
        shutil.copyfile(path, folder / path.name)
    there = [p for p in native if p.name not in lacking]
    there += [*fetched, *(p for p in packages if p.name in ours)]
    hashes = {p.file: digest(folder / p.file) for p in there}
    write_atomically(folder / LOCK, locked(lock, there, hashes))
    return lacking


def _loaded(plan):
    """How much a browser loads before the first cell, about. [bytes]"""
    return sum(path.stat().st_size for path in (plan / "static").rglob("*")) + _PAGE


def _write_settings(plan, aircraft):
    """Write what the builder and the site read as their settings."""
    config = {"LiteBuildConfig": {
        "contents": [str(plan / "course")], "apps": ["lab"], "no_sourcemaps": True,
        "workspaces": [str(_WORKSPACE)],
    }}  # fmt: skip
    write_atomically(plan / "jupyter_lite_config.json", json.dumps(config, indent=1))
    settings = json.loads((_HERE / "site_settings.json").read_text(encoding="utf-8"))
    kernel = settings["jupyter-config-data"]["litePluginSettings"][_KERNEL_PLUGIN]
    variables = {AIRCRAFT: aircraft} if aircraft else {}
    kernel["loadPyodideOptions"] = {"packages": list(read_needs().kernel), "env": variables}
    write_atomically(plan / "jupyter-lite.json", json.dumps(settings, indent=1))


def _run(environment, plan, made):
    """Run the site builder; a failure becomes a sentence, its messages are kept."""
    log = environment.folder / "site.log"
    state = plan / "state"
    own = {f"JUPYTER_{name}_DIR": str(state) for name in ("CONFIG", "DATA", "RUNTIME")}
    command = [environment.python, "-m", "jupyterlite_core", "build", "--output-dir", made]
    with open(log, "wb") as messages:
        done = subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=messages,
            stderr=subprocess.STDOUT,
            cwd=plan,
            env=child_variables(**own, JUPYTER_PATH=str(state)),
        )
    if done.returncode or not (made / "jupyter-lite.json").exists():
        last = log.read_text(encoding="utf-8", errors="replace").strip()[-_LAST:].splitlines()
        said = last[-1] if last else "nothing"
        raise CommandError(f"The site could not be built. The last message was: {said}\nSee {log}")


def _put_in_place(made, target):
    """Put the new site where the old one was."""
    old = made.with_name("old")
    if target.exists():
        os.replace(target, old)
    os.replace(made, target)
