"""A learner's own copy of the course: given once, renewed when a lesson changes, never overwritten.

It runs as the learner, in the learner's home, and reads what everybody may read. So nothing that
stands in a home, links included, can make root read or write anywhere.
"""

import hashlib
import json
from datetime import date

from fuelkit.assess.sheet import write_atomically, write_bytes_atomically

FOLDERS = ("lessons", "exercises")
"""What is copied of the course. Answers stand beside it and are never touched."""

TOLD = "What has changed.md"
_RECORD = ".given.json"
_SCHEMA = 1
_TITLE = """# What has changed

Your instructor has changed these pages. You have the new ones. What you had answered is kept and
comes back when you open them. Where you had changed a page yourself, your own stands beside the new
one.
"""


def renew(course, copy, today=None, folders=FOLDERS, record=_RECORD):
    """Bring a working copy up to date with the course as it is given out now.

    Parameters
    ----------
    course : Path
        As it is given out.
    copy : Path
        The learner's; made if it is not there.
    today : date, optional
    folders : sequence of str
        What is copied.
    record : str
        Name of the file that keeps what was given.

    Returns
    -------
    tuple of str
        Pages that the learner had and that are new now; also told in the file `TOLD`.
    """
    copy.mkdir(parents=True, exist_ok=True)
    given, changed = _read_record(copy / record), []
    had_any = bool(given)
    for original in _originals(course, folders):
        name = original.relative_to(course).as_posix()
        meaning = _meaning(original)
        if given.get(name) == meaning and (copy / name).exists():
            continue
        kept = _put_beside(copy / name, given.get(name), today or date.today())
        _copy(original, copy / name)
        if had_any and given.get(name) != meaning:
            changed.append(f"{name} (your own: {kept})" if kept else name)
        given[name] = meaning
        _write_record(copy / record, given)
    if changed:
        _tell(copy / TOLD, changed, today or date.today())
    return tuple(changed)


def _originals(course, folders):
    for folder in folders:
        for path in sorted((course / folder).rglob("*")):
            inner = path.relative_to(course).parts
            if path.is_file() and not any(part.startswith(".") for part in inner):
                yield path


def _put_beside(path, given, today):
    """Rename a copy that the learner has changed; return its new name, or nothing."""
    if not path.exists() or _meaning(path) == given:
        return ""
    for number in range(1, 1000):
        more = f" {number}" if number > 1 else ""
        kept = path.with_name(f"{path.stem} (mine, {today}{more}){path.suffix}")
        if not kept.exists():
            path.rename(kept)
            return kept.name
    raise OSError(f"there is no free name beside '{path.name}'")


def _meaning(path):
    """Return a fingerprint of what a file says: of a notebook its cells, not what they showed."""
    data = path.read_bytes()
    if path.suffix == ".ipynb":
        try:
            cells = [
                [cell["cell_type"], "".join(cell["source"])] for cell in json.loads(data)["cells"]
            ]
            data = json.dumps(cells).encode()
        except (ValueError, KeyError, TypeError):
            pass  # damaged: then it is what it is
    return hashlib.sha256(data).hexdigest()


def _copy(original, place):
    place.parent.mkdir(parents=True, exist_ok=True)
    write_bytes_atomically(place, original.read_bytes())


def _tell(path, changed, today):
    lines = "\n".join(f"- {name}" for name in changed)
    before = path.read_text("utf-8").removeprefix(_TITLE) if path.exists() else ""
    write_atomically(path, f"{_TITLE}\n## {today}\n\n{lines}\n{before}")


def _read_record(path):
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        return dict(content["given"]) if content["schema"] == _SCHEMA else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def _write_record(path, given):
    write_atomically(path, json.dumps({"schema": _SCHEMA, "given": given}) + "\n")
