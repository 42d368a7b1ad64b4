"""What a learner finds on the site: the learner's edition, its notebooks made for the browser.

The edition is looked through before it is given out; what goes into the site are the very bytes
that were looked through, but for the name of the kernel that runs a notebook.
"""

import json
from pathlib import Path

from fuelkit.assess.choice import chosen_aircraft
from fuelkit.command.faults import CommandError

KERNEL = {"name": "python", "display_name": "Python in this browser", "language": "python"}
DRIVE = "/drive"
"""Where the browser's files lie for Python there."""

_ROOMS = ("lessons/", "exercises/")


def lay_out(files, folder):
    """Write the lessons and exercises of an edition into a folder."""
    for place, data in files.items():
        if place.startswith(_ROOMS):
            path = folder / place
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(_for_browser(data, place) if path.suffix == ".ipynb" else data)


def aircraft_there(root):
    """Return the aircraft that a course is taught on, as Python in the browser finds it."""
    name = chosen_aircraft(root)
    return f"{DRIVE}/lessons/{Path(name).name}" if name.endswith(".toml") else name


def _for_browser(data, place):
    """Return a notebook without what a run leaves behind, with the browser's kernel."""
    try:
        book = json.loads(data.decode("utf-8"))
        for cell in book["cells"]:
            if cell["cell_type"] == "code":
                cell |= {"outputs": [], "execution_count": None}
        book["metadata"] = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    except (ValueError, KeyError, TypeError) as problem:
        raise CommandError(f"{place} is damaged ({problem}). Copy it again.") from None
    return (json.dumps(book, indent=1, ensure_ascii=False) + "\n").encode()


def title(path):
    """Return the heading of a notebook, without marks."""
    book = json.loads(path.read_text(encoding="utf-8"))
    text = "".join(book["cells"][0]["source"]).strip().splitlines()
    return text[0].lstrip("# ").strip() if text else path.stem
