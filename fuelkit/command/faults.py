"""What can go wrong before the course runs, each as a sentence that says how to mend it."""

import errno
import re
import sys
import textwrap

from fuelkit.physics.errors import FuelkitError


class CommandError(FuelkitError):
    """A command cannot go on. The message is all that the user sees of it."""


_DISK = "The disk is full. Free at least 1 GB, then run the same command again."
_WRITE = (
    "The folder of the course cannot be written to. Move the course to a folder of your own "
    "(such as Documents), then run the same command again."
)
_NETWORK = (
    "The packages could not be fetched: the network is away, or it blocks Python's package "
    "index. Check the connection (in a company or school, ask for its proxy settings), then run "
    "the same command again."
)
_FIT = (
    "A package the course needs has no version for Python {python} on this machine{name}. "
    "Install Python 3.11, 3.12 or 3.13 from python.org and run the same command with it."
)
_OTHER = "The packages could not be installed. The last message was: {last}"

# First match wins: with the network away, pip ends with "No matching distribution" as well.
_SIGNS = (
    (r"No space left on device|Errno 28\b|not enough space", _DISK),
    (r"Permission denied|Errno 13\b|Read-only file system|Access is denied", _WRITE),
    (
        r"Failed to establish a new connection|Max retries exceeded|connection broken by"
        r"|Temporary failure in name resolution|getaddrinfo failed|Read timed out|ProxyError"
        r"|ConnectTimeout|Connection (?:refused|reset|aborted)|SSLError|IncompleteRead",
        _NETWORK,
    ),
    (r"No matching distribution found for (?P<name>[\w.-]+)", _FIT),
    (r"Failed to build|metadata-generation-failed|subprocess-exited-with-error", _FIT),
)

_ERRNO_SENTENCES = {
    errno.ENOSPC: _DISK,
    errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC: _DISK,
    errno.EACCES: _WRITE,
    errno.EPERM: _WRITE,
    errno.EROFS: _WRITE,
}


def wrapped(text, *, indent=""):
    """Return sentences broken into lines that a narrow window shows whole."""
    lines = (
        textwrap.fill(
            line, 90, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
        )
        for line in text.splitlines()
    )
    return "\n".join(lines)


def disk_fault(error):
    """Return the `CommandError` for an `OSError` met while writing."""
    sentence = _ERRNO_SENTENCES.get(error.errno)
    return CommandError(f"{sentence} ({error})" if sentence else f"This did not work: {error}")


def install_fault(output, *, python=None, log=None):
    """Return the `CommandError` for what pip, or Python making a .venv, printed before it failed.

    Parameters
    ----------
    output : str
        All that was printed.
    python : str, optional
        Version for the sentence, such as "3.11"; the running one if not given.
    log : Path, optional
        Where the whole output can be read.
    """
    python = python or f"{sys.version_info.major}.{sys.version_info.minor}"
    lines = [line for line in output.splitlines() if line.strip()]
    sentence, name = _OTHER, ""
    for pattern, candidate in _SIGNS:
        found = re.search(pattern, output)
        if found:
            named = found.groupdict().get("name")
            sentence, name = candidate, f" ({named})" if named else ""
            break
    sentence = sentence.format(python=python, name=name, last=lines[-1] if lines else "nothing")
    return CommandError(f"{sentence}\nAll messages are in {log}" if log else sentence)
