"""The file beside the mark log that holds what is personal, so that a purge can take it away."""

import json
import os

from fuelkit.assess.integrity.entry import PART_FORMAT, part_digest, written
from fuelkit.assess.integrity.keeping import write_private
from fuelkit.assess.integrity.lines import cut, grow, lines, open_to_grow, tail


def parts_path(path):
    """Return the path of the file of personal parts of a log."""
    return path.with_name(path.name + ".personal")


def add_parts(path, parts):
    """Write personal parts, durably. A torn one at the end was never acknowledged and goes."""
    if not parts:
        return
    handle = open_to_grow(parts_path(path))
    try:
        _, torn = tail(handle)
        if torn:
            cut(handle, torn)
        grow(handle, b"".join(written(part) for part in parts))
    finally:
        os.close(handle)


def parts_by_digest(path):
    """Return the personal parts of a log by their digest; what is damaged is left out."""
    found = {}
    for _, data, is_whole in lines(parts_path(path)):
        part = _part(data) if is_whole else None
        if part:
            found[part_digest(part)] = part
    return found


def _part(data):
    try:
        part = json.loads(data.decode("ascii"))
    except (ValueError, RecursionError):
        return None
    if not isinstance(part, dict) or part.get("format") != PART_FORMAT:
        return None
    sound = isinstance(part.get("learner"), str) and isinstance(part.get("personal"), dict)
    return part if sound else None


def keep_only(path, digests):
    """Write the file of personal parts anew with these alone; the others are gone."""
    kept = [part for digest, part in parts_by_digest(path).items() if digest in digests]
    write_private(parts_path(path), b"".join(written(part) for part in kept).decode("ascii"))
