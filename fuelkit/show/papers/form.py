"""What a paper's file and its reader agree on; apart, so that to sit one needs no flight."""

FORMAT, SCHEMA = "fuelkit paper", 1
HOW_MARKED = (
    "Where states are asked for, only changes count: a part that stays as it is shown earns "
    "nothing, and to foresee a change that does not happen counts as a miss. No marks are taken "
    "away below zero."
)
"""Told on each paper, in print and on the screen."""
