"""Read a data file field by field and collect every fault. Knows TOML tables, no aircraft."""

import difflib
import tomllib
from pathlib import Path

from fuelkit.physics.errors import FuelkitError

REQUIRED = object()
"""Default of a field that the file must give."""

_LARGEST_FILE = 2_000_000
_SMALLEST, _LARGEST = 1e-9, 1e12  # sizes of a number, in any unit of a data file


class DataFileError(FuelkitError, ValueError):
    """A data file is wrong. `faults` lists every fault found, one sentence each."""

    def __init__(self, path, faults):
        self.faults = tuple(faults)
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        super().__init__("\n".join([f"{path}: {count}.", *(f"  {f}" for f in self.faults)]))


def read_toml(path):
    """Return the content of a TOML file as a dict, or raise DataFileError in plain words."""
    path = Path(path)
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise DataFileError(path.name, [f"the file is larger than {_LARGEST_FILE} bytes"])
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise DataFileError(path.name, ["there is no such file; check the name"]) from None
    except IsADirectoryError:
        raise DataFileError(path.name, ["this is a folder; name a file"]) from None
    except (OSError, UnicodeDecodeError) as problem:
        raise DataFileError(path.name, [f"the file cannot be read: {problem}"]) from None
    except (ValueError, RecursionError) as problem:  # ValueError: not TOML, or no such name can be
        hint = "look whether a text there lacks its quotes"
        told = f"this is not a valid TOML file: {problem}; {hint}"
        raise DataFileError(path.name, [told]) from None


def nearest(name, known):
    """Return a hint such as ` Did you mean 'centre'?`, or nothing.

    Examples
    --------
    >>> nearest("center", ["centre", "left inboard"])
    " Did you mean 'centre'?"
    """
    close = difflib.get_close_matches(str(name), [str(k) for k in known], n=1, cutoff=0.6)
    return f" Did you mean '{close[0]}'?" if close else ""


class Table:
    """One table of a data file, read field by field. Faults go to a list that all tables share.

    A field that is wrong gives a harmless value, so that reading goes on and every fault of the
    file is found in one go. Nothing may be built from a file that has faults.
    """

    def __init__(self, content, where, faults, *, inside=""):
        self.where = where
        self.faults = faults
        self._inside = inside  # what the sections in this table are called after
        self._content = content if isinstance(content, dict) else {}
        self._asked = set()
        if not isinstance(content, dict):
            self.fault_here(f"is {content!r}; it must be a table of fields")

    def fault_here(self, text):
        """Record a fault of this table as a whole."""
        self.faults.append(f"{self.where} {text}.")

    def fault(self, field, value, rule):
        """Record a fault of one field: its value and what would be right."""
        shown = repr(value)
        shown = shown if len(shown) <= 60 else shown[:57] + "..."
        self.faults.append(f"{self.where}: {field} is {shown}; {rule}.")

    def __contains__(self, field):
        return field in self._content

    def _take(self, field, default):
        self._asked.add(field)
        if field in self._content:
            return True, self._content[field]
        if default is REQUIRED:
            self.faults.append(f"{self.where}: {field} is missing; add it.")
        return False, None if default is REQUIRED else default

    def text(self, field, default=REQUIRED):
        """Return a text that is not empty and has no line break."""
        given, value = self._take(field, default)
        if not given:
            return "" if value is None and default is REQUIRED else value
        if _is_line(value):
            return value
        self.fault(field, value, "it must be one line of text in quotes")
        return "" if default is REQUIRED else default

    def number(self, field, default=REQUIRED, *, low=None, high=None, above=None):
        """Return a finite number inside its bounds."""
        given, value = self._take(field, default)
        fallback = 1.0 if default is REQUIRED else default
        if not given:
            return fallback
        if isinstance(value, str):
            self.fault(field, value, "it must be a number, without quotes")
        elif not is_number(value):
            self.fault(
                field, value, "it must be a number, of a size between 1e-9 and 1e12 if not 0"
            )
        elif (low is not None and value < low) or (above is not None and value <= above):
            bound = f"at least {low}" if low is not None else f"greater than {above}"
            self.fault(field, value, f"it must be {bound}")
        elif high is not None and value > high:
            self.fault(field, value, f"it must be at most {high}")
        else:
            return float(value)
        return fallback

    def points(self, field, count, default):
        """Return a tuple of points, each of the given number of coordinates."""
        given, value = self._take(field, default)
        if not given:
            return default
        if isinstance(value, list) and all(
            isinstance(point, list) and len(point) == count and all(map(is_number, point))
            for point in value
        ):
            return tuple(tuple(float(v) for v in point) for point in value)
        self.fault(field, value, f"it must be a list of points of {count} numbers each")
        return default

    def numbers(self, field, count, default=REQUIRED):
        """Return a tuple of finite numbers of a given length."""
        given, value = self._take(field, default)
        fallback = (0.0,) * count if default is REQUIRED else default
        if not given:
            return fallback
        if isinstance(value, list) and len(value) == count and all(map(is_number, value)):
            return tuple(float(v) for v in value)
        self.fault(field, value, f"it must be a list of {count} numbers")
        return fallback

    def flag(self, field, default):
        """Return true or false."""
        given, value = self._take(field, default)
        if given and not isinstance(value, bool):
            self.fault(field, value, "it must be true or false")
            return default
        return value

    def choice(self, field, options, default=REQUIRED):
        """Return one of several words."""
        value = self.text(field, default)
        if value in options or (value is default):
            return value
        if value:
            self.fault(field, value, "it must be " + " or ".join(f"'{o}'" for o in options))
        return options[0]

    def texts(self, field, default=REQUIRED):
        """Return a tuple of texts, none empty."""
        given, value = self._take(field, default)
        if not given:
            return () if default is REQUIRED else default
        if isinstance(value, list) and value and all(map(_is_line, value)):
            return tuple(value)
        self.fault(field, value, "it must be a list of texts in quotes, at least one")
        return ()

    def raw(self, field, kind, rule, default=REQUIRED):
        """Return a value of a given Python type that the caller takes apart."""
        given, value = self._take(field, default)
        if given and not isinstance(value, kind):
            self.fault(field, value, rule)
            return kind()
        return kind() if value is None and not given else value

    def table(self, field, default=REQUIRED):
        """Return the sub-table of a field."""
        given, value = self._take(field, default)
        return Table(value if given else {}, f"[{field}]", self.faults)

    def tables(self, field, *, required=False):
        """Return the tables of a repeated section, each known by its name."""
        given, value = self._take(field, REQUIRED if required else [])
        if given and not isinstance(value, list):
            self.fault(field, value, f"it must be repeated sections [[{field}]]")
            value = []
        found = []
        for number, content in enumerate(value or [], start=1):
            name = content.get("name") if isinstance(content, dict) else None
            label = f"'{name}'" if isinstance(name, str) else f"number {number}"
            where = f"{self._inside}{field} {label}"
            found.append(Table(content, where, self.faults, inside=f"{where}, "))
        return found

    def finish(self):
        """Record a fault for each field that nobody asked for: most often a slip of the pen."""
        for field in self._content:
            if field not in self._asked:
                hint = nearest(field, self._asked)
                self.faults.append(f"{self.where}: {field} is not a known field.{hint}")


def _is_line(value):
    return isinstance(value, str) and bool(value.strip()) and value.isprintable()


def is_number(value):
    """Return whether a value is a number of a size that a fuel system can have.

    Examples
    --------
    >>> is_number(0), is_number(2.5), is_number(1e300), is_number("2"), is_number(True)
    (True, True, False, False, False)
    """
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return value == 0 or _SMALLEST < abs(value) < _LARGEST  # false for nan
