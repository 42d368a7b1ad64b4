"""The instructor's folder: secrets, keys and the mark log, outside the course, for one reader.

On Linux and macOS the folder has the mode 0700 and its files 0600, from their first byte; what is
wider is refused, not read. Windows has no such modes: there the folder is as private as the
user's profile it stands in, and nothing here checks that. Keep it on a disk of this machine, not
on a shared drive, where other people's programs and locks cannot be relied upon.
"""

import json
import os
import re
import shlex
import stat
from pathlib import Path

from fuelkit.assess.integrity.canonical import IntegrityError, canonical
from fuelkit.assess.sheet import write_atomically

VARIABLE = "FUELKIT_INSTRUCTOR"
"""Environment variable that names another folder than the one in the user's home."""

DEFAULT = "~/.fuelkit-instructor"
FORMAT = "fuelkit instructor's record"
"""Stands in every record here, so that the scan of a learner's bundle knows one when it sees it."""

SCHEMA = 1
LARGEST_BYTES = 50_000_000
_NAME = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ._-]{0,98}[A-Za-z0-9_-])?")
_COURSE = Path(__file__).resolve().parents[3]
_POSIX = os.name == "posix"


def instructor_folder(*courses):
    """Return the instructor's folder; makes it, for one reader, if it is not there.

    Parameters
    ----------
    courses : str or Path
        Folders that learners get, besides the one this kit runs from: neither may hold the
        instructor's folder nor lie in it.

    Raises
    ------
    IntegrityError
        If it lies in a course folder or a course folder in it (links resolved), belongs to
        another user, can be read by others, or cannot be made; the message says what to do.
    """
    folder = _named_folder()
    for course in (_COURSE, *courses):
        _refuse_overlap(folder, Path(course))
    try:
        if not folder.exists():
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _refuse_open(folder)
    except OSError as problem:
        raise IntegrityError(
            f"instructor's folder: '{folder}' cannot be used ({problem.strerror}); set {VARIABLE} "
            "to a folder that only you can read"
        ) from None
    return folder


def folder_if_there():
    """Return the instructor's folder as `instructor_folder`, or None if nobody has made it."""
    return instructor_folder() if _named_folder().exists() else None


def _named_folder():
    """Return the folder that is asked for, with links resolved."""
    named = os.environ.get(VARIABLE, "").strip() or DEFAULT
    try:
        folder = Path(named).expanduser()
    except RuntimeError:
        raise IntegrityError(
            f"instructor's folder: your home folder is not known here; set {VARIABLE} to a full "
            "path"
        ) from None
    if not folder.is_absolute():
        raise IntegrityError(
            f"instructor's folder: {VARIABLE} is {named!r}; it must be a full path, so that it "
            "means the same folder wherever a command is run"
        )
    try:
        return folder.resolve()
    except (OSError, RuntimeError):
        raise IntegrityError(f"instructor's folder: '{folder}' is a link to itself") from None


def _refuse_overlap(folder, course):
    course = course.expanduser().resolve()
    if _is_in(folder, course):
        problem = f"it lies inside the course folder '{course}', which learners get"
    elif _is_in(course, folder):
        problem = f"the course folder '{course}', which learners get, lies inside it"
    else:
        return
    raise IntegrityError(
        f"instructor's folder: '{folder}' cannot be used: {problem}. Set {VARIABLE} to a folder "
        "outside"
    )


def _is_in(inner, outer):
    """Return whether a path is another or lies in it, also where capitals do not matter."""
    if inner == outer or outer in inner.parents:
        return True
    if not outer.exists():
        return False
    return any(p.exists() and p.samefile(outer) for p in (inner, *inner.parents))


def _refuse_open(folder):
    """Refuse a folder that is not the user's alone, with the command that mends it."""
    about = folder.stat()
    if not stat.S_ISDIR(about.st_mode):
        raise IntegrityError(f"instructor's folder: '{folder}' is not a folder")
    if not _POSIX:
        return
    if about.st_uid != os.geteuid():
        raise IntegrityError(f"instructor's folder: '{folder}' belongs to another user")
    if about.st_mode & 0o077:
        raise IntegrityError(
            f"instructor's folder: others can get at '{folder}'. Mend it with: "
            f"chmod 700 {shlex.quote(str(folder))}"
        )


def path_of(folder, name):
    """Return the path of a file in the instructor's folder; its name may lead nowhere else.

    Raises
    ------
    IntegrityError
        If the name has other signs than letters, digits, blank, point, hyphen and underscore.
    """
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        raise IntegrityError(
            f"instructor's file: its name is {str(name)[:60]!r}; it must be letters and digits, "
            "with points, blanks or hyphens inside"
        )
    return Path(folder) / name


def write_private(path, text):
    """Write a text file that only its owner can read; a stop leaves the old or the new one, whole.

    It is written beside its place under a name that nobody else can take, with the mode 0600 from
    the first byte, brought to disk, put in place, and the folder brought to disk.
    """
    write_atomically(Path(path), text)


def read_private(path, largest=LARGEST_BYTES):
    """Return the bytes of a file that only its owner can read.

    Raises
    ------
    IntegrityError
        If it is not there, is a link or no plain file, can be read by others, belongs to another
        user, or is too large.
    """
    with os.fdopen(open_private(path, os.O_RDONLY), "rb") as file:
        data = file.read(largest + 1)
    if len(data) > largest:
        raise IntegrityError(f"'{Path(path).name}': it is larger than {largest} bytes")
    return data


def open_private(path, how):
    """Return the handle of a plain file of the user's alone; made, with the flags for it, so.

    Raises
    ------
    IntegrityError
        As `read_private`.
    """
    path = Path(path)
    try:
        handle = os.open(path, open_flags(how), 0o600)
    except OSError as problem:
        why = "it is a link" if path.is_symlink() else problem.strerror
        raise IntegrityError(f"'{path.name}': it cannot be opened ({why})") from None
    try:
        _refuse_shared(os.fstat(handle), path)
    except BaseException:
        os.close(handle)
        raise
    return handle


def open_flags(how):
    """Return flags to open a file: no link is followed, no pipe waited for, bytes as they are."""
    extra = ("O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_BINARY", "O_NOINHERIT")
    for name in extra:
        how |= getattr(os, name, 0)
    return how


def _refuse_shared(about, path):
    name = Path(path).name
    if not stat.S_ISREG(about.st_mode):
        raise IntegrityError(f"'{name}': it is not a plain file")
    if not _POSIX:
        return
    if about.st_uid != os.geteuid():
        raise IntegrityError(f"'{name}': it belongs to another user")
    if about.st_mode & 0o077:
        raise IntegrityError(
            f"'{name}': others can read it, so it may be known or changed already. If you trust "
            f"it, mend it with: chmod 600 {shlex.quote(str(path))}"
        )


def write_record(folder, name, kind, content):
    """Write a record of the instructor's as JSON; returns its path.

    Parameters
    ----------
    folder : Path
    name : str
        Of the file; see `path_of`.
    kind : str
        What it is, such as "key" or "sitting"; asked for again when it is read.
    content : dict
    """
    path = path_of(folder, name)
    record = {"format": FORMAT, "schema": SCHEMA, "kind": kind, "content": content}
    canonical(record)
    write_private(path, json.dumps(record, indent=1, allow_nan=False) + "\n")
    return path


def read_record(folder, name, kind):
    """Return the content of a record of the instructor's.

    Raises
    ------
    IntegrityError
        If it cannot be read (see `read_private`), is damaged, or is of another kind or edition.
    """
    path = path_of(folder, name)
    data = read_private(path)
    try:
        record = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise IntegrityError(f"'{name}': it is damaged: not a whole JSON file") from None
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise IntegrityError(f"'{name}': it is no record of this kit")
    if type(record.get("schema")) is not int or record["schema"] != SCHEMA:
        raise IntegrityError(
            f"'{name}': its schema is {record.get('schema')!r}; it must be {SCHEMA}"
        )
    if record.get("kind") != kind:
        raise IntegrityError(f"'{name}': it is a {record.get('kind')!r}; it must be a {kind!r}")
    if not isinstance(record.get("content"), dict):
        raise IntegrityError(f"'{name}': its content is missing")
    return record["content"]
