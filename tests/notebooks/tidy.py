"""Tidy the notebooks so that a rerun changes nothing: `python -m tests.notebooks.tidy [--check]`.

Lessons and exercises keep no outputs; worked answers keep theirs. Cell ids are fixed, counts run
from 1, and nothing of a widget or of the machine stays.
"""

import json
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = ("lessons", "exercises", "solutions")
METADATA = {
    "kernelspec": {
        "display_name": "Python 3 (ipykernel)",
        "language": "python",
        "name": "python3",
    },
    "language_info": {"name": "python"},
}


def notebooks(*folders):
    """Return the notebooks of some folders, all of the course if none is named."""
    return [p for f in folders or FOLDERS for p in sorted((ROOT / f).glob("*.ipynb"))]


def tidied(path):
    """Return the text of a notebook as it ought to be stored."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    stem, count = f"{path.parent.name[0]}{path.stem[:2]}", 0
    for number, cell in enumerate(notebook["cells"], start=1):
        cell["id"], cell["metadata"] = f"{stem}-{number:02d}", {}
        if cell["cell_type"] == "code":
            count += 1
            is_worked = path.parent.name == "solutions"
            # A number beside a cell says that it was run; what learners get was not.
            cell["execution_count"] = count if is_worked else None
            cell["outputs"] = _outputs(cell, count) if is_worked else []
    content = {"cells": notebook["cells"], "metadata": METADATA, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(content, indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def _outputs(cell, count):
    for output in cell["outputs"]:
        output["metadata"] = {}
        if output["output_type"] == "execute_result":
            output["execution_count"] = count
    return cell["outputs"]


def main(words):
    """Tidy every notebook, or with --check only say which ones are not tidy."""
    untidy = [p for p in notebooks() if tidied(p) != p.read_text(encoding="utf-8")]
    for path in untidy:
        print(f"{path.relative_to(ROOT)} is not tidy.")
        if "--check" not in words:
            path.write_text(tidied(path), encoding="utf-8")
    return 1 if untidy and "--check" in words else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
