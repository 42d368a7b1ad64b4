"""What a paper's file and its reader agree on; apart, so that to sit one needs no flight."""

FORMAT, SCHEMA = "fuelkit paper", 1
HOW_MARKED = (
    "Where states are asked for, only changes earn marks, and only as far as they are more than "
    "blind guessing would find. A part that stays as it is shown earns nothing; a change that you "
    "set and that does not happen counts like one more change, missed. No question earns less "
    "than nothing."
)
"""Told on each paper, in print and on the screen."""


def pass_mark(content):
    """Return a sentence on the pass mark of a paper; nothing for one of an earlier kit."""
    share = content.get("pass_share")
    is_share = isinstance(share, float | int) and 0.0 < share <= 1.0
    return f"The pass mark is {100.0 * share:g} %. " if is_share else ""
