"""Look through a learner's bundle before it is given out: is there anything they must not have?

A bundle is refused for what is found in it and for what cannot be looked into. No finding tells a
secret: it names the file and, by its place in the list, which secret it is.
"""

import os
from pathlib import Path

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.scan_items import (
    Finding,
    Item,
    folder_items,
    packed_items,
    too_large,
)
from fuelkit.assess.integrity.scan_rules import plain, squeezed, why_notebook, why_table, why_text
from fuelkit.assess.integrity.scan_secrets import Secrets
from fuelkit.assess.integrity.scan_views import TooMuchError, views

LARGEST_BYTES = 10_000_000
_DEEPEST = 4
_TOO_MUCH = "more is packed or encoded in it, one in another, than can be looked into"


def scan(path, secrets=(), largest=LARGEST_BYTES):
    """Return every reason why a bundle must not be given out; none if it may.

    Parameters
    ----------
    path : str or Path
        A folder, a zip archive, or one file.
    secrets : iterable of str or bytes
        What must not occur in it in any encoding that `scan_views` reads: the instructor's secret
        and salts as bytes, the paper's right answers as `canonical` texts, codes of the others.
        The learner's own code is none. Texts of fewer than 8 signs count as whole words.
    largest : int
        Files beyond are refused unread. [bytes]

    Returns
    -------
    tuple of Finding
        By place.

    Raises
    ------
    IntegrityError
        If there is no such bundle, or a secret is too short to be looked for.
    """
    path = Path(path)
    if path.is_dir():
        return scan_items(folder_items(path, largest), secrets, largest)
    if path.is_file():
        return scan_items([_only(path, largest)], secrets, largest)
    raise IntegrityError(f"bundle: there is no folder or archive '{path}'")


def scan_items(items, secrets=(), largest=LARGEST_BYTES):
    """Return every reason why files that are at hand already must not be given out, as `scan`.

    Parameters
    ----------
    items : iterable of Item or Finding
    secrets, largest
        As in `scan`.
    """
    found = set(_looked_through(items, Secrets(secrets), largest, 0))
    return tuple(sorted(found, key=lambda finding: (finding.place, finding.why)))


def _only(path, largest):
    """Return a bundle that is one file; its own name is the instructor's to choose."""
    if os.path.getsize(path) > largest:
        return Finding(path.name, too_large(largest))
    return Item(path.name, path.read_bytes())


def _looked_through(items, secrets, largest, depth):
    """Yield the findings of items, and of the items that are packed in them."""
    for item in items:
        for place in secrets.found_in_name(item.place.rpartition("/")[2] if depth else item.place):
            yield Finding(item.place, f"its name holds secret {place} of those given")
        if isinstance(item, Finding):
            yield item
            continue
        yield from _file_faults(item, secrets)
        packed = packed_items(item, largest)
        if depth < _DEEPEST:
            yield from _looked_through(packed, secrets, largest, depth + 1)
        elif next(packed, None):
            yield Finding(item.place, _TOO_MUCH)


def _file_faults(item, secrets):
    """Yield the findings of one file in all its readings."""
    try:
        for view in views(item.data):
            how = f" ({view.how})" if view.how else ""
            for why in _view_faults(item, view, secrets):
                yield Finding(item.place, f"{why}{how}")
    except TooMuchError:
        yield Finding(item.place, _TOO_MUCH)


def _view_faults(item, view, secrets):
    text = plain(view.text)
    tight = squeezed(text)
    for place in secrets.found(view, text, tight):
        yield f"it holds secret {place} of those given"
    yield from why_text(view.text, tight)
    if not view.how:
        yield from why_table(item.place, view.text)
        yield from why_notebook(item.place, view.text)
