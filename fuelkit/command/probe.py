"""Run by the .venv's interpreter for `doctor`: prints as JSON what is installed and if it works.

It is the one module of this room that needs the course's packages.
"""

import json
import sys
from importlib import metadata

from jupyter_client.manager import start_new_kernel
from packaging.requirements import Requirement


def packages(files):
    """Return (name, version or None, wanted range, whether it fits) for each requirement."""
    return [_package(Requirement(line)) for file in files for line in _requirement_lines(file)]


def kernel():
    """Start the kernel that the notebooks use and return the interpreter it says it has."""
    manager, client = start_new_kernel(kernel_name="python3", startup_timeout=60)
    said = []
    try:
        client.execute_interactive(
            "import sys, fuelkit; print(sys.prefix)",
            timeout=60,
            output_hook=lambda message: said.append(message["content"]),
        )
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    return {
        "prefix": "".join(content.get("text", "") for content in said).strip(),
        "error": next((f"{c['ename']}: {c['evalue']}" for c in said if "ename" in c), ""),
    }


def _package(wanted):
    try:
        version = metadata.version(wanted.name)
    except metadata.PackageNotFoundError:
        return wanted.name, None, str(wanted.specifier), False
    return wanted.name, version, str(wanted.specifier), wanted.specifier.contains(version)


def _requirement_lines(file):
    with open(file, encoding="utf-8") as lines:
        return [line.split("#")[0].strip() for line in lines if line.split("#")[0].strip()]


if __name__ == "__main__":
    try:
        answer = kernel()
    except Exception as error:  # whatever stops a kernel is what the doctor asks for
        answer = {"prefix": "", "error": f"{type(error).__name__}: {error}"}
    print(json.dumps({"packages": packages(sys.argv[1:]), "kernel": answer, "prefix": sys.prefix}))
