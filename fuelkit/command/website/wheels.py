"""Wheels for the browser: the kit's own, made here, and pure Python ones from Python's index."""

import subprocess
from base64 import urlsafe_b64encode
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import fuelkit
from fuelkit.assess.edition.making import zipped
from fuelkit.command.faults import CommandError, install_fault
from fuelkit.command.install import child_variables
from fuelkit.command.website.needs import Package, plain, read_needs

_KERNEL = "share/jupyter/labextensions/@jupyterlite/pyodide-kernel-extension/static/pypi"
# The command line and the classroom server, in a browser.
_NO_USE = ("fuelkit/command/", "fuelkit/classroom/", "fuelkit/__main__.py")
_PIP = ("-m", "pip", "download", "--quiet", "--no-deps", "--only-binary=:all:", "--no-input",
        "--disable-pip-version-check", "--implementation", "py", "--abi", "none",
        "--platform", "any")  # fmt: skip


def kit_wheel(edition, folder):
    """Make the kit's wheel in a folder; return its `Package`.

    Parameters
    ----------
    edition : dict of str to bytes
        The files of a learner's edition by their paths.
    folder : Path
    """
    name = f"fuelkit-{fuelkit.__version__}"
    files = {place: edition[place] for place in sorted(edition) if _is_of_kit(place)}
    info = f"{name}.dist-info"
    files[f"{info}/METADATA"] = (
        f"Metadata-Version: 2.1\nName: fuelkit\nVersion: {fuelkit.__version__}\n".encode()
    )
    files[f"{info}/WHEEL"] = b"Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    files[f"{info}/RECORD"] = _record(files, f"{info}/RECORD")
    file = f"{name}-py3-none-any.whl"
    (folder / file).write_bytes(zipped(files))
    return Package("fuelkit", fuelkit.__version__, file, ("fuelkit",), read_needs().kit)


def _is_of_kit(place):
    return place.startswith("fuelkit/") and not place.startswith(_NO_USE)


def _record(files, itself):
    """The list of a wheel's files with their hashes (PEP 376, PEP 427)."""
    lines = []
    for name, content in files.items():
        told = urlsafe_b64encode(sha256(content).digest()).rstrip(b"=").decode()
        lines.append(f"{name},sha256={told},{len(content)}")
    return "\n".join([*lines, f"{itself},,", ""]).encode()


def kernel_wheels(environment):
    """Return the paths of the wheels that come with the notebook's kernel, by package."""
    folder = environment.folder / _KERNEL
    found = {plain(path.name.split("-")[0]): path for path in sorted(folder.glob("*.whl"))}
    return {name: found[name] for name in read_needs().kernel if name in found}


def kernel_packages(wheels):
    """Return the packages of these wheels."""
    needs = {"pyodide-kernel": ("comm", "ipython"), "piplite": ("micropip",)}
    return [
        Package(name, path.name.split("-")[1], path.name, (name.replace("-", "_"),),
                needs.get(name, ()))
        for name, path in wheels.items()
    ]  # fmt: skip


def pure_wheels(environment, packages, kept, python):
    """Fetch pure Python wheels that are not kept yet; return the packages with their files.

    Parameters
    ----------
    environment : Environment
        Whose pip fetches them.
    packages : sequence of Package
    kept : Path
        Where they are kept, so that the next site needs no network.
    python : str
        Version of Python in the browser, such as "3.14".

    Raises
    ------
    CommandError
        If one cannot be fetched.
    """
    kept.mkdir(parents=True, exist_ok=True)
    missing = [package for package in packages if _kept(package, kept) is None]
    if missing:
        print(f"  Fetching {len(missing)} packages for the browser", flush=True)
        named = [f"{package.name}=={package.version}" for package in missing]
        done = subprocess.run(
            [environment.python, *_PIP, "--python-version", python, "--dest", kept, *named],
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            env=child_variables(),
        )
        if done.returncode:
            raise install_fault(done.stdout + done.stderr, python=python)
    return [_found(package, kept) for package in packages]


def _found(package, kept):
    path = _kept(package, kept)
    if path is None:
        raise CommandError(f"{package.name} {package.version} was fetched and is not there.")
    return replace(package, file=path.name)


def _kept(package, kept):
    """The wheel of a package in a folder, or None."""
    head = f"{package.name}-{package.version}-".replace("-", "_")
    for path in Path(kept).glob("*none-any.whl"):
        if path.name.lower().replace("-", "_").replace(".", "_").startswith(head.replace(".", "_")):
            return path
    return None
