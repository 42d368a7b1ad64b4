"""Slips to print and cut: a learner's code and word each."""

from html import escape

from fuelkit.assess.integrity.keeping import write_private

_STYLE = (
    "body{font:18px/1.5 sans-serif;margin:1em}div{border:1px dashed;padding:.6em 1em;margin:.4em;"
    "display:inline-block;width:19em;break-inside:avoid}b{font:bold 20px/1.4 monospace}"
)


def write_slips(path, words):
    """Write a page of slips that only its owner can read; return its path.

    Parameters
    ----------
    path : Path
    words : dict of str to str
        By code.
    """
    slips = "".join(
        f"<div>Your code: <b>{escape(code)}</b><br>Your word: <b>{escape(word)}</b></div>"
        for code, word in words.items()
    )
    write_private(
        path,
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Slips</title>'
        f"<style>{_STYLE}</style></head><body><h1>Print, cut, and delete this file</h1>{slips}"
        "</body></html>\n",
    )
    return path
