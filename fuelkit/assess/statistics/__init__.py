"""What the marks of a class say, and how surely. Pure functions of numbers; no files, no screens.

Papers are drawn for each learner, so two learners seldom have the same question. What they share
is the blueprint: its lines are the columns, and a cell is a learner's mark on that line.
"""
