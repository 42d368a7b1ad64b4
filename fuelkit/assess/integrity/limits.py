"""What all this does not prove, in plain words: printed on mark schemes."""

import tomllib
from importlib import resources

from fuelkit.assess.integrity.canonical import IntegrityError

SCHEMA = 1
_FILE = resources.files("fuelkit.assess.integrity") / "data" / "limits.toml"


def _read():
    content = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    if content["schema"] != SCHEMA:
        raise IntegrityError(f"limits.toml: schema is {content['schema']}; it must be {SCHEMA}")
    limits = tuple((limit["about"], limit["text"]) for limit in content["limits"])
    return content["title"], limits


TITLE, LIMITS = _read()
"""A heading, and pairs of what each limit is about and the sentences that say it."""


def limits_text():
    """Return all limits as plain text, a paragraph each, under their heading."""
    return "\n\n".join([TITLE, *(text for _, text in LIMITS)]) + "\n"
