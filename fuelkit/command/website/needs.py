"""What Python in the browser needs beside itself, read from `browser.toml` and the runtime's lock.

The runtime has a lock: a list of packages that are known to work with it, each with its file, its
hash and what it depends on. Ours is that list cut down to what the course needs, with the kit and
a few packages added that the runtime does not know.
"""

import json
import re
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from fuelkit.command.faults import CommandError

LOCK = "pyodide-lock.json"
_FILE = Path(__file__).with_name("browser.toml")
_PURE = "none-any.whl"


@dataclass(frozen=True)
class Package:
    """One package that the browser loads. Frozen.

    Attributes
    ----------
    name, version : str
    file : str
        Name of its wheel; "" as long as that is not known.
    imports, depends : tuple of str
        Modules that it gives, and names of packages that it needs.
    sha256 : str
        Hash of the wheel; "" where the index that it is fetched from checks it.
    """

    name: str
    version: str
    file: str = ""
    imports: tuple = ()
    depends: tuple = ()
    sha256: str = ""

    @property
    def is_native(self):
        """Whether its wheel is built for the runtime, so that only the runtime has it."""
        return bool(self.file) and not self.file.endswith(_PURE)


@dataclass(frozen=True)
class Needs:
    """What `browser.toml` says. Frozen."""

    kit: tuple
    kernel: tuple
    core: tuple
    packages: tuple


def read_needs():
    """Return what `browser.toml` says."""
    content = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    packages = tuple(
        Package(p["name"], p["version"], imports=tuple(p["imports"]), depends=tuple(p["depends"]))
        for p in content["packages"]
    )
    return Needs(*(tuple(content[name]) for name in ("kit", "kernel", "core")), packages)


def read_lock(path):
    """Return the whole lock of a runtime as it is written.

    Raises
    ------
    CommandError
        If the file is no lock of a runtime.
    """
    try:
        lock = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(lock["packages"], dict) and isinstance(lock["info"]["python"], str):
            return lock
    except (OSError, ValueError, KeyError, TypeError):
        pass
    raise CommandError(f"{path} is not the list of packages of a runtime. Get the runtime again.")


def packages_of(lock):
    """Return the packages that a lock names, by their plain names."""
    found = (
        Package(
            plain(entry["name"]), entry["version"], entry["file_name"], tuple(entry["imports"]),
            tuple(plain(name) for name in entry["depends"]), entry["sha256"],
        )
        for entry in lock["packages"].values()
        if entry.get("package_type") == "package"
    )  # fmt: skip
    return {package.name: package for package in found}


def plain(name):
    """Return a package's name as indexes write it (PEP 503).

    Examples
    --------
    >>> plain("prompt_toolkit")
    'prompt-toolkit'
    """
    return re.sub(r"[-_.]+", "-", name).lower()


def wanted(lock, own):
    """Return all packages that the course needs, in a fixed order, from a lock and our own list.

    Parameters
    ----------
    lock : dict
    own : iterable of Package
        Those that the lock does not know; the kernel's own wheels among them.

    Raises
    ------
    CommandError
        If a package is known to neither.
    """
    known = packages_of(lock) | {package.name: package for package in own}
    needs = read_needs()
    waiting, found = ["fuelkit", *needs.kernel], {}
    while waiting:
        name = plain(waiting.pop())
        if name in found:
            continue
        if name not in known:
            raise CommandError(
                f"Package {name} is needed in the browser and the runtime does not know it. "
                "Use the runtime that this kit was tested with."
            )
        found[name] = known[name]
        waiting += known[name].depends
    return tuple(found[name] for name in sorted(found))


def locked(lock, packages, hashes):
    """Return the text of the site's own lock.

    Parameters
    ----------
    lock : dict
        The runtime's.
    packages : iterable of Package
        What is there; what one of them needs and is not there is left out of its needs.
    hashes : dict of str to str
        SHA-256 of each wheel by its name.
    """
    there = {package.name for package in packages}
    entries = {
        p.name: _entry(replace(p, depends=tuple(d for d in p.depends if plain(d) in there)), hashes)
        for p in packages
    }
    return json.dumps({"info": lock["info"], "packages": entries}, indent=1, sort_keys=True) + "\n"


def _entry(package, hashes):
    return {
        "name": package.name,
        "version": package.version,
        "file_name": package.file,
        "install_dir": "site",
        "sha256": hashes[package.file],
        "package_type": "package",
        "imports": list(package.imports),
        "depends": [plain(name) for name in package.depends],
        "unvendored_tests": False,
    }
