"""What goes to other programs: mark sheet, gradebook rows, question items, statements.

Everything here is made from `records` and returned as bytes; nothing is written to disk.
"""
