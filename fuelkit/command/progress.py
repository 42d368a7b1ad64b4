"""Counts that a person can follow: of anything, and of pip's lines. Prints; starts nothing."""

import re
import sys

_FETCHED = re.compile(
    r"^\s*(?:Collecting|Processing) (?:\S*[/\\])?([A-Za-z0-9_.]+(?:-[A-Za-z_]\w*)*)"
)
_SIZE = re.compile(r"^\s*(?:Downloading|Using cached) .*\(([\d.]+) (kB|MB)\)")
_INSTALLING = re.compile(r"^Installing collected packages: (.+)")
_MEGABYTES = {"kB": 0.001, "MB": 1.0}


_NOW_AND_THEN = 50


def counted(what, done, total):
    """Print how much of something is done: over and over on a terminal, else now and then."""
    is_last = done == total
    if sys.stdout.isatty() or is_last or done % _NOW_AND_THEN == 0:
        end = "\n" if is_last else "\r"
        print(f"{what[:1].upper()}{what[1:]}: {done} of {total}   ", end=end, flush=True)


class Progress:
    """The state of one installation, read from pip's lines.

    On a terminal one line is written over and over; in a file or a pipe a line is written now
    and then, since there nothing can be overwritten.

    Attributes
    ----------
    fetched : int
        Packages that pip has found or fetched so far.
    to_install : int
        Packages that pip is putting in place; 0 until it says so.
    """

    _EVERY = 20

    def __init__(self, *, stream=None):
        self._stream = stream or sys.stdout
        self._overwrites = self._stream.isatty()
        self._shown = 0
        self._megabytes = 0.0
        self._name = ""
        self._waiting = False
        self.fetched = 0
        self.to_install = 0

    def read(self, line):
        """Take one line of pip's output."""
        if match := _INSTALLING.match(line):
            self.to_install = len(match[1].split(","))
        elif match := _FETCHED.match(line):
            self.fetched += 1
            self._name = match[1]
            self._waiting = False
            self._show(self._fetching(), now=self.fetched % self._EVERY == 0)
        elif match := _SIZE.match(line):
            self._megabytes += float(match[1]) * _MEGABYTES[match[2]]
            self._show(self._fetching(), now=False)
        elif "Retrying" in line and not self._waiting:
            self._waiting = True
            self._show("No answer from the network yet; trying again", now=True)

    def installed(self, count):
        """Take the number of packages put in place so far."""
        if self.to_install:
            count = min(count, self.to_install)
            percent = 100 * count // self.to_install
            self._show(
                f"Installing: {count} of {self.to_install} packages ({percent} %)", now=False
            )

    def finish(self):
        """Close the line; called when pip has ended well."""
        if self.to_install:
            self._show(f"Installed {self.to_install} packages", now=True)
        if self._overwrites and self._shown:
            self._stream.write("\n")
            self._stream.flush()

    def _fetching(self):
        size = f", {self._megabytes:.0f} MB" if self._megabytes >= 1 else ""
        return f"Fetching: {self.fetched} packages{size} ({self._name})"

    def _show(self, text, *, now):
        if self._overwrites:
            self._stream.write("\r  " + text.ljust(self._shown))
            self._shown = len(text)
        elif now:
            self._stream.write(f"  {text}\n")
        self._stream.flush()
