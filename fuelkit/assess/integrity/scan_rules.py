"""What the scan of a bundle refuses by its name, its fields, or a text that gives it away."""

import csv
import io
import json
import re
import tomllib
import unicodedata
from fnmatch import fnmatchcase
from importlib import resources

from fuelkit.assess.integrity.canonical import IntegrityError

SCHEMA = 1
_FILE = resources.files("fuelkit.assess.integrity") / "data" / "refused.toml"
_FIELD = re.compile(
    r"""["']([A-Za-z][A-Za-z _-]{0,30})["']\s*:\s*"""
    r"""(null\b|None\b|""|''|\{\s*\}|\[\s*\])?"""
)
_YAML_FIELD = re.compile(r"^[ \t-]*([A-Za-z][A-Za-z _-]{0,30}?)[ \t]*:[ \t]*(\S?)", re.MULTILINE)


def plain(text):
    """Return a text as it is compared: alike letters of other alphabets' widths, no capitals."""
    return unicodedata.normalize("NFKC", text).casefold()


def squeezed(text):
    """Return a text without blanks and ends of lines."""
    return "".join(text.split())


def _squeezed_field(name):
    return re.sub(r"[\s_-]", "", plain(name))


def _read():
    content = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    if content["schema"] != SCHEMA:
        raise IntegrityError(f"refused.toml: schema is {content['schema']}; it must be {SCHEMA}")
    names = tuple((plain(p), group["why"]) for group in content["names"] for p in group["patterns"])
    fields = {
        _squeezed_field(n): group["why"] for group in content["fields"] for n in group["names"]
    }
    texts = tuple((squeezed(plain(entry["text"])), entry["why"]) for entry in content["texts"])
    return names, fields, texts


_NAMES, _FIELDS, _TEXTS = _read()


def why_name(name):
    """Return why one part of a path is refused by its name, None if it is not."""
    name = plain(name).strip()
    return next((why for pattern, why in _NAMES if fnmatchcase(name, pattern)), None)


def _said(field):
    why = _FIELDS.get(_squeezed_field(field))
    return f"its field '{field}' {why}" if why else None


def why_text(text, squeezed_text):
    """Yield why a text is refused: fields that are not empty, and texts that give it away.

    Fields are looked for in the text itself, not in its structure, so that half a file, a line
    among others and a record inside a cell are found too.
    """
    for match in _FIELD.finditer(text):
        if match[2] is None and (said := _said(match[1])):
            yield said
    for sought, why in _TEXTS:
        if sought in squeezed_text:
            yield why


def why_table(name, text):
    """Yield why a TOML, YAML or CSV file is refused by its fields or columns."""
    ending = plain(name).rpartition(".")[2]
    if ending in ("toml", "ini", "cfg"):
        yield from _toml_faults(text)
    elif ending in ("yaml", "yml"):
        found = (_said(match[1]) for match in _YAML_FIELD.finditer(text) if match[2] not in "#")
        yield from (said for said in found if said)
    elif ending in ("csv", "tsv", "txt"):
        yield from _column_faults(text)


def _toml_faults(text):
    try:
        content = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError):
        yield "it is damaged: it cannot be read as TOML, so it cannot be looked into"
        return
    for name, value in _pairs(content):
        if value not in ("", [], {}) and (said := _said(name)):
            yield said


def _pairs(content):
    """Yield (name, value) of all tables in a value, at any depth."""
    waiting = [content]
    while waiting:
        here = waiting.pop()
        if isinstance(here, dict):
            yield from here.items()
            waiting.extend(here.values())
        elif isinstance(here, list):
            waiting.extend(here)


def _column_faults(text):
    first = text.lstrip("\ufeff").partition("\n")[0]
    for sign in (",", ";", "\t"):
        try:
            cells = [c.strip() for c in next(csv.reader(io.StringIO(first), delimiter=sign), [])]
        except csv.Error:
            continue
        if [plain(cell) for cell in cells[:2]] == ["code", "name"]:
            yield "it is a list of learners' names"
        if len(cells) > 1:
            yield from (said for cell in cells if (said := _said(cell)))


def why_notebook(name, text):
    """Yield why a notebook is refused: saved outputs, saved states of boards, or damage."""
    is_named_so = plain(name).endswith(".ipynb")
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        if is_named_so:
            yield "it is damaged: it cannot be read as a notebook, so it cannot be looked into"
        return
    if not is_named_so and not (isinstance(content, dict) and "cells" in content):
        return
    for field, value in _pairs(content):
        if field == "outputs" and value:
            yield "it holds outputs that were saved with it"
        if field == "widgets" and value:
            yield "it holds saved states of boards"
