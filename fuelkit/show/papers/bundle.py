"""What a learner gets of a paper to sit it: the paper as data, and a notebook."""

import json

from fuelkit.show.page import CAUTION

_WORDS = (
    "# {title}\n\nLearner {learner}. {count} questions, {marks:g} marks, {time}. Run every cell "
    "once, begin, and answer in any order; each answer is saved when you commit it. Nothing is "
    "told until the papers are marked.\n\n> {caution}"
)


def bundle(content):
    """Return the files of a learner's paper, as a dict of name to bytes.

    Parameters
    ----------
    content : dict
        As `papers.content.paper_content` makes it.
    """
    return {
        "paper.json": (json.dumps(content, ensure_ascii=False) + "\n").encode(),
        "paper.ipynb": _notebook(content).encode(),
    }


def _notebook(content):
    time = f"{content['minutes']:g} minutes" if content["minutes"] else "no time limit"
    count = len(content["questions"])
    words = _WORDS.format(title=content["title"], learner=content["learner"], count=count,
                          marks=content["marks"], time=time, caution=CAUTION)  # fmt: skip
    cells = [
        ("markdown", words),
        ("code", "from fuelkit import open_paper\n\npaper = open_paper()"),
        ("code", "paper.begin()"),
    ]
    cells += [("code", f"paper.question({number})") for number in range(1, count + 1)]
    cells += [
        ("code", "paper.hand_in()"),
        ("markdown", "Only if your instructor has given you a word for more time:"),
        ("code", "paper.more_time()"),
    ]
    book = {
        "cells": [_cell(number, *cell) for number, cell in enumerate(cells, start=1)],
        "metadata": {
            "kernelspec": {
                "display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3",
            },
            "language_info": {"name": "python"},
        },
        "nbformat": 4,
        "nbformat_minor": 5,
    }  # fmt: skip
    return json.dumps(book, indent=1, ensure_ascii=False) + "\n"


def _cell(number, kind, source):
    """One cell of a notebook, in the open notebook format (nbformat 4.5)."""
    cell = {"cell_type": kind, "id": f"p-{number:02d}", "metadata": {}, "source": source}
    return cell | ({"execution_count": None, "outputs": []} if kind == "code" else {})
