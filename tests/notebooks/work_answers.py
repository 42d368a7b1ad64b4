"""Run the worked answers again and store their outputs: `python -m tests.notebooks.work_answers`.

Read what has changed before you commit it: these are the answers that learners are marked by.
"""

import nbformat
from nbclient import NotebookClient

from tests.notebooks.tidy import ROOT, notebooks, tidied


def main():
    """Execute every notebook of solutions/ and store it tidily."""
    for path in notebooks("solutions"):
        notebook = nbformat.read(path, as_version=4)
        NotebookClient(
            notebook, timeout=120, resources={"metadata": {"path": path.parent}}
        ).execute()
        nbformat.write(notebook, path)
        path.write_text(tidied(path), encoding="utf-8")
        print(f"{path.relative_to(ROOT)} worked again.")


if __name__ == "__main__":
    main()
